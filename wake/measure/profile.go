package measure

import (
	"gonum.org/v1/gonum/floats"

	"wakeledger/grid/quad"
)

// Profiles say at which height and at which span the drag sits: the local drag
// integrated over strips of the window. It is the share of a strip in the
// integral over the plane, not the drag of the part of the vehicle ahead of it,
// since pressure exchanges momentum between strips.
type Profiles struct {
	// First goes along the plane's first in-plane axis (the span, on a plane
	// normal to x), Second along its second (the height).
	First  Profile `json:"first"`
	Second Profile `json:"second"`
}

// Profile is a drag area per metre in strips between Edges: strip k lies between
// Edges[k] and Edges[k+1], and
//
//	Density[k] = ∫ local drag dS over the strip / (Edges[k+1] − Edges[k]),  m²/m
//
// Σ Density·width is the momentum drag area over the plane.
type Profile struct {
	Edges   []float64 `json:"edges_m"`
	Density []float64 `json:"drag_area_per_m"`
}

// Profiles cuts the window into n equal strips along each in-plane axis, with
// elements clipped exactly at their borders. On a half plane the profile by height
// counts both halves; the profile by span is that of the half that was surveyed.
//
// It is nil where the plane lacks what the local drag needs, and for n < 1.
func (m *Measurement) Profiles(n int) *Profiles {
	if !m.flow.momentum() || n < 1 {
		return nil
	}
	strips := func(first bool, scale float64) (p Profile) {
		b := m.window
		from, to := &b.Min.Y, &b.Max.Y
		if first {
			from, to = &b.Min.X, &b.Max.X
		}
		p.Edges = floats.Span(make([]float64, n+1), *from, *to)
		for k := range n {
			lo, hi := p.Edges[k], p.Edges[k+1]
			*from, *to = lo, hi
			d := quad.NewWeights(m.Plane.Mesh, &b).IntegrateFunc(m.flow.local)
			p.Density = append(p.Density, scale*d/(hi-lo))
		}
		return p
	}
	return &Profiles{First: strips(true, 1), Second: strips(false, m.Scale)}
}
