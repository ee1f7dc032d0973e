package grid

// NodalBack is the transpose of Nodal: for a quantity that changes by y[k] for a unit
// of the value at node k of the finer mesh, it returns what that quantity changes by
// for a unit of each sample of m, so that Σ y·Nodal(f) = Σ NodalBack(y)·f for every f.
// A mesh between nodes returns y as it is. y must have one value a node.
func (m *Mesh) NodalBack(y []float64) []float64 {
	fine := m.NodalMesh()
	if fine == m {
		return y
	}
	if len(y) != len(fine.Points) {
		panic("grid: field and nodes differ in number")
	}
	out := make([]float64, len(m.Points))
	if m.Kind == KindCells {
		m.cellsBack(y, out)
		return out
	}
	nx := len(fine.Lattice.X)
	for k, s := range fine.Lattice.Index {
		if s < 0 || y[s] == 0 {
			continue
		}
		i, j := k%nx, k/nx
		n := m.Lattice.around(i, j)
		m.Lattice.eachAround(i, j, func(cell int32) { out[cell] += y[s] / float64(n) })
	}
	return out
}

// eachAround visits the present cells that meet in node (i, j) of the finer lattice.
func (l *Lattice) eachAround(i, j int, visit func(cell int32)) {
	// Node 2i+1 lies in cell i alone; node 2i on the border of cells i−1 and i.
	for b := max(0, (j-1)/2); b <= min(j/2, len(l.Y)-1); b++ {
		for a := max(0, (i-1)/2); a <= min(i/2, len(l.X)-1); a++ {
			if s := l.At(a, b); s >= 0 {
				visit(s)
			}
		}
	}
}

// cellsBack adds to out the transpose of nodalCellField.
func (m *Mesh) cellsBack(y, out []float64) {
	fine, n := m.nodal.mesh, int32(len(m.Points))
	area := func(t int) float64 {
		return TriangleArea(fine.Points[fine.Triangles[t]], fine.Points[fine.Triangles[t+1]], fine.Points[fine.Triangles[t+2]])
	}
	total := make([]float64, n)
	for t := 0; t < len(fine.Triangles); t += 3 {
		total[fine.Triangles[t]] += area(t)
	}
	for i := range n {
		if out[i] = y[i]; total[i] > 0 {
			out[i] = 3 * y[i]
		}
	}
	// A corner's value acts by itself and through the centres of its cells.
	corner := append([]float64(nil), y...)
	for t := 0; t < len(fine.Triangles); t += 3 {
		i := fine.Triangles[t]
		for _, k := range fine.Triangles[t+1 : t+3] {
			corner[k] -= area(t) / total[i] * y[i]
		}
	}
	for t := 0; t < len(fine.Triangles); t += 3 {
		for _, k := range fine.Triangles[t+1 : t+3] {
			out[fine.Triangles[t]] += area(t) / m.nodal.weight[k-n] * corner[k]
		}
	}
}
