package survey

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// latticeCSV writes a survey of about n samples with seven columns in digits
// significant digits.
func latticeCSV(n, digits int) []byte {
	side := int(math.Sqrt(float64(n)))
	b := []byte("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for i := range side {
		for j := range side {
			y, z := -0.8+1.6*float64(j)/float64(side-1), 0.9*float64(i)/float64(side-1)
			r := y*y + (z-0.3)*(z-0.3)
			for k, v := range []float64{1, y, z, 25 * (1 - 0.5*math.Exp(-r*20)), y * math.Exp(-r), (z - 0.3) * math.Exp(-r), -40 * math.Exp(-r*9)} {
				if k > 0 {
					b = append(b, ',')
				}
				b = strconv.AppendFloat(b, v, 'g', digits, 64)
			}
			b = append(b, '\n')
		}
	}
	return b
}

// BenchmarkReadFile reads 66 MB from a file: all of Read, and what the disk (or its cache) gives
// alone, the bytes of the file in one call.
func BenchmarkReadFile(b *testing.B) {
	name := filepath.Join(b.TempDir(), "lattice.csv")
	data := latticeCSV(1e6, 7)
	if err := os.WriteFile(name, data, 0o666); err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		what string
		read func() error
	}{
		{"disk", func() error { _, err := os.ReadFile(name); return err }},
		{"read", func() error { _, err := Read(context.Background(), name, Options{}); return err }},
	} {
		b.Run(c.what, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			for b.Loop() {
				if err := c.read(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
