package parts_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/parts"
	"wakeledger/wake/waketest"
)

// A survey with more samples than are used as they are has the same parts: those of
// a Gaussian above t, 2πσ²(ε − t) in the weight and 2πσ² ln(ε/t) in area, on the
// lattice that it is put on. In-plane rotation as of a solid body has the vorticity
// 2Ω, and so the circulation 2Ω over the area.
func TestThinned(t *testing.T) {
	const eps, sigma, y0, z0, level, omega = 0.5, 0.3, 0.7, 0.2, 0.1, 0.05
	state := func(y, z float64) waketest.State {
		s := waketest.Gaussian(eps, sigma, y0, z0)(y, z)
		s.V, s.W = -omega*z, omega*y
		return s
	}
	const ny, nz = 301, 251
	for _, c := range []struct {
		name string
		s    *wake.Samples
		opt  wake.PlaneOptions
	}{
		{"nodes", waketest.Lattice(state, -2, 2, -1.5, 1.5, ny, nz), wake.PlaneOptions{}},
		{"cells", waketest.Centres(state, -2, 2, -1.5, 1.5, ny, nz), wake.PlaneOptions{Support: grid.Cells, SupportBy: "test"}},
		{"scatter", waketest.Scatter(state, -2, 2, -1.5, 1.5, ny, nz, 5), wake.PlaneOptions{}},
	} {
		m := take(t, c.s, c.opt)
		set, top, err := parts.Survey(m, parts.Options{Threshold: level})
		if err != nil {
			t.Fatal(err)
		}
		if top != nil || len(set.Structures) != 1 || len(m.Result.Structures) != 1 {
			t.Fatalf("%s: %d structures", c.name, len(set.Structures))
		}
		if n := len(set.Field().Mesh.Points); n > 25_000 {
			t.Errorf("%s: still %d points", c.name, n)
		}
		if !strings.Contains(m.Result.StructureRule.Text, fmt.Sprintf("interpolated from %d samples", m.Result.Samples)) {
			t.Errorf("%s: the rule does not say so: %s", c.name, m.Result.StructureRule.Text)
		}
		s := m.Result.Structures[0]
		near(t, c.name+": y", s.Centroid[0], y0, 1e-4)
		near(t, c.name+": z", s.Centroid[1], z0, 1e-4)
		area := 2 * math.Pi * sigma * sigma * math.Log(eps/level)
		near(t, c.name+": area", s.Area, area, 2e-3*area)
		near(t, c.name+": integral", s.Integral, 2*math.Pi*sigma*sigma*(eps-level), 2e-3*s.Integral)
		near(t, c.name+": circulation", *s.Circulation, 2*omega*s.Area*waketest.Reference().Speed, 0.02**s.Circulation)
	}
}

// Given cells are constant inside, so a thinned field takes each cell's value.
func TestThinnedCells(t *testing.T) {
	const n = 250 // columns and rows of cells, one more than mostSamples in all
	side := func(k int) float64 { return float64(k) / n }
	c := &grid.CellSet{Start: []int32{0}}
	for j := range n + 1 {
		for i := range n + 1 {
			c.Corners = append(c.Corners, grid.Point{X: side(i), Y: side(j)})
		}
	}
	m := &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Cells: c}
	var f []float64
	for j := range n {
		for i := range n {
			if i == 100 && j > 50 && j < 200 {
				continue // a slit, so that places are left out
			}
			k := int32(j*(n+1) + i)
			c.Index = append(c.Index, k, k+1, k+n+2, k+n+1)
			c.Start = append(c.Start, int32(len(c.Index)))
			m.Points = append(m.Points, grid.Point{X: side(i) + 0.5/n, Y: side(j) + 0.5/n})
			f = append(f, float64(i+1000*j))
		}
	}
	thin, put := parts.Thin(m)
	got := put(f)
	if err := gridtest.Validate(thin); err != nil {
		t.Fatal(err)
	}
	if put(nil) != nil || len(got) != len(thin.Points) || len(thin.Points) < 18_000 {
		t.Fatalf("%d values at %d points", len(got), len(thin.Points))
	}
	for k, p := range thin.Points {
		i, j := math.Floor(p.X*n), math.Floor(p.Y*n)
		if i == 100 && j > 50 && j < 200 {
			t.Fatalf("a value in the slit at %v", p)
		}
		if got[k] != i+1000*j && math.Abs(p.X*n-math.Round(p.X*n)) > 1e-6 && math.Abs(p.Y*n-math.Round(p.Y*n)) > 1e-6 {
			t.Fatalf("%g at %v, want %g", got[k], p, i+1000*j)
		}
	}
}

// A plane normal to z has edges, one normal to y neither edges nor structures.
func TestSurveyByNormal(t *testing.T) {
	for _, c := range []struct {
		normal    string
		set, view bool
	}{{"x", true, false}, {"y", false, false}, {"z", false, true}} {
		s := waketest.Lattice(waketest.Gaussian(0.5, 0.3, 0, 0), -2, 2, -1.5, 1.5, 81, 61)
		switch c.normal {
		case "y": // y and x swap places
			s.Col[wake.X], s.Col[wake.Y] = s.Col[wake.Y], s.Col[wake.X]
		case "z": // the plane's axes become x and y
			s.Col[wake.X], s.Col[wake.Y], s.Col[wake.Z] = s.Col[wake.Y], s.Col[wake.Z], s.Col[wake.X]
		}
		m := take(t, s, wake.PlaneOptions{})
		if got := m.Plane.Normal.String(); got != c.normal {
			t.Fatalf("the plane is normal to %s, want %s", got, c.normal)
		}
		set, view, err := parts.Survey(m, parts.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if (set != nil) != c.set || (view != nil) != c.view || (m.Result.Structures != nil) != c.set || (m.Result.TopView != nil) != c.view {
			t.Errorf("normal %s: set %v, view %v", c.normal, set != nil, view != nil)
		}
	}
}
