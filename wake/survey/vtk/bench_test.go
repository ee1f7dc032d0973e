package vtk

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/pierrec/lz4/v4"
)

// flowFile makes polygonal data of n × n quadrilaterals with points and three
// arrays (seven values a point) of float32, appended raw in blocks of 32 kB.
func flowFile(n int, compressor string) []byte {
	m := n + 1
	var points, speed, p, pt, conn, ends []byte
	f := func(b []byte, v float64) []byte {
		return binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	}
	for j := range m {
		for i := range m {
			y, z := float64(i)/float64(n), float64(j)/float64(n)
			points = f(f(f(points, 2.5), y), z)
			g := math.Exp(-20 * ((y-0.5)*(y-0.5) + (z-0.3)*(z-0.3)))
			speed = f(f(f(speed, 30*(1-g)), 3*g*(z-0.3)), -3*g*(y-0.5))
			p = f(p, 101325-40*g)
			pt = f(pt, 101865-500*g)
			if i < n && j < n {
				v := j*m + i
				for _, id := range []int{v, v + 1, v + 1 + m, v + m} {
					conn = binary.LittleEndian.AppendUint64(conn, uint64(id))
				}
				ends = binary.LittleEndian.AppendUint64(ends, uint64(len(conn)/8))
			}
		}
	}
	var app []byte
	array := func(b []byte, typ, name string, comps int) string {
		at := len(app)
		put := func(v int) { app = binary.LittleEndian.AppendUint64(app, uint64(v)) }
		if compressor == "" {
			put(len(b))
			app = append(app, b...)
		} else {
			const block = 1 << 15
			put((len(b) + block - 1) / block)
			put(block)
			put(len(b) % block)
			var content []byte
			for len(b) > 0 {
				k := min(block, len(b))
				var z bytes.Buffer
				if compressor == "vtkLZ4DataCompressor" {
					out := make([]byte, lz4.CompressBlockBound(k))
					c, err := lz4.CompressBlock(b[:k], out, nil)
					if err != nil {
						panic(err)
					}
					if c == 0 {
						// Incompressible: literals alone, by the rules of the LZ4 block.
						out = append([]byte{0xf0}, bytes.Repeat([]byte{255}, (k-15)/255)...)
						out = append(append(out, byte((k-15)%255)), b[:k]...)
						c = len(out)
					}
					z.Write(out[:c])
				} else {
					w := zlib.NewWriter(&z)
					w.Write(b[:k])
					w.Close()
				}
				put(z.Len())
				content = append(content, z.Bytes()...)
				b = b[k:]
			}
			app = append(app, content...)
		}
		return fmt.Sprintf(`<DataArray type="%s" Name="%s" NumberOfComponents="%d" format="appended" offset="%d"/>`+"\n", typ, name, comps, at)
	}
	attr := ` header_type="UInt64"`
	if compressor != "" {
		attr += ` compressor="` + compressor + `"`
	}
	piece := fmt.Sprintf(`<Piece NumberOfPoints="%d" NumberOfPolys="%d"><PointData>`, m*m, n*n) +
		array(speed, "Float32", "velocity", 3) + array(p, "Float32", "p", 1) + array(pt, "Float32", "pt", 1) + "</PointData><Points>" +
		array(points, "Float32", "Points", 3) + "</Points><Polys>" + array(conn, "Int64", "connectivity", 1) + array(ends, "Int64", "offsets", 1) + "</Polys></Piece>\n"
	return []byte(vtp(attr, piece, `<AppendedData encoding="raw">_`+string(app)+"</AppendedData>\n"))
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{316, 1000} {
		for _, c := range []string{"", "vtkZLibDataCompressor", "vtkLZ4DataCompressor"} {
			name := map[string]string{"": "plain", "vtkZLibDataCompressor": "zlib", "vtkLZ4DataCompressor": "lz4"}[c]
			b.Run(fmt.Sprintf("%s/n=%d", name, n*n), func(b *testing.B) {
				data := flowFile(n, c)
				b.SetBytes(int64(len(data)))
				b.ReportAllocs()
				for b.Loop() {
					ds, err := Read("a.vtp", data, nil, nil)
					if err != nil || ds[0].Cells.Len() != n*n {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n*n), "ns/sample")
			})
		}
	}
}

// BenchmarkText reads a legacy text file of 3 coordinates and 4 values a point.
func BenchmarkText(b *testing.B) {
	const m = 300
	var f bytes.Buffer
	fmt.Fprintf(&f, "# vtk DataFile Version 4.2\nt\nASCII\nDATASET STRUCTURED_GRID\nDIMENSIONS 1 %d %d\nPOINTS %d float\n", m, m, m*m)
	for k := range m * m {
		fmt.Fprintf(&f, "2.5 %.6g %.6g\n", float64(k%m)/m, float64(k/m)/m)
	}
	fmt.Fprintf(&f, "POINT_DATA %d\nFIELD FieldData 1\nv 4 %d float\n", m*m, m*m)
	for k := range m * m {
		fmt.Fprintf(&f, "%.9g %.9g %.9g %.9g\n", 30+math.Sin(float64(k)), math.Cos(float64(k)), math.Sin(float64(2*k)), 101325+math.Cos(float64(3*k)))
	}
	data := f.Bytes()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Read("a.vtk", data, nil, nil); err != nil {
			b.Fatal(err)
		}
	}
}
