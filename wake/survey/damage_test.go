package survey

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// sound checks what the stages behind the reader rely on.
func sound(s *wake.Samples) error {
	for q, c := range s.Col {
		if c == nil {
			continue
		}
		if len(c) != s.N {
			return fmt.Errorf("%s has %d values for %d samples", wake.Quantity(q), len(c), s.N)
		}
		for i, x := range c {
			if math.IsInf(x, 0) || x != x {
				return fmt.Errorf("%s of sample %d is %g", wake.Quantity(q), i, x)
			}
		}
	}
	if e := s.Elements; e != nil {
		limit := s.N
		if s.CellValues {
			if limit = len(e.Corner); len(e.Start) != s.N+1 {
				return fmt.Errorf("%d cells for %d samples", len(e.Start)-1, s.N)
			}
		}
		for _, id := range e.Index {
			if id < 0 || int(id) >= limit {
				return fmt.Errorf("corner %d of %d", id, limit)
			}
		}
	}
	return nil
}

// injure gives a copy of b, which is not empty, with one of six injuries, as a bad disk,
// a broken transfer or a careless edit leaves them, and what it is.
func injure(rng *rand.Rand, b []byte) ([]byte, string) {
	b = bytes.Clone(b)
	at := rng.IntN(len(b))
	switch rng.IntN(6) {
	case 0:
		return b[:at], "cut"
	case 1:
		b[at] ^= 1 << rng.IntN(8)
		return b, "bit flipped"
	case 2:
		b[at] = byte(rng.IntN(256))
		return b, "byte replaced"
	case 3:
		// A digit, where one is found: counts, offsets, dimensions, values.
		for range 200 {
			i := rng.IntN(len(b))
			if b[i] >= '0' && b[i] <= '9' {
				b[i] = '0' + byte(rng.IntN(10))
				break
			}
		}
		return b, "digit replaced"
	case 4:
		n := min(1+rng.IntN(16), len(b)-at)
		return append(b[:at], b[at+n:]...), "bytes lost"
	}
	n := min(1+rng.IntN(16), len(b)-at)
	for i := range n {
		b[at+i] = 0xff
	}
	return b, "bytes set"
}

// Injuries to files of each format, 2,000, or 10,000 in the long version. Each ends in an error that names
// the file or in whole samples, which the next stage turns into planes or refuses;
// soon, and with no more than twice the memory of the intact file.
func TestDamage(t *testing.T) {
	var text strings.Builder
	text.WriteString("x [m],y [m],z [m],u [m/s],p [Pa]\n")
	for i := range 150 {
		fmt.Fprintf(&text, "2.5,%g,%g,%g,%g\n", float64(i%15)/8, float64(i/15)/8, 20+math.Sin(float64(i)), 3*math.Cos(float64(i)))
	}
	load := func(pattern string) map[string][]byte {
		files := map[string][]byte{}
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range names {
			b, err := os.ReadFile(n)
			if err != nil {
				t.Fatal(err)
			}
			files[filepath.Base(n)] = b
		}
		return files
	}
	numbers := Options{Columns: columns{wake.X: "1", wake.Y: "2", wake.Z: "3", wake.U: "4", wake.P: "7"}}
	for _, c := range []struct {
		name  string
		files map[string][]byte
		opt   func(name string) Options
	}{
		{"VTK", load("vtk/testdata/fixed/*.vt[kpusri]"), func(string) Options {
			return Options{Columns: columns{wake.Cp: "lin", wake.Pt: "Total Pressure"}}
		}},
		{"NumPy", load("testdata/numpy/*.np[yz]"), func(name string) Options {
			if strings.HasPrefix(name, "plain") || strings.HasPrefix(name, "whole") || name == "fortran.npy" {
				return numbers
			}
			return Options{}
		}},
		{"packed text", map[string][]byte{"plane.csv.gz": zipped(t, []byte(text.String()), false)}, func(string) Options { return Options{} }},
		{"text", map[string][]byte{"plane.csv": []byte(text.String())}, func(string) Options { return Options{} }},
	} {
		t.Run(c.name, func(t *testing.T) {
			const seed = 20240817
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
			rng := rand.New(rand.NewPCG(seed, 2))
			var names []string
			for n := range c.files {
				names = append(names, n)
			}
			// Map order must not choose the injuries.
			slices.Sort(names)
			intact := map[string]uint64{}
			for _, n := range names {
				for range 2 { // the first reading fills pools
					intact[n] = waketest.Allocated(func() { _, _ = readBytes(context.Background(), n, c.files[n], c.opt(n)) })
				}
			}
			rounds := 2000
			if gridtest.Large() {
				rounds = 10000
			}
			failed, read := 0, 0
			for i := range rounds {
				name := names[rng.IntN(len(names))]
				bad, how := injure(rng, c.files[name])
				what := fmt.Sprintf("seed %d, injury %d to %s (%s)", seed, i, name, how)
				var s *wake.Samples
				var err error
				begin := time.Now()
				used := waketest.Allocated(func() { s, err = readBytes(context.Background(), name, bad, c.opt(name)) })
				if took := time.Since(begin); took > 5*time.Second {
					t.Errorf("%s: %v", what, took)
				}
				// What was freed again counts too, and so do the fixed buffers of the text
				// reader where a magic is gone, and a dictionary of the LZMA decoder.
				if limit := 2*intact[name] + 1<<19; used > limit {
					t.Errorf("%s: %d bytes of memory, intact %d", what, used, intact[name])
				}
				if err != nil {
					failed++
					var in *wake.InputError
					if !errors.As(err, &in) || in.Text == "" || in.Cure == "" || strings.ContainsAny(err.Error(), "\n\r\x00") {
						t.Errorf("%s: the error is %q (%T)", what, err, err)
					}
					continue
				}
				read++
				if err := sound(s); err != nil {
					t.Errorf("%s: %v", what, err)
				}
				if i%4 != 0 {
					continue
				}
				planes, err := wake.Planes(s, wake.PlaneOptions{})
				var in *wake.InputError
				if err != nil && !errors.As(err, &in) {
					t.Errorf("%s: %v (%T)", what, err, err)
				}
				for _, p := range planes {
					if err := gridtest.Validate(p.Mesh); err != nil {
						t.Errorf("%s: %v", what, err)
					}
				}
			}
			if failed < rounds/10 || read < rounds/1000 {
				t.Errorf("%d failed, %d read: the injuries test nothing", failed, read)
			}
		})
	}
}
