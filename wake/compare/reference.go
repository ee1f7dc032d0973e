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
	if _, apart := edgesApart(a, b); apart {
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

// edgesApart is how the edges beside the two wakes differ (measure.EdgesApart); apart where the level
// is more than three times its scatter and partOfDrag of the drag, or of the wake where a plane has
// no drag.
func edgesApart(a, b *side) (d measure.Apart, apart bool) {
	if ownReferences(a, b) {
		return d, false
	}
	d = measure.EdgesApart(a.Measurement, b.Measurement)
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
		c.out.Warnings = append(c.out.Warnings, wake.Warning{
			Code: "references-differ", Where: m.own.Plane.Name(),
			Text: fmt.Sprintf("the total pressure on the open edge is %.3g Pa (%.2g %% of q) from the baseline's, and scatters by %.2g %% of q along the edges: the two did not have one inflow. "+
				"One reference for both makes %.2g m² of drag area out of it, and no difference is judged", -d.Level*q, 100*math.Abs(d.Level), 100*d.Scatter, math.Abs(d.Level)*m.Result.Mesh.Area*m.Scale),
			Cure: "give each its own reference: reference = { pressure = … } or { plane = \"inlet.csv\" } in a study, --pressure or --reference once for each file in compare; or anchor both with --anchor edge",
		})
	}
}
