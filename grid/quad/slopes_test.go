package quad_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// cellsOf makes each quadrilateral of a lattice a given cell with one sample in it.
func cellsOf(l *grid.Lattice) *grid.Mesh {
	c := &grid.CellSet{Start: []int32{0}}
	m := &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Cells: c}
	for _, y := range l.Y {
		for _, x := range l.X {
			c.Corners = append(c.Corners, grid.Point{X: x, Y: y})
		}
	}
	nx := int32(len(l.X))
	for j := range len(l.Y) - 1 {
		for i := range len(l.X) - 1 {
			k := int32(j)*nx + int32(i)
			c.Index = append(c.Index, k, k+1, k+1+nx, k+nx)
			c.Start = append(c.Start, int32(len(c.Index)))
			m.Points = append(m.Points, grid.Point{X: (l.X[i] + l.X[i+1]) / 2, Y: (l.Y[j] + l.Y[j+1]) / 2})
		}
	}
	return m
}

// TestNodalPart: Σ y·Field(f) = Σ Back(y)·f for every f and y, and Field is that of Nodal.
func TestNodalPart(t *testing.T) {
	base := lattice(9, 7, grid.Cells, 3, func(x, y float64) bool { return math.Hypot(x-0.2, y) < 0.2 })
	r := rand.New(rand.NewPCG(8, 1))
	for _, m := range []*grid.Mesh{base, cellsOf(lattice(9, 7, grid.Nodes, 3, nil).Lattice), lattice(5, 5, grid.Nodes, 1, nil)} {
		f := sample(m, func(x, y float64) float64 { return r.NormFloat64() })
		fine, g := m.Nodal(f)
		y := sample(fine, func(x, y float64) float64 { return r.NormFloat64() })
		nodes := make([]int32, len(g))
		for k := range nodes {
			nodes[k] = int32(k)
		}
		part := m.NodalPart(nodes)
		back := part.Back(y)
		for k, v := range part.Field(f, make([]float64, len(g))) {
			near(t, m.Kind.String()+" field", v, g[k], 0)
		}
		var a, b float64
		for k := range g {
			a += y[k] * g[k]
		}
		for k := range f {
			b += back[k] * f[k]
		}
		near(t, m.Kind.String(), b, a, 1e-12*math.Abs(a)+1e-12)
	}
}

// TestSlopes: they are what AreaAbove itself says of each sample moved by its step, in a
// box that cuts elements too; of cells, whose values act through the finer mesh, for
// small steps.
func TestSlopes(t *testing.T) {
	base := lattice(15, 13, grid.Nodes, 4, func(x, y float64) bool { return math.Hypot(x-0.5, y-0.4) < 0.15 })
	cells := lattice(15, 13, grid.Cells, 4, nil)
	box := grid.Box{Min: grid.Point{X: -0.31, Y: -0.5}, Max: grid.Point{X: 0.62, Y: 0.77}}
	for _, m := range []*grid.Mesh{base, triangles(base), cells, cellsOf(lattice(15, 13, grid.Nodes, 5, nil).Lattice)} {
		f := sample(m, func(x, y float64) float64 { return math.Exp(-(x*x + 1.3*y*y) / 0.3) })
		step := sample(m, func(x, y float64) float64 { return 0.03 * (1.2 + math.Sin(40*x+17*y)) })
		tol := 1e-12
		if m.Support == grid.Cells {
			for i := range step {
				step[i] *= 1e-4
			}
			// The step acts on several nodes at once: second order in it.
			tol = 1e-5
		}
		thresholds, boxes := []float64{0.1, 0.45}, []*grid.Box{nil, &box}
		s := quad.NewLevels(m, boxes, f, step, thresholds)
		for k, b := range boxes {
			for _, th := range thresholds {
				got := s.Slopes(k, th)
				some := 0
				for i, d := range step {
					was := f[i]
					f[i] = was + d
					up := areaAbove(m, b, f, []float64{th})[0]
					f[i] = was - d
					want := (up - areaAbove(m, b, f, []float64{th})[0]) / (2 * d)
					f[i] = was
					near(t, m.Kind.String()+" slope", got[i], want, tol)
					if want != 0 {
						some++
					}
				}
				if some < 10 {
					t.Errorf("%v: only %d samples have slopes", m.Kind, some)
				}
			}
		}
	}
}
