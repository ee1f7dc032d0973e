package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// warning returns the text of the warning with the code, or "".
func warning(r *measure.Result, code string) string {
	for _, w := range r.Warnings {
		if w.Code == code {
			return w.Text
		}
	}
	return ""
}

// says checks that a warning is there with a number in its text, or is not there.
func says(t *testing.T, what string, r *measure.Result, code, number string) {
	t.Helper()
	text := warning(r, code)
	switch {
	case number == "" && text != "":
		t.Errorf("%s: warned needlessly [%s]: %s", what, code, text)
	case number != "" && !strings.Contains(text, number):
		t.Errorf("%s: warning %s says %q, which lacks %q", what, code, text, number)
	}
}

// inAir makes the samples of a field at ρ = 1.2 and this speed, with p∞ = p.
func inAir(f waketest.Field, speed, p float64) *wake.Samples {
	const rho = 1.2
	s := waketest.Lattice(f, -1.5, 1.5, 0, 2, 61, 41)
	for i := range s.N {
		for _, q := range []wake.Quantity{wake.U, wake.V, wake.W} {
			s.Col[q][i] *= speed
		}
		s.Col[wake.P][i] = p + s.Col[wake.P][i]*rho*speed*speed
	}
	return s
}

// air is the reference of inAir.
func air(speed, p float64) wake.Freestream {
	return wake.Freestream{Speed: speed, Density: 1.2, Pressure: p, TotalPressure: math.NaN()}
}

// At 38.9 m/s compressible total pressure puts the free stream's Cpt at 1 + M²/4 =
// 1.00327 (a = 340 m/s), which over 6 m² counts −0.0196 m². The exact isentropic law is
// used here, p (1 + 0.2 M²)^3.5, at a = 340 m/s.
func TestCompressibleTotalPressure(t *testing.T) {
	const speed = 38.9
	g := waketest.Gaussian(0.5, 0.2, 0, 1)
	law := func(compressible bool) *wake.Samples {
		s := inAir(g, speed, 0)
		s.Col[wake.Pt] = make([]float64, s.N)
		for i := range s.N {
			v2 := s.Col[wake.U][i] * s.Col[wake.U][i]
			s.Col[wake.Pt][i] = s.Col[wake.P][i] + 0.6*v2
			if compressible {
				// ρ = γp/a² makes the law's leading term ½ρV².
				p0 := 1.2 * 340 * 340 / 1.4
				s.Col[wake.Pt][i] = s.Col[wake.P][i] + p0*(math.Pow(1+0.2*v2/(340*340), 3.5)-1)
			}
		}
		return s
	}
	const code = "compressible-total-pressure"
	opt := measure.Options{Reference: air(speed, 0), Floor: "none"}
	// Tubes alone use pt: the excess is in the result then, and a reference by the same
	// law takes it out.
	tubes := []wake.Quantity{wake.U, wake.V, wake.W, wake.P}
	off := run(t, plane(t, without(law(true), tubes...), grid.Nodes), opt)
	says(t, "tubes", off, code, "-0.0196 m2")
	says(t, "tubes, incompressible", run(t, plane(t, without(law(false), tubes...), grid.Nodes), opt), code, "")
	right := opt
	p0, m2 := 1.2*340*340/1.4, speed*speed/(340*340)
	right.Reference.TotalPressure = p0 * (math.Pow(1+0.2*m2, 3.5) - 1)
	on := run(t, plane(t, without(law(true), tubes...), grid.Nodes), right)
	says(t, "tubes with pt∞ by the same law", on, code, "")
	says(t, "tubes with pt∞ by the same law", on, "total-pressure-off", "")
	// The excess goes with u⁴, so that there is less of it in the wake.
	near(t, "what the law changes for the tubes", off.Drag.Jones.DragArea-on.Drag.Jones.DragArea, -0.0196, 0.0012)
	// On a plane with pressure and velocities that pt∞ is the wrong one.
	says(t, "compressible pt∞, p and velocities", run(t, plane(t, inAir(g, speed, 0), grid.Nodes), right), "total-pressure-off", "+0.0197 m2")
	bad := law(false)
	for i := range bad.N {
		bad.Col[wake.Pt][i] += 0.02 * 0.6 * speed * speed
	}
	r := run(t, plane(t, bad, grid.Nodes), opt)
	says(t, "pt 2 % off", r, code, "")
	says(t, "pt 2 % off", r, "total-pressure-disagrees", "0.02 q")
}

