package grid

import "sync"

// Kind says what the elements of a mesh are.
type Kind uint8

const (
	// KindLattice: the samples sit on crossing lines; Mesh.Lattice is set.
	KindLattice Kind = iota
	// KindTriangles: three samples to an element; Mesh.Triangles is set.
	KindTriangles
	// KindPolygons: elements with given corners, each corner a sample, split
	// into Mesh.Triangles without crossing the element.
	KindPolygons
	// KindCells: one sample to an element; Mesh.Cells holds the corners.
	KindCells
)

// String returns the word that results carry: lattice, triangles, polygons, cells.
func (k Kind) String() string {
	return [...]string{"lattice", "triangles", "polygons", "cells"}[k]
}

// Support says what a sample represents.
type Support uint8

const (
	// Nodes: a sample is a point value, and between samples the field is
	// linear. The outermost samples are the border.
	Nodes Support = iota
	// Cells: a sample is the mean of a cell round it. On a lattice the cell
	// reaches half way to each neighbour and as far again on the border.
	Cells
)

// String returns nodes or cells.
func (s Support) String() string {
	if s == Cells {
		return "cells"
	}
	return "nodes"
}

// Mesh joins samples into elements. Which fields are set depends on Kind. All
// slices are read-only once the mesh is made, so that stages can share them.
type Mesh struct {
	Kind    Kind
	Support Support
	// Points are the sample positions, one for each sample.
	Points []Point
	// Lattice is set for KindLattice.
	Lattice *Lattice
	// Triangles holds three sample indices for each triangle, anticlockwise.
	Triangles []int32
	// Faces says which Triangles belong together, for KindPolygons: polygon e was split
	// into triangles Faces[e] … Faces[e+1]−1. Nil where that is not known.
	Faces []int32
	// Cells is set for KindCells.
	Cells *CellSet
	// SampleArea, where it is not nil, says what area each sample represents, m²,
	// over what the elements say: the integral of f is Σ f·SampleArea. The elements
	// are then for shape alone: neighbours, level lines, pictures.
	SampleArea []float64
	// Gaps are the regions inside the window that no element covers.
	Gaps []Gap
	// DroppedArea is the area of the triangles that were taken out because they
	// bridged a gap, m².
	DroppedArea float64
	// Bridges are those triangles, as in Triangles.
	Bridges []int32
	// Wide are triangles of the mesh over a gap that is one by the finest samples at its
	// rim but not by the coarsest, as in Triangles.
	Wide []int32

	// What Spacing, NodeArea and NodalMesh find; of given cells with the area about each corner.
	spacing  once[float64]
	nodeArea once[[]float64]
	nodal    once[nodalMesh]
}

type nodalMesh struct {
	mesh   *Mesh
	weight []float64
}

// once is a value that is worked out when it is first asked for.
type once[T any] struct {
	sync.Once
	value T
}

func (o *once[T]) get(find func() T) T {
	o.Do(func() { o.value = find() })
	return o.value
}

// CellSet holds one polygon for each sample. Cell i has the corners
// Corners[Index[Start[i]]] … Corners[Index[Start[i+1]-1]], anticlockwise.
type CellSet struct {
	Corners []Point
	Start   []int32
	Index   []int32
}

// Lattice is a grid of crossing lines: X has the abscissae of the columns, Y the
// ordinates of the rows, both increasing. Sample Index[j*len(X)+i] sits at
// (X[i], Y[j]); Index is -1 where the sample is missing.
type Lattice struct {
	X, Y  []float64
	Index []int32
}

// At returns the sample at column i and row j, or -1 where it is missing.
func (l *Lattice) At(i, j int) int32 { return l.Index[j*len(l.X)+i] }

// CellEdges returns the borders of the cells that the lines a represent: half
// way between neighbours, and as far outside the first and last line as the
// border on their inner side. For n lines it has n+1 values; a must have at
// least two.
func CellEdges(a []float64) []float64 {
	n := len(a)
	e := make([]float64, n+1)
	for i := 1; i < n; i++ {
		e[i] = a[i-1] + (a[i]-a[i-1])/2
	}
	e[0] = a[0] - (e[1] - a[0])
	e[n] = a[n-1] + (a[n-1] - e[n-1])
	return e
}

// Window is the box that the mesh represents: the samples' bounds, with the
// border cells' outer halves when the support is Cells.
func (m *Mesh) Window() Box {
	switch {
	case m.Kind == KindLattice && m.Support == Cells:
		x, y := CellEdges(m.Lattice.X), CellEdges(m.Lattice.Y)
		return Box{Min: Point{X: x[0], Y: y[0]}, Max: Point{X: x[len(x)-1], Y: y[len(y)-1]}}
	case m.Kind == KindCells:
		return Bounds(m.Cells.Corners)
	}
	return Bounds(m.Points)
}

// Elements counts the elements: quadrilaterals of a lattice of nodes whose four
// corners are present, cells of a lattice of cells, triangles, or given polygons
// or cells.
func (m *Mesh) Elements() int {
	switch m.Kind {
	case KindLattice:
		if m.Support == Cells {
			return len(m.Points)
		}
		n, l := 0, m.Lattice
		for j := 0; j+1 < len(l.Y); j++ {
			for i := 0; i+1 < len(l.X); i++ {
				if l.Full(i, j) {
					n++
				}
			}
		}
		return n
	case KindCells:
		return m.Cells.Len()
	case KindPolygons:
		if m.Faces != nil {
			return len(m.Faces) - 1
		}
	}
	return len(m.Triangles) / 3
}

// Full reports whether the quadrilateral with lower-left node (i, j) has all
// four corners.
func (l *Lattice) Full(i, j int) bool {
	k := j*len(l.X) + i
	n := len(l.X)
	return l.Index[k] >= 0 && l.Index[k+1] >= 0 && l.Index[k+n] >= 0 && l.Index[k+n+1] >= 0
}

// TriangleArea is the signed area ½ (b−a)×(c−a), positive when a, b, c run
// anticlockwise. Differences to a keep the digits of thin triangles far from the
// origin.
func TriangleArea(a, b, c Point) float64 {
	return ((b.X-a.X)*(c.Y-a.Y) - (c.X-a.X)*(b.Y-a.Y)) / 2
}

// bodySpacings is how many squares of the sample distance make a gap a body
// rather than a few lost samples.
const bodySpacings = 16

// CutsBody reports whether the mesh has a gap as large as a body's cut.
func (m *Mesh) CutsBody() bool { return len(m.Bodies()) > 0 }

// Bodies are the gaps as large as a body's cut: sixteen squares of the sample distance
// or more, with samples round it, or with nothing but the lower border below it (a
// wheel on the floor).
func (m *Mesh) Bodies() []Gap {
	least := bodySpacings * m.Spacing() * m.Spacing()
	var out []Gap
	for _, g := range m.Gaps {
		if g.Area >= 0.999*least && g.hole() {
			out = append(out, g)
		}
	}
	return out
}

// Holes counts the gaps that have samples round them or stand on the lower
// border.
func (m *Mesh) Holes() int {
	n := 0
	for _, g := range m.Gaps {
		if g.hole() {
			n++
		}
	}
	return n
}
