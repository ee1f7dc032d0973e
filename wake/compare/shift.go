package compare

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// shift is the move of the weighted centroid over a part of the common mesh, with
// its budget: the sampling, what a change of the weight's zero level (anchored on
// the edge, or not) does to it, and the stated inputs. nil when either wake has no centroid.
func (c *comparing) shift(sb *side, region int, box *grid.Box, a, b *measure.Wake, side string) *Shift {
	if a == nil || b == nil || a.Centroid == nil || b.Centroid == nil {
		return nil
	}
	sa := c.sides[0]
	s := &Shift{Weight: b.Weight, Centroid: [2]float64{b.Centroid[0] - a.Centroid[0], b.Centroid[1] - a.Centroid[1]}}
	items := append(c.between(sa, sb, sa.moving(a), sb.moving(b), func(m *measure.Measurement, d []float64) []uncertainty.Item {
		return append(measure.NewScatter(m.Plane.Mesh, d).Straight(quad.NewWeights(m.Plane.Mesh, box), m.Scale), m.WithoutSamples(box, d)...)
	}), uncertainty.HalfWidth("zero level of the weight", relevelled(sa, sb, box)-s.Centroid[0]))
	if a.Spread != nil && b.Spread != nil {
		items = append(items, c.opt.Measure.Uncertainty.PlaceItems(math.Max(a.Spread[0], b.Spread[0]), 2)...)
	}
	// A move is that over each plane's own samples, and holds the one over those that both have.
	common := s.Centroid[0]
	if !c.joined && region != measure.Whole {
		x, y := sa.all.Regions[region].Centroid, sb.all.Regions[region].Centroid
		if x != nil && y != nil && math.Abs(y[0]-x[0]-common) > 1e-9 {
			s.Centroid = [2]float64{y[0] - x[0], y[1] - x[1]}
			items = append(items, c.ownItem(common, s.Centroid[0])...)
		}
	}
	bud, decided := c.budget(sa, sb, sa.Layout.Centroid(region, 0), s.Centroid[0], items)
	s.LengthBudget, s.Judgement = uncertainty.LengthBudget(bud), decided
	if side != "" {
		in, both := inboard(s.Centroid[0], side), inboard(common, side)
		if s.Inboard = &in; both != in {
			s.CommonInboard = &both
		}
	}
	c.fourWays(s, common, sb, region, box, side)
	return s
}

// moving is (y − ȳ)w/∫w: the centroid moves by the integral of what changes in it.
func (s *side) moving(w *measure.Wake) []float64 {
	points := s.Plane.Mesh.Points
	return grid.Fill(len(points), func(i int) float64 { return (points[i].X - w.Centroid[0]) * s.Weight[i] / w.Integral })
}

// inboard turns a move to the right into one toward the centre plane.
func inboard(dy float64, side string) float64 {
	if side == "right" {
		return -dy
	}
	return dy
}

// relevelled is the lateral move when each weight is counted from the other zero:
// from the edge where the reference is not anchored, from the nominal pt∞ where
// it is. NaN never comes out: without a centroid the move is as it was.
func relevelled(a, b *side, box *grid.Box) float64 {
	at := func(ms *side) float64 {
		level := ms.Level
		if a := ms.Result.Reference.Anchor; a.Kind == "edge" {
			level = a.ShiftPa / ms.Result.Reference.Dynamic
		}
		w := grid.Fill(len(ms.Weight), func(i int) float64 { return ms.Weight[i] - level })
		return quad.NewMoments(ms.Plane.Mesh, box, w).Centroid().X
	}
	d := at(b) - at(a)
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return 0
	}
	return d
}
