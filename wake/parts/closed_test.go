package parts_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/waketest"
)

func TestOneGaussian(t *testing.T) {
	const eps, sigma, y, z, level = 0.5, 0.2, 0.7, 0.1, 0.1
	for _, kind := range kinds {
		t.Run(kind, func(t *testing.T) {
			set := find(t, fieldOf(plane(t, kind), blob{eps, sigma, sigma, y, z}), parts.Options{Threshold: level})
			if len(set.Structures) != 1 {
				t.Fatalf("%d structures, want one", len(set.Structures))
			}
			s := set.Structures[0]
			drag := 2 * math.Pi * sigma * sigma * (eps - level)
			near(t, "area", s.Area, 2*math.Pi*sigma*sigma*math.Log(eps/level), 0.02*s.Area)
			near(t, "drag area", *s.DragArea, drag, 0.02*drag)
			near(t, "total", total(set.Field()), 2*math.Pi*sigma*sigma*eps, 0.01*total(set.Field()))
			near(t, "y", s.Centroid[0], y, 0.02*h)
			near(t, "z", s.Centroid[1], z, 0.02*h)
			// Second moment of the part within R: 2σ⁴π ∫ r³e^{−r²/2}dr about the centre, with
			// R² = 2 ln(ε/t): σ²(2−(2+R²)e^{−R²/2})/2(1−e^{−R²/2}).
			r2 := 2 * math.Log(eps/level)
			spread := sigma * math.Sqrt((2-(2+r2)*level/eps)/(2*(1-level/eps)))
			near(t, "spread along y", s.Spread[0], spread, 0.02*spread)
			near(t, "spread along z", s.Spread[1], spread, 0.02*spread)
			near(t, "peak", s.Peak, eps, 0.03*eps)
			near(t, "persistence", s.Persistence, 1-level/eps, 0.02)
			if s.Side != "right" || s.MirrorOf != "" {
				t.Errorf("side %q, mirror of %q", s.Side, s.MirrorOf)
			}
		})
	}
}

// Two equal Gaussians d apart have one maximum up to d = 2σ and two beyond; the
// saddle is the middle.
func TestTwoGaussians(t *testing.T) {
	const eps, sigma = 0.5, 0.2
	for _, kind := range kinds {
		for _, c := range []struct {
			apart float64
			n     int
		}{{1, 1}, {2, 1}, {3, 2}, {4, 2}, {6, 2}} {
			t.Run(fmt.Sprintf("%s %gσ", kind, c.apart), func(t *testing.T) {
				d := c.apart * sigma
				left, right := blob{eps, sigma, sigma, -d / 2, 0.1}, blob{eps, sigma, sigma, d / 2, 0.1}
				set := find(t, fieldOf(plane(t, kind), left, right), parts.Options{})
				if len(set.Structures) != c.n {
					t.Fatalf("%d structures, want %d: %+v", len(set.Structures), c.n, set.Structures)
				}
				// Parts of nearly all that there is add up to it.
				sum := 0.0
				for _, s := range find(t, set.Field(), parts.Options{Threshold: 1e-9}).Structures {
					sum += *s.DragArea
				}
				near(t, "all structures", sum, total(set.Field()), 1e-8)
				near(t, "total", total(set.Field()), 4*math.Pi*sigma*sigma*eps, 0.01*total(set.Field()))
				if c.n == 1 {
					near(t, "y", set.Structures[0].Centroid[0], 0, 0.02*h)
					if set.Structures[0].Side != "centre" {
						t.Errorf("side %q, want centre", set.Structures[0].Side)
					}
					return
				}
				a, b := set.Structures[0], set.Structures[1]
				if a.Centroid[0] > b.Centroid[0] {
					a, b = b, a
				}
				// On a lattice of nodes the border runs through the middle; cells of equal value
				// on both sides of it are level there, so it is good to a quarter of the distance,
				// as it is among scattered points.
				tol := 0.001
				if kind != "nodes" {
					tol = 0.07
				}
				near(t, "drag areas' ratio", *a.DragArea / *b.DragArea, 1, tol)
				near(t, "centroids' sum", a.Centroid[0]+b.Centroid[0], 0, 5*tol*h)
				// The higher of the two by rounding never meets a higher one; the other meets it
				// in the middle, where both have ε e^{−d²/8σ²}.
				low := set.Structures[1]
				want := 2 * eps * math.Exp(-c.apart*c.apart/8)
				if want > 0.1 {
					near(t, "saddle", low.Saddle, want, 0.03*want)
				} else {
					near(t, "saddle", low.Saddle, 0.1, 1e-12)
				}
				if a.MirrorOf != b.Name || b.MirrorOf != a.Name {
					t.Errorf("mirrors: %q of %q, %q of %q", a.Name, a.MirrorOf, b.Name, b.MirrorOf)
				}
				if a.Side != "left" || b.Side != "right" {
					t.Errorf("sides %q and %q", a.Side, b.Side)
				}
			})
		}
	}
}

