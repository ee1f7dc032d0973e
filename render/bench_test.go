package render

import (
	"bytes"
	"fmt"
	"image"
	"math"
	"testing"

	"wakeledger/grid"
)

// wakeLike is a field with a wake, a body-sized plateau and fine structure.
func wakeLike(x, y float64) float64 {
	r := math.Hypot(x, 1.3*(y-0.9))
	return 1.2/(1+math.Exp(9*(r-0.9))) + 0.03*math.Sin(7*x)*math.Cos(5*y)
}

func benchMap(n int, triangles bool) single {
	side := int(math.Sqrt(float64(n)))
	m, f := latticeMesh(boxOf(-3, 0, 3, 3), side, side, wakeLike)
	if triangles {
		m = halved(m, 0.4, 1)
		f = onMesh(m, wakeLike)
	}
	p, _ := Limits("1-Cpt")
	s, err := AutoScale(p, Weighted{Values: f})
	if err != nil {
		panic(err)
	}
	return single{
		Page{Title: "Shuttle, bare: total-pressure loss", Subtitle: "plane x = 2.91 m", Footer: "q = 375 Pa", View: PlaneView("x")},
		Panel{Quantity: p.Quantity, Mesh: m, Values: f, Scale: s, Lines: true, Markers: []Marker{{At: grid.Point{X: 0.1, Y: 1}, Name: "centroid"}}},
	}
}

func BenchmarkDraw(b *testing.B) {
	for _, tri := range []bool{false, true} {
		for _, n := range []int{10_000, 1_000_000} {
			m := benchMap(n, tri)
			kind := "lattice"
			if tri {
				kind = "triangles"
			}
			b.Run(fmt.Sprintf("%s/n=%.0e", kind, float64(n)), func(b *testing.B) {
				for b.Loop() {
					if _, err := Draw(m.page(), image.Pt(1600, 900)); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkEncodePNG(b *testing.B) {
	img, err := Draw(benchMap(10_000, false).page(), image.Pt(1600, 900))
	if err != nil {
		b.Fatal(err)
	}
	var w bytes.Buffer
	for b.Loop() {
		w.Reset()
		if err := EncodePNG(&w, img, nil, 0); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(w.Len()), "bytes")
}
