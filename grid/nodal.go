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
	fine := m.NodalMesh()
	switch {
	case fine == m:
		return m, f
	case m.Kind == KindCells:
		return fine, m.nodalCellField(f)
	}
	return fine, m.Lattice.finerField(len(fine.Points), f)
}

// NodalMesh is the mesh of Nodal.
func (m *Mesh) NodalMesh() *Mesh {
	switch {
	case m.Kind == KindLattice && m.Support == Cells:
		return m.nodal.get(func() nodalMesh {
			fine := m.Lattice.finer()
			fine.Gaps = m.Gaps
			return nodalMesh{mesh: fine}
		}).mesh
	case m.Kind == KindCells:
		return m.nodal.get(m.nodalCells).mesh
	}
	return m
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
	points := make([]Point, 0, len(f.Index))
	nx, ny := len(l.X), len(l.Y)
	for j, y := range f.Y {
		// Line 2i+1 lies in cell i alone; line 2i on the border of cells i−1 and i.
		low, high := l.Index[max(0, (j-1)/2)*nx:], l.Index[min(j/2, ny-1)*nx:]
		for i, x := range f.X {
			k, a, b := j*len(f.X)+i, max(0, (i-1)/2), min(i/2, nx-1)
			if low[a]&low[b]&high[a]&high[b] < 0 {
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

// finerField gives the values on the nodes of the finer lattice: the mean over the
// present cells that meet there. A missing cell counts as 0, with the number 0.
func (l *Lattice) finerField(nodes int, f []float64) []float64 {
	out, at, nx := make([]float64, nodes), 0, len(l.X)
	add := func(v float64) { out[at], at = v, at+1 }
	// A row of cells has an empty place at either end; full says that none of its own is.
	type row struct {
		value, number []float64
		full          bool
	}
	empty := func() *row { return &row{value: make([]float64, nx+2), number: make([]float64, nx+2)} }
	fill := func(r *row, j int) {
		r.full = true
		for i, s := range l.Index[j*nx : (j+1)*nx] {
			if s >= 0 {
				r.value[i+1], r.number[i+1] = f[s], 1
			} else {
				r.value[i+1], r.number[i+1], r.full = 0, 0, false
			}
		}
	}
	below, here, none := empty(), empty(), empty()
	nodesOf := func(a, b *row) {
		av, an, bv, bn := a.value, a.number, b.value, b.number
		if row := 0.5; a.full && (b.full || b == none) {
			if b == none {
				row = 1
			}
			line := out[at : at+2*nx+1]
			at += len(line)
			line[0] = (av[1] + bv[1]) * row
			for i := 1; i < nx; i++ {
				line[2*i-1], line[2*i] = (av[i]+bv[i])*row, (av[i]+av[i+1]+bv[i]+bv[i+1])*(row/2)
			}
			line[2*nx-1], line[2*nx] = (av[nx]+bv[nx])*row, (av[nx]+bv[nx])*row
			return
		}
		for i := range nx + 1 {
			if n := an[i] + an[i+1] + bn[i] + bn[i+1]; n > 0 {
				add((av[i] + av[i+1] + bv[i] + bv[i+1]) / n)
			}
			if n := an[i+1] + bn[i+1]; i < nx && n > 0 {
				add((av[i+1] + bv[i+1]) / n)
			}
		}
	}
	for j := range l.Y {
		fill(here, j)
		nodesOf(below, here)
		nodesOf(here, none)
		below, here = here, below
	}
	nodesOf(below, none)
	return out
}