// Structures are independent of the numbering of samples and triangles, equal peaks and
// equal neighbours included (weights rounded to a twentieth have many).
func TestNumbering(t *testing.T) {
	none := func(y, z float64) waketest.State { return waketest.State{U: 1} }
	r := rand.New(rand.NewPCG(5, 5))
	// renumbered is the same mesh with points and triangles in another order.
	renumbered := func(m *grid.Mesh) *grid.Mesh {
		at := r.Perm(len(m.Points))
		q := &grid.Mesh{Kind: m.Kind, Support: m.Support, Points: make([]grid.Point, len(m.Points))}
		for i, p := range m.Points {
			q.Points[at[i]] = p
		}
		for _, k := range r.Perm(len(m.Triangles) / 3) {
			for _, v := range m.Triangles[3*k : 3*k+3] {
				q.Triangles = append(q.Triangles, int32(at[v]))
			}
		}
		return q
	}
	p := planes(t, waketest.Scatter(none, -2, 2, 0, 1.5, 61, 31, 3), wake.PlaneOptions{})
	for _, step := range []float64{1e-9, 1e-3, 0.05} {
		of := func(m *grid.Mesh) *parts.Set {
			q := *p
			q.Mesh = m
			f := fieldOf(&q, blob{0.5, 0.2, 0.3, 0.5, 0.6}, blob{0.4, 0.2, 0.2, -0.2, 0.5})
			for i, v := range f.Weight {
				f.Weight[i] = math.Round(v/step) * step
			}
			return find(t, f, parts.Options{})
		}
		a := of(p.Mesh)
		if len(a.Structures) != 2 {
			t.Fatalf("steps of %g: %d structures, want two", step, len(a.Structures))
		}
		for range 3 {
			if d := cmp.Diff(a.Structures, of(renumbered(p.Mesh)).Structures, cmpopts.EquateApprox(1e-9, 1e-12), cmpopts.IgnoreUnexported(parts.Structure{})); d != "" {
				t.Errorf("steps of %g: %s", step, d)
			}
		}
	}
}

// The same structures come out at thresholds a quarter lower and higher, and what
// moves moves little.
func TestThresholdStability(t *testing.T) {
	f := fieldOf(plane(t, "cells"), blob{0.5, 0.25, 0.4, 0.9, 0.2}, blob{0.45, 0.25, 0.4, -0.9, 0.2}, blob{0.3, 0.5, 0.15, 0, -1})
	base := find(t, f, parts.Options{Threshold: 0.1})
	if len(base.Structures) != 3 {
		t.Fatalf("%d structures, want three", len(base.Structures))
	}
	for _, level := range []float64{0.075, 0.09, 0.11, 0.125} {
		set := find(t, f, parts.Options{Threshold: level})
		m := parts.Match(base, set)
		if len(m.Pairs) != 3 || len(m.Events) != 0 {
			t.Fatalf("threshold %g: %d pairs, events %v", level, len(m.Pairs), m.Events)
		}
		for k, p := range m.Pairs {
			a, b := base.Structures[base.Index(p.A)], set.Structures[set.Index(p.B)]
			if p.A != p.B || p.Distance > 0.05*a.Spread[0] {
				t.Errorf("threshold %g, pair %d: %+v", level, k, p)
			}
			// What lies above t of a Gaussian is to the whole as ε−t to ε.
			want := *a.DragArea * (a.Peak - level) / (a.Peak - 0.1)
			near(t, fmt.Sprintf("threshold %g: drag area of %s", level, p.B), *b.DragArea, want, 0.02*want)
		}
	}
}

