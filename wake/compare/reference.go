package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

const (
	// leastApart is the difference of two edges' total pressures, as a part of q, that is let pass as
	// the rounding of files.
	leastApart = 2e-4
	// partOfDrag is the part of the drag below which a difference of the edges, over the window, is no
	// other inflow: it is an item then.
	partOfDrag = 0.01
	// ofEdges is the item of what is let pass.
	ofEdges = "edges' total pressures"
)

// reference says of the items of a difference between the two of a pair how they hold
// the reference, where nothing is stated of it and no instrument's log tells of it.
//
// One reference for both, as a solver imposes one inflow on all, cancels; unless the total
// pressures beside the two wakes differ all along the edges, and by enough: then the
// two had not one inflow, and what that makes of a difference is not known. (In a tunnel one
// reference does not cancel; there its uncertainty is stated, or comes with the log.) References
// of their own do not cancel: the uncertainty of both is stated, or known from the plane that each was
// taken from. What is known of one says nothing of the other.
func reference(a, b *side, items []uncertainty.Item) []uncertainty.Item {
	declare := func(how, why string) []uncertainty.Item {
		return append(items, uncertainty.Declared(uncertainty.Reference, how, why))
	}
	inflow := func(of func(uncertainty.Item) bool) bool {
		return slices.ContainsFunc(items, func(it uncertainty.Item) bool {
			return it.Category == uncertainty.Reference && ofInflow(it.Name) && of(it)
		})
	}
	own := ownReferences(a, b)
	_, apart := edgesApart(a, b)
	switch {
	// What is stated of one reference for both cancels too, and holds nothing of edges that differ.
	// Of own references what is stated, or an inlet tells, is in the limit of apart.
	case apart && !inflow(func(it uncertainty.Item) bool {
		return it.Kind == uncertainty.Independent && it.Standard > 0 && (!own || strings.HasSuffix(it.Name, wake.FromLog))
	}):
		return declare(uncertainty.Unknown, "the edges' total pressures differ")
	case a.tellsInflow() != b.tellsInflow():
		return declare(uncertainty.Unknown, "it is known of one of the two alone")
	case own && inflow(func(it uncertainty.Item) bool { return it.How != uncertainty.Unknown }):
		return items
	case own && a.By.ReferenceBy != "" && b.By.ReferenceBy != "":
		return declare(uncertainty.Estimated, "each from a uniform plane")
	case own:
		return declare(uncertainty.Unknown, "each has its own reference, with no uncertainty stated")
	case apart || uncertainty.StateOf(uncertainty.Reference, items).How != uncertainty.Unknown:
		return items
	}
	return declare(uncertainty.Absent, "one reference for both")
}

// ofInflow says whether an input or an error of the given name is of speed, density or pressures; a place is not.
func ofInflow(name string) bool {
	return strings.HasPrefix(name, measure.OfReference) || strings.HasSuffix(name, wake.FromLog)
}

// tellsInflow reports whether it is known what the reference and the instruments of the plane are off by.
func (s *side) tellsInflow() bool {
	return s.By.ReferenceBy != "" || slices.ContainsFunc(s.Responses, func(r measure.Response) bool { return ofInflow(r.Name) })
}

// edgeStandard is what the reference makes uncertain of a loss of total pressure beside the wake, where
// u ≈ U and p ≈ p∞.
func (s *side) edgeStandard() float64 {
	u, ref := &s.By.Uncertainty, &s.By.Reference
	return math.Hypot(math.Hypot(u.Pressure, u.TotalPressure)/ref.Dynamic(), 2*u.Speed/ref.Speed)
}

// ownReferences reports whether the two are measured with references of their own, with other numbers or
// the same.
func ownReferences(sa, sb *side) bool {
	a, b := sa.By.Reference, sb.By.Reference
	return sa.By.Uncertainty.OwnReference || sb.By.Uncertainty.OwnReference || a.Speed != b.Speed || a.Density != b.Density || a.Pressure != b.Pressure ||
		a.TotalPressure != b.TotalPressure && !(math.IsNaN(a.TotalPressure) && math.IsNaN(b.TotalPressure))
}

// edgesApart is how the edges beside the two wakes differ (measure.EdgesApart); apart where the level
// is more than three times its scatter and partOfDrag of the drag, or of the wake where a plane has
// no drag. Of references of their own the scatter holds what is known of these as well; those that come from
// a plane of the inflow of each are taken as they are.
func edgesApart(a, b *side) (d measure.Apart, apart bool) {
	own := ownReferences(a, b)
	if own && a.By.ReferenceBy != "" && b.By.ReferenceBy != "" && a.By.ReferenceBy != b.By.ReferenceBy {
		return d, false
	}
	d = measure.EdgesApart(a.Measurement, b.Measurement)
	if own {
		u := math.Hypot(a.edgeStandard(), b.edgeStandard())
		d.Scatter = math.Hypot(d.Scatter, u)
		d.Beyond[0] = math.Copysign(math.Sqrt(math.Max(0, d.Beyond[0]*d.Beyond[0]-4*u*u)), d.Level)
	}
	drag := a.Values[a.Layout.Drag(measure.Whole)]
	if math.IsNaN(drag) && a.Result.Wake != nil {
		drag = a.Result.Wake.Integral
	}
	least := math.Max(leastApart, partOfDrag*math.Abs(drag)/(a.Result.Mesh.Area*a.Scale))
	return d, math.Abs(d.Level) > math.Max(least, 3*d.Scatter)
}

// doubtReferences warns where one reference is shared by planes that had not one inflow. What is
// less than that, or a tilt, may be the reference or the flow: an error of the pressures that is anywhere
// up to it goes into the budgets.
func (c *comparing) doubtReferences() {
	base := c.sides[0]
	for _, m := range c.sides[1:] {
		d, apart := edgesApart(base, m)
		if apart {
			d.Beyond[0] = 0
		}
		if d.Beyond != [3]float64{} {
			m.Responses = append(slices.Clip(m.Responses), m.OffReference(ofEdges, d.Beyond))
		}
		if !apart {
			continue
		}
		q := m.Result.Reference.Dynamic
		w := wake.Doubt("references-differ", m.own.Plane.Name(), "give each its own reference: reference = { pressure = … } or { plane = \"inlet.csv\" } in a study, --pressure or --reference once for each file in compare; or anchor both with --anchor edge",
			"the total pressure on the open edge is %.3g Pa (%.2g %% of q) from the baseline's, and scatters by %.2g %% of q along the edges: the two did not have one inflow. "+
				"One reference for both makes %.2g m² of drag area out of it, and no difference is judged", -d.Level*q, 100*math.Abs(d.Level), 100*d.Scatter, math.Abs(d.Level)*m.Result.Mesh.Area*m.Scale)
		if ownReferences(base, m) {
			w.Text = fmt.Sprintf("the loss of total pressure on the open edge, each by its own reference, is %.3g Pa (%.2g %% of q) from the baseline's, and known to u = %.2g %% of q: a reference is off by more than is stated of it. "+
				"That makes %.2g m² of drag area, and no difference is judged", d.Level*q, 100*math.Abs(d.Level), 100*d.Scatter, math.Abs(d.Level)*m.Result.Mesh.Area*m.Scale)
			w.Cure = "read the reference of each from a plane of its inflow: reference = { plane = \"inlet.csv\" } in a study, --reference once for each file in compare; or anchor both with --anchor edge; or state what they are off by"
		}
		c.out.Warnings = append(c.out.Warnings, w)
	}
}
