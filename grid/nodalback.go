package grid

// NodalPart is Nodal at some nodes of the finer mesh alone, and its transpose: for fields
// that are asked for again and again where few nodes matter.
type NodalPart struct {
	m     *Mesh
	nodes []int32
	// cells are, of a lattice of cells, the present ones that meet in each node, −1 for none;
	// nil on other meshes.
	cells [][4]int32
}

// NodalPart prepares the nodes.
func (m *Mesh) NodalPart(nodes []int32) *NodalPart {
	p, fine := &NodalPart{m: m, nodes: nodes}, m.NodalMesh()
	if fine == m || m.Kind == KindCells {
		return p
	}
	place := make([]int32, len(fine.Points))
	for k, s := range fine.Lattice.Index {
		if s >= 0 {
			place[s] = int32(k)
		}
	}
	p.cells = make([][4]int32, len(nodes))
	nx := len(fine.Lattice.X)
	for k, s := range nodes {
		c, n := [4]int32{-1, -1, -1, -1}, 0
		m.Lattice.eachAround(int(place[s])%nx, int(place[s])/nx, func(cell int32) { c[n], n = cell, n+1 })
		p.cells[k] = c
	}
	return p
}

// Values are those of the field of Nodal at the nodes of the part.
func (p *NodalPart) Values(f []float64) []float64 {
	out := make([]float64, len(p.nodes))
	if p.cells == nil {
		_, g := p.m.Nodal(f)
		for k, s := range p.nodes {
			out[k] = g[s]
		}
		return out
	}
	for k, c := range p.cells {
		v, n := 0.0, 0.0
		for _, cell := range c {
			if cell >= 0 {
				v, n = v+f[cell], n+1
			}
		}
		out[k] = v / n
	}
	return out
}

// Field is the field of Nodal, right at the nodes of the part: f itself on a mesh between nodes,
// else written into room.
func (p *NodalPart) Field(f, room []float64) []float64 {
	if p.cells == nil {
		_, g := p.m.Nodal(f)
		return g
	}
	for k, v := range p.Values(f) {
		room[p.nodes[k]] = v
	}
	return room
}

// Back is the transpose of Field: for a quantity that changes by y[k] for a unit
// of the value at node k of the finer mesh, one of the part, it returns what that quantity
// changes by for a unit of each sample of m, so that Σ y·Field(f) = Σ Back(y)·f for every f.
// Of a mesh between nodes y itself is returned. y must have one value a node of the finer mesh.
func (p *NodalPart) Back(y []float64) []float64 {
	if p.m.NodalMesh() == p.m {
		return y
	}
	out := make([]float64, len(p.m.Points))
	if p.m.Kind == KindCells {
		p.m.cellsBack(y, out)
		return out
	}
	for k, s := range p.nodes {
		n := 0
		for y[s] != 0 && n < 4 && p.cells[k][n] >= 0 {
			n++
		}
		for _, cell := range p.cells[k][:n] {
			out[cell] += y[s] / float64(n)
		}
	}
	return out
}

// Cells visits the cells that the nodes of the part are made of, of a lattice of cells.
func (p *NodalPart) Cells(visit func(cell int32)) {
	for _, c := range p.cells {
		for _, cell := range c {
			if cell >= 0 {
				visit(cell)
			}
		}
	}
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
	fine, n := m.nodal.value.mesh, int32(len(m.Points))
	total := make([]float64, n)
	for t := 0; t < len(fine.Triangles); t += 3 {
		total[fine.Triangles[t]] += fine.triangleArea(t)
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
			corner[k] -= fine.triangleArea(t) / total[i] * y[i]
		}
	}
	for t := 0; t < len(fine.Triangles); t += 3 {
		for _, k := range fine.Triangles[t+1 : t+3] {
			out[fine.Triangles[t]] += fine.triangleArea(t) / m.nodal.value.weight[k-n] * corner[k]
		}
	}
}