// A Lamb–Oseen pair: vorticity Γ/πa² e^{−r²/a²}, of which the part above f times the
// peak has the circulation Γ(1−f) and the area πa² ln(1/f).
func TestVortexPair(t *testing.T) {
	const gamma, span, core, part = 2.0, 1.2, 0.25, 0.1
	build := map[string]func(f waketest.Field) (*wake.Samples, wake.PlaneOptions){
		"nodes": func(f waketest.Field) (*wake.Samples, wake.PlaneOptions) {
			return waketest.Lattice(f, -1.6, 1.6, 0, 2, 129, 81), wake.PlaneOptions{}
		},
		"scatter": func(f waketest.Field) (*wake.Samples, wake.PlaneOptions) {
			return waketest.Scatter(f, -1.6, 1.6, 0, 2, 129, 81, 2), wake.PlaneOptions{}
		},
	}
	for _, kind := range []string{"nodes", "scatter"} {
		t.Run(kind, func(t *testing.T) {
			s, opt := build[kind](waketest.VortexPair(gamma, span, core, 1))
			m, err := measure.Take(planes(t, s, opt), measure.Options{Reference: waketest.Reference()})
			if err != nil {
				t.Fatal(err)
			}
			f := parts.NewField(m)
			set := find(t, f, parts.Options{Criterion: parts.ByVorticity})
			if len(set.Structures) != 2 {
				t.Fatalf("%d vortices, want two: %+v", len(set.Structures), set.Structures)
			}
			for _, v := range set.Structures {
				sign := math.Copysign(1, v.Centroid[0])
				near(t, "circulation", *v.Circulation, sign*gamma*(1-part), 0.02*gamma)
				near(t, "area", v.Area, math.Pi*core*core*math.Log(1/part), 0.03*v.Area)
				near(t, "y", v.Centroid[0], sign*span/2, 0.1*0.025)
				near(t, "z", v.Centroid[1], 1, 0.1*0.025)
				near(t, "peak", v.Peak, sign*gamma/(math.Pi*core*core), 0.04*math.Abs(v.Peak))
				if v.MirrorOf == "" {
					t.Errorf("%s has no mirror image", v.Name)
				}
			}
		})
	}
}

// total is the integral of the local drag.
func total(f *parts.Field) float64 { return quad.NewWeights(f.Mesh, nil).Integrate(f.Local) }

func TestNothingFound(t *testing.T) {
	f := fieldOf(plane(t, "nodes"), blob{0.5, 0.2, 0.2, 0, 0})
	empty := find(t, f, parts.Options{Threshold: 0.6})
	if len(empty.Structures) != 0 || len(empty.Warnings) != 1 || math.Abs(*empty.Rest-total(f)) > 1e-12 {
		t.Errorf("above the peak: %+v", empty)
	}
	if m := parts.Match(empty, empty); len(m.Pairs)+len(m.Events) != 0 {
		t.Errorf("nothing against nothing: %+v", m)
	}
	a := find(t, f, parts.Options{})
	if m := parts.Match(a, empty); len(m.Events) != 1 || m.Events[0].Kind != "vanishes" {
		t.Errorf("against nothing: %+v", m)
	}
}

// Noise makes thousands of small peaks; those smaller than the least area go, in
// reasonable time.
func TestSpecks(t *testing.T) {
	const seed = 8
	f := noisy(fieldOf(plane(t, "cells"), blob{0.5, 0.3, 0.3, 0.7, 0.1}), 0.08, rand.New(rand.NewPCG(seed, 0)))
	set := find(t, f, parts.Options{})
	if !(len(set.Structures) > 1 && len(set.Structures) < 25) {
		t.Fatalf("seed %d: %d structures", seed, len(set.Structures))
	}
	for _, s := range set.Structures {
		if !(s.Area >= 16*h*h*0.99) {
			t.Errorf("seed %d: %s has %g m2", seed, s.Name, s.Area)
		}
	}
}
