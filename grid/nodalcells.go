package grid

// nodalCells joins each given cell's corners with its centre. A corner that
// several cells share carries the mean of their values, weighted with the area
// that each has next to the corner, and a cell's centre carries what makes the
// cell's integral come out as value × area, so the finer field holds the same
// integral as the cells, cell by cell.
func (m *Mesh) nodalCells() nodalMesh {
	c := m.Cells
	n := len(m.Points)
	fine := &Mesh{Kind: KindTriangles, Support: Nodes, Gaps: m.Gaps}
	fine.Points = make([]Point, n, n+len(c.Corners))
	weight := make([]float64, len(c.Corners))
	for i := range n {
		ids := c.Polygon(i)
		var mid Point
		for _, k := range ids {
			mid.X += c.Corners[k].X / float64(len(ids))
			mid.Y += c.Corners[k].Y / float64(len(ids))
		}
		fine.Points[i] = mid
		for k := range ids {
			a, b := ids[k], ids[(k+1)%len(ids)]
			area := TriangleArea(mid, c.Corners[a], c.Corners[b])
			if !(area > 0) {
				continue
			}
			weight[a] += area
			weight[b] += area
			fine.Triangles = append(fine.Triangles, int32(i), a+int32(n), b+int32(n))
		}
	}
	fine.Points = append(fine.Points, c.Corners...)
	return nodalMesh{fine, weight}
}

// nodalCellField is the field on the mesh that nodalCells made.
func (m *Mesh) nodalCellField(f []float64) []float64 {
	fine, n := m.nodal.value.mesh, int32(len(m.Points))
	out := make([]float64, len(fine.Points))
	for t := 0; t < len(fine.Triangles); t += 3 {
		w := fine.triangleArea(t) * f[fine.Triangles[t]]
		for _, k := range fine.Triangles[t+1 : t+3] {
			out[k] += w / m.nodal.value.weight[k-n]
		}
	}
	// ∫ over the cell = Σ A_t (centre + a + b)/3 must be f·ΣA_t.
	total, corners := make([]float64, n), make([]float64, n)
	for t := 0; t < len(fine.Triangles); t += 3 {
		i, a := fine.Triangles[t], fine.triangleArea(t)
		total[i] += a
		corners[i] += a * (out[fine.Triangles[t+1]] + out[fine.Triangles[t+2]])
	}
	for i := range n {
		if total[i] > 0 {
			out[i] = 3*f[i] - corners[i]/total[i]
		} else {
			out[i] = f[i]
		}
	}
	return out
}
