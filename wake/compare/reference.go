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

// leastApart is the difference of two edges' total pressures, as a part of q, that is let pass as
// the rounding of files and the tail of a wake.
const leastApart = 2e-4

// reference says of the items of a difference between the two of a pair how they hold
// the reference, where nothing is stated of it and no instrument's log tells of it.
//
// One reference for both, as a solver imposes one inflow on all, cancels; unless the total
// pressures beside the two wakes differ by more than they scatter by along the edges: then the
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

// ownReferences reports whether the two are measured with references of their own.
func ownReferences(sa, sb *side) bool {
	a, b := sa.By.Reference, sb.By.Reference
	return a.Speed != b.Speed || a.Density != b.Density || a.Pressure != b.Pressure ||
		a.TotalPressure != b.TotalPressure && !(math.IsNaN(a.TotalPressure) && math.IsNaN(b.TotalPressure))
}

// edgesApart is the difference of the mean losses of total pressure beside the two wakes, the
// second's less the first's, and whether it is more than the scatter along the edges.
func edgesApart(a, b *side) (d float64, apart bool) {
	d = b.Beside[0] - a.Beside[0]
	return d, math.Abs(d) > math.Max(leastApart, math.Hypot(a.Beside[1], b.Beside[1]))
}

// doubtReferences warns where one reference is shared by planes that had not one inflow.
func (c *comparing) doubtReferences() {
	base := c.sides[0]
	for _, m := range c.sides[1:] {
		d, apart := edgesApart(base, m)
		if !apart || ownReferences(base, m) {
			continue
		}
		q := m.Result.Reference.Dynamic
		c.out.Warnings = append(c.out.Warnings, wake.Warning{
			Code: "references-differ", Where: m.own.Plane.Name(),
			Text: fmt.Sprintf("the total pressure on the open edge is %.3g Pa (%.2g %% of q) from the baseline's, and scatters by %.2g %% along the edges: the two did not have one inflow. "+
				"One reference for both makes %.2g m² of drag area out of it, and no difference is judged", -d*q, 100*math.Abs(d), 100*math.Hypot(base.Beside[1], m.Beside[1]), math.Abs(d)*m.Result.Mesh.Area*m.Scale),
			Cure: "give each its own reference: reference = { pressure = … } or { plane = \"inlet.csv\" } in a study, --pressure or --reference once for each file in compare; or anchor both with --anchor edge",
		})
	}
}
