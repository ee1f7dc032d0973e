package grid

// NodeArea gives, for a mesh of triangles, the integral of each sample's shape
// function: a third of the area of the triangles round it, m²; 0 for a sample in
// none. It is worked out once and shared: read-only.
func (m *Mesh) NodeArea() []float64 {
	return m.nodeArea.get(func() []float64 {
		w, t := make([]float64, len(m.Points)), m.Triangles
		for k := 0; k < len(t); k += 3 {
			a := m.triangleArea(k) / 3
			w[t[k]] += a
			w[t[k+1]] += a
			w[t[k+2]] += a
		}
		return w
	})
}

// triangleArea is that of the triangle at place t of the list.
func (m *Mesh) triangleArea(t int) float64 {
	return TriangleArea(m.Points[m.Triangles[t]], m.Points[m.Triangles[t+1]], m.Points[m.Triangles[t+2]])
}
