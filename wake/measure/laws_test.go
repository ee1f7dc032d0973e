package measure_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// randomField draws a smooth wake with cross-flow and pressure.
func randomField(t *rapid.T) waketest.Field {
	type bump struct{ y, z, s, u, v, w, p float64 }
	bumps := make([]bump, rapid.IntRange(1, 4).Draw(t, "bumps"))
	for i := range bumps {
		f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		bumps[i] = bump{f(-0.5, 0.5, "y"), f(-0.5, 0.5, "z"), f(0.1, 0.4, "s"), f(-0.2, 0.7, "u"), f(-0.3, 0.3, "v"), f(-0.3, 0.3, "w"), f(-0.1, 0.1, "p")}
	}
	return func(y, z float64) waketest.State {
		s := waketest.State{U: 1}
		for _, b := range bumps {
			g := math.Exp(-((y-b.y)*(y-b.y) + (z-b.z)*(z-b.z)) / (2 * b.s * b.s))
			s.U -= b.u * g
			s.V += b.v * g
			s.W += b.w * g
			s.P += b.p * g
		}
		return s
	}
}

// numbers are the drag areas by method and the other integrals that must not change, and
// the centroid.
type numbers struct {
	areas map[string]float64
	shape []float64
	// corrected are the areas above thresholds, whose corrections are of the samples as they lie.
	corrected []float64
	centroid  *[2]float64
}

// methods are the drag areas of a result, by the key of the method.
func methods(d *measure.Drag) map[string]float64 {
	out := map[string]float64{}
	for _, m := range measure.Methods {
		if area, _, ok := m.Of(d); ok {
			out[m.Key] = area
		}
	}
	return out
}

func take(t *rapid.T, s *wake.Samples, support grid.Support) numbers {
	r, err := measure.Take(waketest.Plane(t, s, wake.PlaneOptions{Support: support, SupportBy: "flag"}), measure.Options{Reference: waketest.Reference(), Floor: "none"})
	if err != nil {
		t.Fatal(err)
	}
	d, w := r.Drag, r.Wake
	n := numbers{areas: methods(d), centroid: w.Centroid}
	// The vortex part is that of a lattice along the axes, in a window that such wide bumps
	// reach out of: what is left of the wake-only drag is its profile part.
	if d.WakeOnly != nil {
		n.areas[measure.ByWakeOnly] = d.WakeOnly.Profile
	}
	n.shape = []float64{
		d.Momentum.Terms.TotalPressure, d.Momentum.Terms.Axial, d.Momentum.Terms.Crossflow, d.Energy.Dissipation, r.Mesh.Area,
		w.Integral,
	}
	for _, a := range w.Areas[1:3] {
		n.shape, n.corrected = append(n.shape, a.Area+a.Corrected), append(n.corrected, a.Area)
	}
	return n
}

// ofAxes are the methods that are not the same in turned axes: their integral ends at the
// border of the wake's region, which is made of bins of samples and leaves the tails of such
// wide bumps out.
var ofAxes = map[string]bool{measure.ByWakeOnly: true, measure.ByBetz: true}

// same holds all numbers together; sameSamples says that the samples lie alike to the axes.
func same(t *rapid.T, what string, a, b numbers, tol float64, sameSamples bool) {
	if len(a.areas) != len(measure.Methods) {
		t.Fatalf("%s: %d of %d methods", what, len(a.areas), len(measure.Methods))
	}
	for key, v := range a.areas {
		if w := b.areas[key]; (sameSamples || !ofAxes[key]) && !(math.Abs(v-w) <= tol) {
			t.Fatalf("%s: %s gives %.15g, gave %.15g", what, key, w, v)
		}
	}
	for k, v := range a.corrected {
		if sameSamples && !(math.Abs(v-b.corrected[k]) <= tol) {
			t.Fatalf("%s: area %d is %.15g, was %.15g", what, k, b.corrected[k], v)
		}
	}
	for k, v := range a.shape {
		if !(math.Abs(v-b.shape[k]) <= tol) {
			t.Fatalf("%s: number %d is %.15g, was %.15g", what, k, b.shape[k], v)
		}
	}
}

// samples draws a plane of either kind.
func samples(t *rapid.T, f waketest.Field) *wake.Samples {
	n := rapid.IntRange(9, 24).Draw(t, "n")
	if rapid.Bool().Draw(t, "lattice") {
		return waketest.Lattice(f, -1, 1, -0.8, 0.9, n, n+3)
	}
	return waketest.Scatter(f, -1, 1, -0.8, 0.9, n, n+3, rapid.Uint64().Draw(t, "seed"))
}

func clone(s *wake.Samples) *wake.Samples {
	c := *s
	for q, col := range s.Col {
		if col != nil {
			c.Col[q] = append([]float64(nil), col...)
		}
	}
	return &c
}

