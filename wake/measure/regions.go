package measure

import (
	"math"
	"strconv"

	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

// regions measures each box with elements clipped at its border, and the rest of
// the plane where the boxes do not overlap.
func (m *measuring) regions() {
	if m.weight == nil || len(m.opt.Regions) == 0 {
		return
	}
	overlap := false
	var sum struct {
		terms   Terms
		drag    float64
		area    float64
		tu      float64
		present bool
	}
	for k, b := range m.opt.Regions {
		if !m.window.ContainsBox(b.Box) {
			m.warn("region-outside", "survey a wider plane or move the box", "region %q reaches out of the window; the part inside is measured", b.Name)
		}
		for _, c := range m.opt.Regions[:k] {
			overlap = overlap || b.Box.Intersect(c.Box).Area() > 0
		}
		r := m.region(b, m.parts[k])
		m.out.Regions = append(m.out.Regions, r)
		sum.area += r.Area
		if r.DragArea != nil {
			sum.present = true
			sum.drag += *r.DragArea
			sum.terms.TotalPressure += r.Terms.TotalPressure
			sum.terms.Axial += r.Terms.Axial
			sum.terms.Crossflow += r.Terms.Crossflow
			if r.Terms.Turbulence != nil {
				sum.tu += *r.Terms.Turbulence
			}
		}
	}
	if m.opt.bare {
		return
	}
	if overlap {
		m.warn("regions-overlap", "use boxes that do not overlap to have the rest", "some regions overlap, so they do not add up and no rest is given")
		return
	}
	rest := Region{Name: "rest", Area: m.scale*m.area - sum.area, Box: m.out.Window}
	if sum.present {
		t, total := m.terms(m.whole)
		d := total - sum.drag
		rest.DragArea, rest.Cd = &d, m.coefficient(d)
		rest.Terms = &Terms{
			TotalPressure: t.TotalPressure - sum.terms.TotalPressure,
			Axial:         t.Axial - sum.terms.Axial,
			Crossflow:     t.Crossflow - sum.terms.Crossflow,
		}
		if t.Turbulence != nil {
			tu := *t.Turbulence - sum.tu
			rest.Terms.Turbulence = &tu
		}
	}
	m.out.Rest = &rest
}

func (m *measuring) region(b Box, part quad.Weights) Region {
	r := Region{
		Name: b.Name, Side: b.Side,
		Box: Window{Y: [2]float64{b.Box.Min.X, b.Box.Max.X}, Z: [2]float64{b.Box.Min.Y, b.Box.Max.Y}},
	}
	area := part.Area()
	r.Area = m.scale * area
	if area == 0 {
		m.warn("region-empty", "move the box into the window", "region %q holds no samples", b.Name)
		return r
	}
	if m.flow.momentum() && m.out.Drag != nil {
		t, total := m.terms(part)
		r.DragArea, r.Cd, r.Terms = &total, m.coefficient(total), &t
		if !m.opt.bare {
			r.Uncertainty.DragArea = m.regionBudget(&b, part, area, total)
		}
	}
	r.Wake = measureShape(m.plane.Mesh, &b.Box, part, quad.NewMoments(m.plane.Mesh, &b.Box, m.weight), m.weight, m.opt.Weight, m.axial(), m.opt.Thresholds, m.scale)
	r.Centroid = r.Wake.Centroid
	if r.Centroid != nil && !m.opt.bare {
		r.Uncertainty.Centroid = m.centroidBudget(&b.Box, part, r.Wake)
	}
	return r
}

// regionBudget is that of the local drag over a part of the plane.
func (m *measuring) regionBudget(box *Box, part quad.Weights, area, drag float64) *uncertainty.Budget {
	b := uncertainty.NewBudget(append(m.localScatter().Items(part, m.scale),
		uncertainty.Item{Name: "edge residual over the region", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: m.scale * math.Abs(m.out.Edge.Residual) * area / math.Sqrt(3), Distribution: uncertainty.Rectangular})...)
	b = b.With(m.uncovered(&box.Box, "region "+strconv.Quote(box.Name), drag, m.flow.local)...)
	return &b
}
