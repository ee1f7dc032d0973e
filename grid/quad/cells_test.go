package quad_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// asCells makes given cells of a lattice of cells.
func asCells(m *grid.Mesh) *grid.Mesh {
	c := &grid.CellSet{Start: []int32{0}}
	ex, ey := grid.CellEdges(m.Lattice.X), grid.CellEdges(m.Lattice.Y)
	nx := len(ex)
	for _, y := range ey {
		for _, x := range ex {
			c.Corners = append(c.Corners, grid.Point{X: x, Y: y})
		}
	}
	for j := range m.Lattice.Y {
		for i := range m.Lattice.X {
			if m.Lattice.At(i, j) >= 0 {
				k := int32(j*nx + i)
				c.Index = append(c.Index, k, k+1, k+1+int32(nx), k+int32(nx))
				c.Start = append(c.Start, int32(len(c.Index)))
			}
		}
	}
	return &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Points: m.Points, Cells: c}
}

// Cells that are given as polygons have the weights of the lattice that they make up,
// whole and clipped to a box.
func TestGivenCells(t *testing.T) {
	for _, drop := range []func(x, y float64) bool{nil, func(x, y float64) bool { return math.Hypot(x-0.2, y) < 0.3 }} {
		m := lattice(23, 19, grid.Cells, 5, drop)
		f := sample(m, func(x, y float64) float64 { return 1 + x - 2*y })
		given := asCells(m)
		for _, box := range []*grid.Box{nil, {Min: grid.Point{X: -0.31, Y: -0.2}, Max: grid.Point{X: 0.77, Y: 0.93}}} {
			near(t, "integral", quad.NewWeights(given, box).Integrate(f), quad.NewWeights(m, box).Integrate(f), 1e-13)
			a, b := quad.NewMoments(given, box, f), quad.NewMoments(m, box, f)
			near(t, "∫x²f", a.XX, b.XX, 1e-13)
			near(t, "∫xyf", a.XY, b.XY, 1e-13)
		}
	}
}

// Sample areas go before elements: the whole is Σ f·area, boxes that tile share it
// out, and on a uniform lattice of cells nothing differs from the cells themselves.
func TestSampleAreas(t *testing.T) {
	cells := lattice(20, 20, grid.Cells, 0, nil)
	m := triangles(lattice(20, 20, grid.Nodes, 0, nil))
	m.Support = grid.Cells
	for range m.Points {
		m.SampleArea = append(m.SampleArea, 2./19*2/19)
	}
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	f := sample(m, func(x, y float64) float64 { return math.Exp(x) - y })
	near(t, "integral", quad.NewWeights(m, nil).Integrate(f), quad.NewWeights(cells, nil).Integrate(f), 1e-13)
	a, b := quad.NewMoments(m, nil, f), quad.NewMoments(cells, nil, f)
	near(t, "∫xf", a.X+a.Origin.X*a.M0, b.X+b.Origin.X*b.M0, 1e-13)
	near(t, "∫y²f", a.YY+2*a.Origin.Y*a.Y+a.Origin.Y*a.Origin.Y*a.M0, b.YY+2*b.Origin.Y*b.Y+b.Origin.Y*b.Origin.Y*b.M0, 1e-13)
	left, right := m.Window(), m.Window()
	left.Max.X, right.Min.X = 0.1234, 0.1234
	near(t, "two boxes", quad.NewWeights(m, &left).Integrate(f)+quad.NewWeights(m, &right).Integrate(f), quad.NewWeights(m, nil).Integrate(f), 1e-13)
	n := 0.0
	for _, v := range f {
		if v >= 1 {
			n++
		}
	}
	near(t, "area above", quad.AreaAbove(m, nil, f, []float64{1})[0], n*m.SampleArea[0], 1e-13)
}