// The laws that every method of the list obeys, whatever the field. A plane moved, mirrored or turned about the x axis is the same wake. A lattice
// that is turned becomes a scattered plane whose cells can be split along either
// diagonal, so its numbers agree only to the sampling; a scattered plane keeps
// every digit.
func TestMovedMirroredTurned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := randomField(t)
		s := samples(t, f)
		was := take(t, s, grid.Nodes)

		dy, dz := rapid.Float64Range(-5, 5).Draw(t, "dy"), rapid.Float64Range(-5, 5).Draw(t, "dz")
		m := clone(s)
		for i := range m.N {
			m.Col[wake.Y][i] += dy
			m.Col[wake.Z][i] += dz
		}
		moved := take(t, m, grid.Nodes)
		same(t, "moved", was, moved, 1e-11, true)
		if was.centroid != nil && moved.centroid != nil {
			if e := math.Hypot(moved.centroid[0]-was.centroid[0]-dy, moved.centroid[1]-was.centroid[1]-dz); e > 1e-9 {
				t.Fatalf("moved: the centroid is %g m off", e)
			}
		}

		m = clone(s)
		for i := range m.N {
			m.Col[wake.Y][i] *= -1
			m.Col[wake.V][i] *= -1
		}
		same(t, "mirrored", was, take(t, m, grid.Nodes), 1e-11, true)

		angle := rapid.Float64Range(0.01, 6.2).Draw(t, "angle")
		sin, cos := math.Sincos(angle)
		m = clone(s)
		for i := range m.N {
			for _, q := range []wake.Quantity{wake.Y, wake.V} {
				a, b := m.Col[q][i], m.Col[q+1][i]
				m.Col[q][i], m.Col[q+1][i] = cos*a-sin*b, sin*a+cos*b
			}
		}
		tol := 1e-9
		if p, _ := wake.Planes(s, wake.PlaneOptions{}); p[0].Mesh.Kind == grid.KindLattice {
			tol = 0.05
		}
		same(t, "turned", was, take(t, m, grid.Nodes), tol, false)
	})
}

// A cell split into nine of the same value leaves every integral as it was.
func TestSplitCells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := randomField(t)
		n := rapid.IntRange(6, 14).Draw(t, "n")
		s := waketest.Centres(f, -1, 1, -1, 1, n, n)
		h := 2 / float64(n) / 3
		split := &wake.Samples{File: s.File, N: 9 * s.N}
		for q, col := range s.Col {
			for i, v := range col {
				for k := range 9 {
					switch wake.Quantity(q) {
					case wake.Y:
						v = s.Col[q][i] + h*float64(k%3-1)
					case wake.Z:
						v = s.Col[q][i] + h*float64(k/3-1)
					}
					split.Col[q] = append(split.Col[q], v)
				}
			}
		}
		a, b := take(t, s, grid.Cells), take(t, split, grid.Cells)
		// Areas above a threshold follow the field between the cells, which splitting
		// makes steeper; all else is the same.
		copy(b.shape[6:], a.shape[6:])
		same(t, "split", a, b, 1e-11, false)
		if a.centroid != nil && math.Hypot(a.centroid[0]-b.centroid[0], a.centroid[1]-b.centroid[1]) > 1e-9 {
			t.Fatalf("split: centroid %v, was %v", *b.centroid, *a.centroid)
		}
	})
}

// Boxes that tile the window share out what a method integrates, and leave nothing: with
// what is no integral of the plane's own samples, the vortex part, they make the drag area.
func TestBoxesShareMethodsOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := samples(t, randomField(t))
		ps := waketest.Plane(t, s, wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"})
		m, err := measure.Take(ps, measure.Options{Reference: waketest.Reference(), Floor: "none"})
		if err != nil {
			t.Fatal(err)
		}
		b := ps.Mesh.Window()
		x := rapid.Float64Range(-0.9, 0.9).Draw(t, "x")
		left, right := b, b
		left.Max.X, right.Min.X = x, x
		for _, method := range measure.Methods {
			f := m.Integrand(method.Key)
			if f == nil {
				if method.Quotable {
					t.Fatalf("%s can be quoted, and has no integrand", method.Key)
				}
				continue
			}
			want, _, _ := method.Of(m.Result.Drag)
			if w := m.Result.Drag.WakeOnly; method.Key == measure.ByWakeOnly {
				want -= w.Vortex
			}
			got := quad.NewWeights(ps.Mesh, &left).Integrate(f) + quad.NewWeights(ps.Mesh, &right).Integrate(f)
			if !(math.Abs(got-want) <= 1e-11) {
				t.Fatalf("%s: the boxes on either side of y = %g hold %.15g, the plane %.15g", method.Key, x, got, want)
			}
		}
	})
}

// In a parallel wake at p∞ every method is the same closed form, 2∫u(1−u) dS.
func TestMethodsOfClosedForms(t *testing.T) {
	g := waketest.Gaussian(0.5, 0.2, 0, 0)
	for _, c := range []struct {
		name      string
		p         *wake.Plane
		want, tol float64
	}{
		{"top-hat, u = 0.5 over 1 m² (Betz 1925)", plane(t, waketest.Centres(topHat(0.5, 1, 1), -1, 1, -1, 1, 20, 20), grid.Cells), 0.5, 1e-12},
		// Froude; Betz 1925: a = 1/3, u = 1/3 over an area of 2.
		{"far wake of an actuator disc", plane(t, waketest.Centres(topHat(1.0/3, 1, 2), -2, 2, -2, 2, 40, 40), grid.Cells), 8.0 / 9, 1e-9},
		// 2πσ²ε(2−ε), self-similar wake (Bastankhah & Porté-Agel 2014).
		{"Gaussian", plane(t, waketest.Lattice(g, -1.2, 1.2, -1.2, 1.2, 97, 97), grid.Nodes), 0.18849556, 1e-5},
		{"Gaussian, scattered", plane(t, waketest.Scatter(g, -1.2, 1.2, -1.2, 1.2, 97, 97, 1), grid.Nodes), 0.18849556, 2e-4},
	} {
		r := run(t, c.p, measure.Options{Floor: "none"})
		areas := methods(r.Drag)
		for _, m := range measure.Methods {
			area, ok := areas[m.Key]
			if !ok {
				t.Errorf("%s: no number by %s", c.name, m.Key)
			}
			near(t, c.name+", "+m.Key, area, c.want, c.tol)
		}
	}
}
