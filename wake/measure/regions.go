package measure

import (
	"strconv"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

// boxes are those of the areas above thresholds: nil for the whole, then the regions'.
func (m *station) boxes() []*grid.Box {
	out := make([]*grid.Box, 1+len(m.opt.Regions))
	for k := range m.opt.Regions {
		out[k+1] = &m.opt.Regions[k].Box
	}
	return out
}

// region measures the box of region k with elements clipped at its border, with the areas above
// the thresholds, and its drag where one is claimed from the plane.
func (m *station) region(k int, drag bool, areas []float64) Region {
	b, part := &m.opt.Regions[k], m.parts[k]
	r := Region{Name: b.Name, Side: b.Side, Box: windowOf(b.Box), Area: m.scale * part.Area()}
	if r.Area == 0 {
		return r
	}
	if drag && m.flow.momentum() {
		t, total := m.terms(part)
		r.DragArea, r.Cd, r.Terms = &total, m.coefficient(total), &t
	}
	r.Wake = m.shape(part, quad.NewMoments(m.mesh, &b.Box, m.weight), areas)
	r.Centroid = r.Wake.Centroid
	return r
}

// minus is t − o.
func (t Terms) minus(o *Terms) Terms {
	t.TotalPressure, t.Axial, t.Crossflow = t.TotalPressure-o.TotalPressure, t.Axial-o.Axial, t.Crossflow-o.Crossflow
	if o.Turbulence != nil {
		t.Turbulence = new(*t.Turbulence - *o.Turbulence)
	}
	return t
}

// rest is what of the plane the regions leave, where they do not overlap.
func (m *station) rest(n *numbers) *Region {
	rest := Region{Name: "rest", Box: windowOf(m.window), Area: m.scale * m.area}
	total, terms := n.total, n.terms
	for _, r := range n.regions {
		rest.Area -= r.Area
		if r.DragArea != nil {
			total, terms = total-*r.DragArea, terms.minus(r.Terms)
			rest.DragArea, rest.Cd, rest.Terms = &total, m.coefficient(total), &terms
		}
	}
	return &rest
}

// regions adds the regions with their doubts and budgets, and the rest.
func (m *measuring) regions(n *numbers) {
	overlap := false
	for k := range n.regions {
		b, part, r := &m.opt.Regions[k], m.parts[k], n.regions[k]
		if r.Area > 0 && !m.window.ContainsBox(b.Box) {
			m.warn("region-outside", "survey a wider plane or move the box", "region %q reaches out of the window; the part inside is measured", b.Name)
		}
		for _, c := range m.opt.Regions[:k] {
			overlap = overlap || b.Box.Intersect(c.Box).Area() > 0
		}
		if r.Area == 0 {
			m.warn("region-empty", "move the box into the window", "region %q holds no samples", b.Name)
		}
		if r.DragArea != nil {
			r.Uncertainty.DragArea = m.regionBudget(b, part, part.Area(), *r.DragArea)
		}
		if r.Centroid != nil {
			r.Uncertainty.Centroid = m.centroidBudget(&b.Box, part, r.Wake)
		}
		m.Result.Regions = append(m.Result.Regions, r)
	}
	switch {
	case len(n.regions) == 0:
	case overlap:
		m.warn("regions-overlap", "use boxes that do not overlap to have the rest", "some regions overlap, so they do not add up and no rest is given")
	default:
		m.Result.Rest = m.rest(n)
	}
}

// regionBudget is that of the local drag over a part of the plane.
func (m *measuring) regionBudget(box *Box, part quad.Weights, area, drag float64) *uncertainty.Budget {
	b := uncertainty.NewBudget(append(m.localScatter().Items(part, m.scale),
		uncertainty.HalfWidth("edge residual over the region", m.scale*m.Result.Edge.Beside*area))...)
	return m.uncovered(b, &box.Box, "region "+strconv.Quote(box.Name), drag, m.flow.local)
}