// A reference pressure that the open edge contradicts changes the drag area by Cp·S: 0.05·6 m². The
// whole of a closed section may have its own pressure (the top-hat there stays silent),
// and a pressure within 0.02 of q does not count.
func TestReferencePressureContradicted(t *testing.T) {
	const code = "pressure-off"
	g := waketest.Gaussian(0.5, 0.2, 0, 1)
	p := plane(t, waketest.Lattice(g, -1.5, 1.5, 0, 2, 61, 41), grid.Nodes)
	for _, c := range []struct {
		cp   float64
		says string
	}{{0, ""}, {0.015, ""}, {0.05, "+0.3000 m2"}, {-0.05, "-0.3000 m2"}} {
		ref := waketest.Reference()
		ref.Pressure = -c.cp / 2
		says(t, "plane", run(t, p, measure.Options{Reference: ref}), code, c.says)
	}
	ref := waketest.Reference()
	ref.Pressure = -0.025
	says(t, "window as large as the stated section", run(t, p, measure.Options{Reference: ref, Section: [2]float64{3, 2}}), code, "")
	ref.Pressure = -1
	r := run(t, p, measure.Options{Reference: ref})
	says(t, "gauge and absolute mixed", r, "pressure-unlikely", "Cp")
	says(t, "gauge and absolute mixed", r, code, "")
}

// A pt∞ given by itself that is 0.5 % of q off p∞ + ½ρU² changes Jones's drag area by about
// 0.03 m² over 6 m², and the momentum integral not at all.
func TestReferenceTotalPressureContradicted(t *testing.T) {
	const code = "total-pressure-off"
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1.5, 1.5, 0, 2, 61, 41), grid.Nodes)
	ref := waketest.Reference()
	base := run(t, p, measure.Options{Reference: ref})
	says(t, "not given", base, code, "")
	ref.TotalPressure = 0.5 * 1.0008
	says(t, "0.08 % off", run(t, p, measure.Options{Reference: ref}), code, "")
	ref.TotalPressure = 0.5 * 1.005
	off := run(t, p, measure.Options{Reference: ref})
	says(t, "0.5 % off", off, code, "+0.0300 m2")
	near(t, "what it does to the momentum integral", off.Drag.Momentum.DragArea-base.Drag.Momentum.DragArea, 0, 1e-12)
	near(t, "what it does to Jones", off.Drag.Jones.DragArea-base.Drag.Jones.DragArea, 0.03, 2e-3)
	says(t, "0.5 % off, anchored", run(t, p, measure.Options{Reference: ref, Anchor: "edge"}), code, "")
	// A yawed stream's pt∞ has its cross-flow too.
	ref.TotalPressure = 0.5
	yaw := plane(t, waketest.Centres(waketest.Uniform(waketest.State{U: 0.8, V: 0.6}), -1, 1, 1, 2, 8, 8), grid.Cells)
	says(t, "yaw", run(t, yaw, measure.Options{Reference: ref, Yaw: math.Asin(0.6) * 180 / math.Pi}), code, "")
}

// An edge below the reference is doubted for tubes as for whole states.
func TestEdgeTotalPressure(t *testing.T) {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1.5, 1.5, 0, 2, 61, 41)
	waketest.Total(s, nil)
	tubes := without(s, wake.U, wake.V, wake.W, wake.P)
	says(t, "tubes", run(t, plane(t, tubes, grid.Nodes), measure.Options{}), "reference-off", "")
	for i := range s.N {
		s.Col[wake.Pt][i] -= 0.005
	}
	says(t, "tubes 1 % of q low", run(t, plane(t, tubes, grid.Nodes), measure.Options{}), "reference-off", "0.0060 m2")
}

// In a whole closed section, where the stream beside the wake makes up for the wake's mass, a pressure
// that is off is doubted by that stream, and an onset that is not uniform is no such error.
func TestSectionPressure(t *testing.T) {
	const eps, sigma, blocked = 0.5, 0.2, 2 * math.Pi * 0.5 * 0.04 / 10.24
	for _, c := range []struct {
		name       string
		off, shear float64
		says       string
	}{
		{name: "right"}, {name: "above", off: 0.005, says: "1.00 % of q (0.005 Pa) above"}, {name: "below", off: -0.005, says: "1.00 % of q (0.005 Pa) below"},
		{name: "sheared onset", off: 0.005, shear: 0.01},
	} {
		s := waketest.Lattice(waketest.Gaussian(eps, sigma, 0, 0), -1.6, 1.6, -1.6, 1.6, 65, 65)
		for i := range s.N {
			s.Col[wake.U][i] += blocked
			s.Col[wake.P][i] += c.off + (1-(1+blocked)*(1+blocked))/2 + c.shear*s.Col[wake.Y][i]
		}
		r := run(t, plane(t, s, grid.Nodes), measure.Options{})
		if !r.Edge.Closes {
			t.Fatalf("%s: %s", c.name, r.Edge.Why)
		}
		says(t, c.name, r, "reference-off", c.says)
	}
}

