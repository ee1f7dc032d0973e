package grid

// NodeArea gives, for a mesh of triangles, the integral of each sample's shape
// function: a third of the area of the triangles round it, m²; 0 for a sample in
// none. It is worked out once and shared: read-only.
func (m *Mesh) NodeArea() []float64 {
	m.nodeArea.once.Do(func() {
		w := make([]float64, len(m.Points))
		t := m.Triangles
		for k := 0; k < len(t); k += 3 {
			a := TriangleArea(m.Points[t[k]], m.Points[t[k+1]], m.Points[t[k+2]]) / 3
			w[t[k]] += a
			w[t[k+1]] += a
			w[t[k+2]] += a
		}
		m.nodeArea.value = w
	})
	return m.nodeArea.value
}
