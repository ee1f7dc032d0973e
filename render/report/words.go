package report

import (
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// expandedOf is the expanded uncertainty of a budget, 0 for none.
func expandedOf(b *uncertainty.Budget) float64 {
	if b == nil {
		return 0
	}
	return b.Expanded
}

// refusals are the codes of what leaves a plane without a drag.
var refusals = []string{"no-velocity", "flow-reversed", "pressure-unlikely", "speed-unlikely", "negative-drag"}

// verdictOf puts the main result of one survey into a sentence or two.
func verdictOf(r *measure.Result, count float64) string {
	area, cd, ok := r.Drag.Quoted()
	if !ok {
		for _, w := range r.Warnings {
			if slices.Contains(refusals, w.Code) {
				return "No total drag: " + w.Text + "."
			}
		}
		switch {
		case r.Station.Normal == "z":
			return "No drag is claimed from a plane normal to z; a study takes the edges and the width of the wake from it."
		case r.Station.Normal == "y":
			return "No drag is claimed from a plane normal to y."
		case r.Mesh.CutsBody && len(r.Regions) > 0:
			return "No total drag: the plane cuts the body. Its regions are given."
		case r.Mesh.CutsBody:
			return "No total drag: the plane cuts the body; measure regions of it instead."
		}
		return "No total drag is quoted from this plane; the notes say why."
	}
	u := expandedOf(r.Uncertainty.DragArea)
	if r.Drag.Headline == measure.ByVelocityOnly {
		return "Momentum deficit " + plusMinus(area, u, areaDecimals, "m²") + " from velocity alone. It is no drag: the pressure is not known."
	}
	var b strings.Builder
	b.WriteString("Drag area " + plusMinus(area, u, areaDecimals, "m²"))
	if u > 0 {
		d := r.Uncertainty.DragArea
		b.WriteString(" (" + coverage(d.Coverage, d.DOF))
		if missing := d.Lacking(); missing != "" {
			b.WriteString(", without " + missing)
		}
		b.WriteString(")")
	}
	if cd != nil {
		b.WriteString(", C_D " + coefficient(cd, &area, u, fixed, coeffDecimals))
		if count > 0 {
			b.WriteString(" (" + coefficient(new(*cd/count), &area, u, fixed, countDecimals) + fmt.Sprintf(" counts of %g)", count))
		}
	}
	b.WriteString(" by " + measure.MethodOf(r.Drag.Headline).Long + ".")
	if e := r.Edge; e != nil {
		switch {
		case e.Closes:
			b.WriteString(" The window holds the wake")
		case e.Unknown:
			b.WriteString(" Whether the window holds the wake is not known")
		default:
			b.WriteString(" The window does not hold all of the wake")
		}
		if e.Why != "" {
			b.WriteString(": " + typeset(e.Why))
		}
		b.WriteString(".")
	}
	return b.String()
}

// boxName is a region's name in tables, which a part of the wake that lies in its box also has: that
// is the region's wake, and its numbers are of the part alone.
func boxName(region string) string { return clean(region) + " box" }

// planeAxes names the two in-plane axes of a plane.
func planeAxes(normal string) (string, string) {
	if axes, ok := map[string][2]string{"y": {"x", "z"}, "z": {"x", "y"}}[normal]; ok {
		return axes[0], axes[1]
	}
	return "y", "z"
}

// Place is a plane's place in one form for all that is printed: "x = −0.62 m", to a millimetre where
// it has one.
func Place(normal string, x float64) string {
	return clean(normal) + " = " + strings.TrimSuffix(fixed(x, lengthDecimals), "0") + " m"
}

// meshWords describes the mesh.
func meshWords(m measure.MeshInfo) string {
	s := fmt.Sprintf("%s of %s elements over %s m²", clean(m.Kind), thousands(m.Elements), fixed(m.Area, 3))
	if m.Spacing > 0 {
		s += ", spacing " + millimetres(m.Spacing)
	}
	if m.Support != "" {
		s += ", support " + clean(m.Support) + " (by " + clean(m.SupportBy) + ")"
	}
	if m.Holes > 0 {
		s += ", " + wake.Plural(m.Holes, "opening")
	}
	return s
}

// referenceWords states what the coefficients depend on.
func referenceWords(r measure.Reference) string {
	s := fmt.Sprintf("U = %s m/s, ρ = %s kg/m³, p∞ = %s Pa, pt∞ = %s Pa, q = %s Pa",
		short(r.Speed), short(r.Density), short(r.Pressure), short(r.TotalPressure), short(r.Dynamic))
	if r.Area > 0 {
		return s + ", frontal area " + short(r.Area) + " m²"
	}
	return s + ", no frontal area, so no C_D"
}

// anchorWords says how the reference total pressure was tied to the survey.
func anchorWords(r measure.Reference) string {
	s := "the reference total pressure is as stated"
	if r.Anchor.Kind == "edge" {
		s = fmt.Sprintf("the reference total pressure was shifted by %s Pa to the mean of the %s edge samples in the outer flow", signed(r.Anchor.ShiftPa, 3), thousands(r.Anchor.Points))
	}
	if r.Sensitivity == 0 {
		return s
	}
	return s + fmt.Sprintf("; an error of 0.1 %% of q in a reference pressure changes the drag area by %s m² here", fixed(r.Sensitivity, areaDecimals))
}

// edgeWords gives the state of the open border.
func edgeWords(e *measure.Edge) string {
	return fmt.Sprintf("mean local drag %s (sd %s) on %s border samples, at least %s m²; mass defect %s m²; normal velocity %s of U",
		short(e.Residual), short(e.SD), thousands(e.Points), fixed(e.Effect, areaDecimals), fixed(e.MassDefect, areaDecimals), percent(e.Normal))
}