// A 1/7-power layer of 0.1 m under a 3 m wide window counts 0.0583 m² (7δ/36 · 3 m),
// wake or none; the warning has that within the sampling, on even rows too. A slip
// floor, a free window, a wake that stands on the floor, and a stream that varies over
// all of the height are no floor layers.
func TestFloorLayerIsFound(t *testing.T) {
	const delta = 0.1
	still := waketest.Uniform(waketest.State{U: 1})
	wakes := waketest.Gaussian(0.5, 0.2, 0, 0.3)
	graded := waketest.Graded(delta, 1.2, 40)
	ys := waketest.Steps(-1.5, 1.5, 40)
	size := func(r *measure.Result) float64 {
		text := warning(r, measure.FloorLayerCode)
		_, after, _ := strings.Cut(text, "about ")
		v := math.NaN()
		fmt.Sscanf(after, "%g m2", &v)
		return v
	}
	for _, c := range []struct {
		name string
		s    *wake.Samples
		opt  measure.Options
		want float64
		tol  float64
	}{
		{"empty section", waketest.Rows(waketest.FloorLayer(still, delta), ys, graded), measure.Options{}, 0.0583, 6e-4},
		{"with a wake", waketest.Rows(waketest.FloorLayer(wakes, delta), ys, graded), measure.Options{}, 0.0583, 6e-4},
		{"velocity alone", without(waketest.Rows(waketest.FloorLayer(wakes, delta), ys, graded), wake.V, wake.W, wake.P), measure.Options{}, 0.0583, 6e-4},
		{"reference 2 % off", waketest.Rows(waketest.FloorLayer(wakes, delta), ys, graded), measure.Options{Reference: wake.Freestream{Speed: 1.01, Density: 1, TotalPressure: math.NaN()}}, 0.0583 / 1.0201, 6e-4},
		{"right half", waketest.Rows(waketest.FloorLayer(wakes, delta), waketest.Steps(0, 1.5, 20), graded), measure.Options{Half: true}, 0.0583, 6e-4},
		{"cells of 20 mm", waketest.Centres(waketest.FloorLayer(wakes, delta), -1.5, 1.5, 0, 1.2, 75, 60), measure.Options{}, 0.0583, 0.003},
		// A linear field from u = 0 on the floor to the next row misses some of the layer.
		{"scattered", waketest.Scatter(waketest.FloorLayer(wakes, delta), -1.5, 1.5, 0, 1.2, 41, 241, 5), measure.Options{}, 0.0583, 0.01},
	} {
		support := grid.Nodes
		if c.name == "cells of 20 mm" {
			support = grid.Cells
		}
		r := run(t, plane(t, c.s, support), c.opt)
		if warning(r, measure.FloorLayerCode) == "" {
			t.Errorf("%s: the floor layer is not found", c.name)
			continue
		}
		near(t, c.name, size(r), c.want, c.tol)
	}
	tall := func(y, z float64) waketest.State { return waketest.State{U: 1 - 0.1*(1-z/1.2)} }
	right := func(y, z float64) waketest.State {
		if y > 0 {
			return waketest.FloorLayer(still, delta)(y, z)
		}
		return still(y, z)
	}
	for _, c := range []struct {
		name string
		f    waketest.Field
		opt  measure.Options
	}{
		{"slip floor", wakes, measure.Options{}},
		{"wake on the floor", waketest.Gaussian(0.6, 0.2, 0, 0), measure.Options{}},
		{"sheared stream", tall, measure.Options{}},
		{"layer on one side alone", right, measure.Options{}},
		{"no floor", waketest.FloorLayer(wakes, delta), measure.Options{Floor: "none"}},
	} {
		says(t, c.name, run(t, plane(t, waketest.Rows(c.f, ys, graded), grid.Nodes), c.opt), measure.FloorLayerCode, "")
	}
}

