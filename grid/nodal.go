package grid

// Nodal returns a mesh of node support and the field on it, for everything that
// needs a continuous field: level lines, level areas and pictures. A mesh of
// nodes is returned as it is.
//
// A lattice of cells becomes a finer lattice of nodes: the cell centres, which
// keep their values, and the cell borders, where the value is the mean of the
// cells that meet there. Cell borders lie half way between centres, so the four
// quarters that meet in a corner have equal areas and the integral of the finer
// field over all cells is the sum of value × cell area: nothing is gained or
// lost, next to a missing cell neither. Given cells become triangles between
// corners and a centre in the same manner (see nodalCells).
//
// The mesh is made once and shared; the field is new unless it is returned as it
// is. f must have one value a sample.
func (m *Mesh) Nodal(f []float64) (*Mesh, []float64) {
	if len(f) != len(m.Points) {
		panic("grid: field and samples differ in number")
	}
	switch {
	case m.Kind == KindLattice && m.Support == Cells:
		m.nodal.once.Do(func() {
			m.nodal.mesh = m.Lattice.finer()
			m.nodal.mesh.Gaps = m.Gaps
		})
		return m.nodal.mesh, m.Lattice.finerField(m.nodal.mesh.Lattice, f)
	case m.Kind == KindCells:
		m.nodal.once.Do(m.nodalCells)
		return m.nodal.mesh, m.nodalCellField(f)
	}
	return m, f
}

// finer is the lattice of cell centres and cell borders. Node (2i+1, 2j+1) is
// the centre of cell (i, j).
func (l *Lattice) finer() *Mesh {
	between := func(a []float64) []float64 {
		e := CellEdges(a)
		b := make([]float64, 0, 2*len(a)+1)
		for i, v := range a {
			b = append(b, e[i], v)
		}
		return append(b, e[len(a)])
	}
	f := &Lattice{X: between(l.X), Y: between(l.Y)}
	f.Index = make([]int32, len(f.X)*len(f.Y))
	var points []Point
	for j, y := range f.Y {
		for i, x := range f.X {
			k := j*len(f.X) + i
			if _, n := l.around(i, j, nil); n == 0 {
				f.Index[k] = -1
				continue
			}
			f.Index[k] = int32(len(points))
			points = append(points, Point{X: x, Y: y})
		}
	}
	// A quarter of a missing cell can have four present corners (they belong to
	// its neighbours), which would bridge a one-cell gap: its own centre is absent,
	// so Full is false there, as every quarter has one cell centre as a corner.
	return &Mesh{Kind: KindLattice, Support: Nodes, Points: points, Lattice: f}
}

// finerField gives the values on the nodes of the finer lattice.
func (l *Lattice) finerField(fine *Lattice, f []float64) []float64 {
	var out []float64
	nx := len(fine.X)
	for j := range fine.Y {
		for i := range fine.X {
			if fine.Index[j*nx+i] < 0 {
				continue
			}
			sum, n := l.around(i, j, f)
			out = append(out, sum/float64(n))
		}
	}
	return out
}

// around sums f over the present cells that meet in node (i, j) of the finer
// lattice and counts them; f may be nil for the count alone.
func (l *Lattice) around(i, j int, f []float64) (sum float64, n int) {
	// Node 2i+1 lies in cell i alone; node 2i on the border of cells i−1 and i.
	for b := max(0, (j-1)/2); b <= min(j/2, len(l.Y)-1); b++ {
		for a := max(0, (i-1)/2); a <= min(i/2, len(l.X)-1); a++ {
			if s := l.At(a, b); s >= 0 {
				n++
				if f != nil {
					sum += f[s]
				}
			}
		}
	}
	return sum, n
}
