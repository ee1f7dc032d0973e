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
// of their own do not cancel: their uncertainty is stated, or known from the plane that each was
// taken from.
func reference(a, b *side, items []uncertainty.Item) []uncertainty.Item {
	declare := func(how, why string) []uncertainty.Item {
		return append(items, uncertainty.Declared(uncertainty.Reference, how, why))
	}
	// inflow reports whether items tell of speed, density or pressures; a place does not.
	inflow := func(of func(uncertainty.Item) bool) bool {
		return slices.ContainsFunc(items, func(it uncertainty.Item) bool {
			return it.Category == uncertainty.Reference && (strings.HasPrefix(it.Name, measure.OfReference) || strings.HasSuffix(it.Name, wake.FromLog)) && of(it)
		})
	}
	if ownReferences(a, b) {
		switch {
		case inflow(func(it uncertainty.Item) bool { return it.How != uncertainty.Unknown }):
			return items
		case a.By.ReferenceBy != "" && b.By.ReferenceBy != "":
			return declare(uncertainty.Estimated, "each from a uniform plane")
		}
		return declare(uncertainty.Unknown, "each has its own reference, with no uncertainty stated")
	}
	if _, _, apart := edgesApart(a, b); apart {
		// What is stated of one reference for both cancels too, and holds nothing of this.
		if inflow(func(it uncertainty.Item) bool { return it.Kind == uncertainty.Independent && it.Standard > 0 }) {
			return items
		}
		return declare(uncertainty.Unknown, "the edges' total pressures differ")
	}
	if uncertainty.StateOf(uncertainty.Reference, items).How != uncertainty.Unknown {
		return items
	}
	return declare(uncertainty.Absent, "one reference for both")
}

// ownReferences reports whether the two are measured with references of their own, with other numbers or
// the same.
func ownReferences(sa, sb *side) bool {
	a, b := sa.By.Reference, sb.By.Reference
	return sa.By.Uncertainty.OwnReference || sb.By.Uncertainty.OwnReference || a.Speed != b.Speed || a.Density != b.Density || a.Pressure != b.Pressure ||
		a.TotalPressure != b.TotalPressure && !(math.IsNaN(a.TotalPressure) && math.IsNaN(b.TotalPressure))
}

// edgesApart is the mean difference of the losses of total pressure beside the two wakes, the
// second's less the first's, and its scatter (measure.EdgesApart); apart where it is more than
// three times that and partOfDrag of the drag, or of the wake where a plane has no drag.
func edgesApart(a, b *side) (d, scatter float64, apart bool) {
	if ownReferences(a, b) {
		return 0, 0, false
	}
	d, scatter = measure.EdgesApart(a.Measurement, b.Measurement)
	drag := a.Values[a.Layout.Drag(measure.Whole)]
	if math.IsNaN(drag) && a.Result.Wake != nil {
		drag = a.Result.Wake.Integral
	}
	least := math.Max(leastApart, partOfDrag*math.Abs(drag)/(a.Result.Mesh.Area*a.Scale))
	return d, scatter, math.Abs(d) > math.Max(least, 3*scatter)
}

// doubtReferences warns where one reference is shared by planes that had not one inflow. What is
// less than that, and more than twice its scatter, may be the reference or the flow: an error of
// the reference that is anywhere up to it goes into the budgets.
func (c *comparing) doubtReferences() {
	base := c.sides[0]
	for _, m := range c.sides[1:] {
		d, scatter, apart := edgesApart(base, m)
		if off := d*d - 4*scatter*scatter; !apart && off > 0 {
			m.Responses = append(slices.Clip(m.Responses), m.OffReference(ofEdges, math.Sqrt(off)))
		}
		if !apart {
			continue
		}
		q := m.Result.Reference.Dynamic
		c.out.Warnings = append(c.out.Warnings, wake.Warning{
			Code: "references-differ", Where: m.own.Plane.Name(),
			Text: fmt.Sprintf("the total pressure on the open edge is %.3g Pa (%.2g %% of q) from the baseline's, and scatters by %.2g %% of q along the edges: the two did not have one inflow. "+
				"One reference for both makes %.2g m² of drag area out of it, and no difference is judged", -d*q, 100*math.Abs(d), 100*scatter, math.Abs(d)*m.Result.Mesh.Area*m.Scale),
			Cure: "give each its own reference: reference = { pressure = … } or { plane = \"inlet.csv\" } in a study, --pressure or --reference once for each file in compare; or anchor both with --anchor edge",
		})
	}
}
