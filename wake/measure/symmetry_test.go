package measure_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// A half plane whose first line lies half a cell off its plane of symmetry holds the
// whole half, C_D·A = 2πσ²ε(2−ε), where nothing says what its samples are, on either side. As
// stated nodes it lacks a strip, which the uncertainty holds.
func TestHalfPlaneOffItsMirror(t *testing.T) {
	const eps, sigma = 0.5, 0.2
	g := waketest.Gaussian(eps, sigma, 0, 0)
	want := 2 * math.Pi * sigma * sigma * eps * (2 - eps)
	for _, c := range []struct {
		name   string
		y0, y1 float64
		opt    wake.PlaneOptions
	}{{"right", 0, 1.2, wake.PlaneOptions{}}, {"left", -1.2, 0, wake.PlaneOptions{}}, {"right cells", 0, 1.2, wake.PlaneOptions{Support: grid.Cells, SupportBy: "flag"}}} {
		p := waketest.Plane(t, waketest.Centres(g, c.y0, c.y1, -1.2, 1.2, 40, 40), c.opt)
		r := run(t, p, measure.Options{Half: true, Floor: "none"})
		near(t, c.name, r.Drag.Momentum.DragArea, want, 2e-4*want)
		if r.Mesh.Support != "cells" || c.opt.SupportBy == "" && p.Mesh.Support != grid.Nodes {
			t.Errorf("%s: measured as %s, the plane given is of %s", c.name, r.Mesh.Support, p.Mesh.Support)
		}
		// The loss is 2εG − ε²G²: the mean |y| of G is σ√(2/π), that of G² is that over √2,
		// and ∫G² is half of ∫G.
		first := sigma * math.Sqrt(2/math.Pi)
		near(t, c.name+": centroid", math.Abs(r.Wake.Centroid[0]), (2*eps*first-eps*eps/2*first/math.Sqrt2)/(2*eps-eps*eps/2), 5e-4)
	}
	for name, s := range map[string]*wake.Samples{"scattered, 20 mm off": waketest.Scatter(g, 0.02, 1.2, -1.2, 1.2, 60, 120, 1), "nodes": waketest.Centres(g, 0, 1.2, -1.2, 1.2, 40, 40)} {
		r := run(t, plane(t, s, grid.Nodes), measure.Options{Half: true, Floor: "none"})
		off := math.Abs(r.Drag.Momentum.DragArea - want)
		if b := r.Uncertainty.DragArea; !hasWarning(r, "symmetry-strip") || b == nil || !(off <= b.Expanded) || off < 0.02*want {
			t.Errorf("%s: %g of %g, %+v", name, r.Drag.Momentum.DragArea, want, b)
		}
	}
}

// A full plane that is called a half is refused.
func TestFullPlaneCalledHalf(t *testing.T) {
	g := waketest.Gaussian(0.5, 0.2, 0, 1.2)
	reference := waketest.Reference()
	for _, floor := range []string{"", "slip", "none"} {
		_, err := measure.Take(plane(t, waketest.Lattice(g, -1.2, 1.2, 0, 2.4, 41, 41), grid.Nodes), measure.Options{Reference: reference, Half: true, Floor: floor})
		var e *wake.InputError
		if !errors.As(err, &e) || !strings.Contains(e.Text, "both sides of y = 0") {
			t.Errorf("over a %s floor: %v", floor, err)
		}
	}
}