// One sample that makes most of the sampling's ± is named with its place and its value, by measure and before
// it, on meshes of both kinds; noise, a coarse peak and a step are no such sample.
func TestOneSampleAlone(t *testing.T) {
	g := waketest.Gaussian(0.5, 0.2, 0, 1)
	r := rand.New(rand.NewPCG(1, 2))
	noise := func(y, z float64) waketest.State {
		s := g(y, z)
		s.U += 0.02 * r.NormFloat64()
		return s
	}
	step := func(y, z float64) waketest.State {
		if math.Hypot(y, z-1) < 0.3 {
			return waketest.State{U: 0.4}
		}
		return waketest.State{U: 1}
	}
	scatter := waketest.Scatter(g, -1.5, 1.5, 0, 2, 61, 41, 3)
	for _, c := range []struct {
		name string
		s    *wake.Samples
		q    wake.Quantity
		v    float64 // of the sample nearest to the middle of the window's upper right quarter
		want string
	}{
		{"lattice, sound", waketest.Lattice(g, -1.5, 1.5, 0, 2, 61, 41), 0, 0, ""}, {"scattered, sound", scatter, 0, 0, ""},
		{"noise", waketest.Lattice(noise, -1.5, 1.5, 0, 2, 61, 41), 0, 0, ""}, {"step", waketest.Lattice(step, -1.5, 1.5, 0, 2, 61, 41), 0, 0, ""},
		{"coarse", waketest.Lattice(g, -1.5, 1.5, 0, 2, 16, 11), 0, 0, ""}, {"twice the speed, but for noise", waketest.Lattice(noise, -1.5, 1.5, 0, 2, 61, 41), wake.U, 1.05, ""},
		{"lattice, u", waketest.Lattice(g, -1.5, 1.5, 0, 2, 61, 41), wake.U, 100, "u = 100 m/s at y = 0.7500 m, z = 1.5000 m, where the samples beside it have 0.99997 on"},
		{"lattice, u within the range", waketest.Lattice(g, -1.5, 1.5, 0, 2, 61, 41), wake.U, 0.5, "u = 0.5 m/s at y = 0.7500 m"},
		{"noise, p", waketest.Lattice(noise, -1.5, 1.5, 0, 2, 61, 41), wake.P, -8, "p = -8 Pa at y = 0.7500 m"},
		{"scattered, p", scatter, wake.P, 7, "p = 7 Pa at y = 0.7"},
	} {
		if c.q > 0 {
			near, at := math.Inf(1), 0
			for i := range c.s.N {
				if d := math.Hypot(c.s.Col[wake.Y][i]-0.75, c.s.Col[wake.Z][i]-1.5); d < near {
					near, at = d, i
				}
			}
			c.s.Col[c.q][at] = c.v
		}
		p := plane(t, c.s, grid.Nodes)
		says(t, c.name, run(t, p, measure.Options{}), "one-sample", c.want)
		says(t, c.name+", check", &measure.Result{Warnings: measure.Suspects(p)}, "one-sample", c.want)
	}
}

// No drag is quoted of a stream that enters the plane from behind, and check says so too.
func TestReversedStream(t *testing.T) {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1.5, 1.5, 0, 2, 61, 41)
	for i := range s.N {
		s.Col[wake.U][i] *= -1
	}
	p := plane(t, s, grid.Nodes)
	r := run(t, p, measure.Options{})
	if _, _, ok := r.Drag.Quoted(); ok || r.Uncertainty.DragArea != nil {
		t.Errorf("%s is quoted", r.Drag.Headline)
	}
	for _, r := range []*measure.Result{r, {Warnings: measure.Suspects(p)}} {
		says(t, "reversed", r, "flow-reversed", "−0.98 m/s")
	}
}

// A velocity deficit is given for the stream beside it too, where that runs at another speed than the
// reference: by the closed form 2πσ²ε(2−ε) of a Gaussian.
func TestBypassSpeed(t *testing.T) {
	for _, c := range []struct {
		speed float64
		want  string
	}{{1, ""}, {1.005, ""}, {1.05, "at 1.050 U: referred to it the velocity deficit is 0.188 m2"}, {0.95, "at 0.950 U: referred to it the velocity deficit is 0.188 m2"}} {
		s := without(waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1.5, 1.5, 0, 2, 61, 41), wake.P)
		for i := range s.N {
			s.Col[wake.U][i] *= c.speed
		}
		says(t, fmt.Sprint(c.speed), run(t, plane(t, s, grid.Nodes), measure.Options{}), "bypass-speed", c.want)
	}
}

// A plane that ends at y = 0 in the wake may be half of one; one that ends beside the wake is not.
func TestCutThroughTheWake(t *testing.T) {
	for y0, want := range map[float64]bool{0: true, -0.1: false, -1.5: false} {
		r := run(t, plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), y0, 1.5, 0, 2, 61, 41), grid.Nodes), measure.Options{})
		told := slices.ContainsFunc(r.Warnings, func(w wake.Warning) bool { return strings.Contains(w.Cure, "--symmetry half") })
		if told != want {
			t.Errorf("from y = %g: %v", y0, r.Warnings)
		}
	}
}

// A region that reaches out of the window is measured in part, one beside it holds nothing; neither is said to be both.
func TestRegionsOutside(t *testing.T) {
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1.5, 1.5, 0, 2, 61, 41), grid.Nodes)
	for y0, want := range map[float64][2]string{0: {}, 1: {"the part inside"}, 4: {"", "holds no samples"}} {
		r := run(t, p, measure.Options{Regions: []measure.Box{{Name: "a", Box: grid.Box{Min: grid.Point{X: y0, Y: 0.5}, Max: grid.Point{X: y0 + 1, Y: 1}}}}})
		says(t, fmt.Sprint(y0), r, "region-outside", want[0])
		says(t, fmt.Sprint(y0), r, "region-empty", want[1])
	}
}
