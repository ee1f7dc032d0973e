package grid

import "math"

// Gradient gives the derivatives of a nodal field along X and Y at the samples.
//
// On a lattice it is the derivative of the parabola through the sample and its
// two neighbours on the line (second order), or the slope to the one neighbour
// that is present (first order), or NaN where none is. On triangles it is the
// mean of the triangles' slopes round the sample, weighted with their areas
// (Green–Gauss; first order at least); NaN for a sample in no triangle. For cells
// the centres are used as nodes. f must have one value a sample.
func (m *Mesh) Gradient(f []float64) (dx, dy []float64) {
	if len(f) != len(m.Points) {
		panic("grid: field and samples differ in number")
	}
	if m.Kind == KindLattice {
		return m.Lattice.gradient(f)
	}
	t, g := m, f
	if m.Kind == KindCells {
		t, g = m.Nodal(f)
	}
	n := len(f)
	dx, dy = make([]float64, n), make([]float64, n)
	for k := 0; k < len(t.Triangles); k += 3 {
		i := [3]int32(t.Triangles[k : k+3])
		a, b, c := t.Points[i[0]], t.Points[i[1]], t.Points[i[2]]
		fa, fb, fc := g[i[0]], g[i[1]], g[i[2]]
		// slope × 2·area
		gx := fa*(b.Y-c.Y) + fb*(c.Y-a.Y) + fc*(a.Y-b.Y)
		gy := fa*(c.X-b.X) + fb*(a.X-c.X) + fc*(b.X-a.X)
		for _, s := range i {
			if int(s) < n {
				dx[s] += gx
				dy[s] += gy
			}
		}
	}
	// Twice the area of the triangles round a sample is six times its share of it.
	area := t.NodeArea()
	for s := range dx {
		dx[s] /= 6 * area[s]
		dy[s] /= 6 * area[s]
	}
	return dx, dy
}

// Curl is ∂w/∂X − ∂v/∂Y of a flow (v, w) at the samples, by Gradient's rules.
func (m *Mesh) Curl(v, w []float64) []float64 {
	if l := m.Lattice; m.Kind == KindLattice {
		nx, out := len(l.X), make([]float64, len(v))
		for k, s := range l.Index {
			if s >= 0 {
				out[s] = slope(w, l.Index, l.X, k, k%nx, 1) - slope(v, l.Index, l.Y, k, k/nx, nx)
			}
		}
		return out
	}
	out, _ := m.Gradient(w)
	_, vy := m.Gradient(v)
	for i, d := range vy {
		out[i] -= d
	}
	return out
}

func (l *Lattice) gradient(f []float64) (dx, dy []float64) {
	dx, dy = make([]float64, len(f)), make([]float64, len(f))
	nx := len(l.X)
	for k, s := range l.Index {
		if s >= 0 {
			dx[s] = slope(f, l.Index, l.X, k, k%nx, 1)
			dy[s] = slope(f, l.Index, l.Y, k, k/nx, nx)
		}
	}
	return dx, dy
}

// slope is the derivative along one line of a lattice at place k, which is entry
// i of the lines a; neighbours are step places away.
func slope(f []float64, index []int32, a []float64, k, i, step int) float64 {
	lo, hi := int32(-1), int32(-1)
	if i > 0 {
		lo = index[k-step]
	}
	if i < len(a)-1 {
		hi = index[k+step]
	}
	here := f[index[k]]
	switch {
	case lo >= 0 && hi >= 0:
		h0, h1 := a[i]-a[i-1], a[i+1]-a[i]
		s0, s1 := (here-f[lo])/h0, (f[hi]-here)/h1
		return (s0*h1 + s1*h0) / (h0 + h1)
	case hi >= 0:
		return (f[hi] - here) / (a[i+1] - a[i])
	case lo >= 0:
		return (here - f[lo]) / (a[i] - a[i-1])
	}
	return math.NaN()
}
