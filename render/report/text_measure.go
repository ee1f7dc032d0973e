package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// MeasureText writes the results of single surveys as text for a terminal or a
// letter: for each one the verdict, drag by method and term, regions, the shape
// of the wake, the uncertainty budget, what it all rests on; at the end the notes
// of all.
//
// Unless it is to be full, the verdict, drag by method, regions and a line for each kind
// of note. A count above 0 is the size in C_D that the drag is given in besides.
func MeasureText(w io.Writer, results []*measure.Result, full bool, count float64) error {
	var s sheet
	for _, r := range results {
		s.survey(r, full, count)
	}
	s.putNotes(full)
	return s.print(w)
}

// survey prints one result.
func (s *sheet) survey(r *measure.Result, full bool, count float64) {
	s.section(clean(r.File)+", plane "+Place(r.Station.Normal, r.Station.Position), "=")
	doubts := r.Warnings
	if !full { // the verdict says these
		doubts = slices.DeleteFunc(slices.Clone(doubts), func(w wake.Warning) bool { return w.Code == "cuts-body" || w.Code == "not-cross-flow" })
	}
	s.para(strings.TrimSpace(verdictOf(r, count)+" "+s.notes.marks(doubts)), 0)
	s.table("Drag by method, m² of drag area", dragTable(r, full))
	if !full {
		s.table("Regions", regionTable(r))
		return
	}
	if r.Tare != nil {
		s.table("Tare, m²", tareTable(r))
	}
	if d := r.Drag; d != nil && d.Yaw != nil {
		s.table(fmt.Sprintf("Forces at %s° of yaw, m² (momentum integral; ± sampling)", short(d.Yaw.Angle)), yawTable(d.Yaw))
	}
	if e := r.Drag; e != nil && e.Energy != nil {
		s.table("Mechanical energy, m²", energyTable(e.Energy, expandedOf(r.Uncertainty.DragArea)))
	}
	s.table("Regions", regionTable(r))
	s.tables(6, partTable(r, ""))
	s.wakeShape(r)
	if u := r.Uncertainty.DragArea; u != nil {
		s.tables(2, budgetTable("Uncertainty of the drag area, m²", u))
	}
	if c := r.Uncertainty.Centroid; c != nil {
		a, b := planeAxes(r.Station.Normal)
		s.tables(2, budgetTable("Uncertainty of the centroid in "+a+", m", &c[0]), budgetTable("Uncertainty of the centroid in "+b+", m", &c[1]))
	}
	s.tables(6, basisTable(r))
}

// tareTable is what taking the empty section off comes to.
func tareTable(r *measure.Result) *Table {
	t := r.Tare
	g := NewTable("with the empty section "+clean(t.File)+" taken off", ">drag area", "remark")
	dec := decimalsFor(expandedOf(r.Uncertainty.DragArea), areaDecimals)
	g.Add("empty section", fixed(t.Empty, dec))
	g.Add("difference of the integrals", fixed(t.DragArea, dec), "the drag")
	g.Add("with the local onset as reference", fixed(t.LocalReference, dec), "the other form; "+signed(t.Gap, dec)+" m² apart")
	return g
}

// yawTable has the forces in body and wind axes.
func yawTable(y *measure.YawForces) *Table {
	g := NewTable("axes", "force", ">force over q", ">±", ">coefficient")
	for _, row := range []struct {
		axes, force string
		of          measure.BodyForce
	}{
		{"body", "drag, along x", y.Drag}, {"body", "side force, toward +y", y.Side},
		{"wind", "drag, along the free stream", y.WindDrag}, {"wind", "side force, across it toward +y", y.WindSide},
	} {
		u := row.of.Sampling.Expanded
		g.Add(row.axes, row.force, fixed(row.of.Area, decimalsFor(u, areaDecimals)), expandedText(u, areaDecimals), coefficient(row.of.Cd, &row.of.Area, u, fixed, coeffDecimals))
	}
	return g
}

// basisTable states what the numbers of one survey rest on.
func basisTable(r *measure.Result) *Table {
	a, b := planeAxes(r.Station.Normal)
	t := &Table{Title: "Basis", Words: true}
	t.heads("what", "is")
	t.Add("reference", referenceWords(r.Reference))
	t.Add("anchor", anchorWords(r.Reference))
	for _, m := range r.Method {
		t.Add(clean(m.Name), clean(m.Value))
	}
	t.Add("samples", fmt.Sprintf("%s used, %s left out or merged, at most %s off the plane", thousands(r.Samples), thousands(r.Rejected), millimetres(r.Station.Scatter)))
	t.Add("mesh", meshWords(r.Mesh))
	t.Add("window", fmt.Sprintf("%s %s, %s %s", a, limits(r.Window.Y), b, limits(r.Window.Z)))
	if r.Edge != nil {
		t.Add("open edge", edgeWords(r.Edge))
	}
	return t
}

// term is a number with its name; nil where there is none.
type term struct {
	name  string
	value *float64
}

// terms adds a row for each number that there is.
func (t *Table) terms(decimals int, list ...term) {
	for _, x := range list {
		if x.value != nil {
			t.Add(x.name, fixed(*x.value, decimals))
		}
	}
}

// dragTable lists the drag by every method that the data allow, with the terms
// of the momentum integral under it if it is to be full.
func dragTable(r *measure.Result, full bool) *Table {
	g := NewTable("method", ">drag area", ">C_D", "remark")
	d := r.Drag
	if d == nil {
		return g
	}
	dec := decimalsFor(expandedOf(r.Uncertainty.DragArea), areaDecimals)
	for _, m := range measure.Methods {
		area, cd, ok := m.Of(d)
		if !ok || m.Key == measure.ByEnergy {
			continue
		}
		g.Add(m.Short, fixed(area, dec), coefficient(cd, &area, expandedOf(r.Uncertainty.DragArea), fixed, coeffDecimals), methodRemark(r, m.Key, m.Deficit, dec))
		switch {
		case !full:
		case m.Key == measure.ByMomentum:
			t := d.Momentum.Terms
			g.terms(dec, term{"  total-pressure loss", &t.TotalPressure}, term{"  axial", &t.Axial}, term{"  cross-flow", &t.Crossflow}, term{"  turbulence", t.Turbulence})
		case m.Key == measure.ByWakeOnly:
			w := d.WakeOnly
			g.Add("  profile", fixed(w.Profile, dec), "", fmt.Sprintf("of the wake, %.3g m²; of the whole plane %s", d.Region.Area, fixed(w.Unmasked, dec)))
			g.terms(dec, term{"  turbulence", w.Turbulence})
			g.Add("  vortex", fixed(w.Vortex, dec), "", w.Boundary)
			if w.WithSource {
				g.Add("  source, less axial", fixed(w.Source+w.Axial, dec))
			}
		}
	}
	return g
}

// methodRemark says how the drag by a method stands to the one that is quoted.
func methodRemark(r *measure.Result, key string, deficit bool, dec int) string {
	d := r.Drag
	switch {
	case key == d.Headline:
		return "quoted"
	case deficit:
		return "a deficit, not a drag"
	case d.Headline == "" && !r.Mesh.CutsBody:
		return "not quoted"
	case key == measure.ByMomentum:
		return "of this window, which does not close"
	case key == measure.ByJones && d.Jones.Invalid > 0:
		return "no meaning over " + percent(d.Jones.Invalid) + " of the wake area"
	case key == measure.ByJones && d.Jones.WithVortex != nil:
		return fixed(*d.Jones.WithVortex, dec) + " with the vortex part"
	}
	return ""
}

func energyTable(e *measure.Energy, expanded float64) *Table {
	g := NewTable("term", ">drag area")
	g.terms(decimalsFor(expanded, areaDecimals), term{"dissipated upstream", &e.Dissipation}, term{"axial kinetic energy", &e.Axial}, term{"cross-flow kinetic energy", &e.Crossflow},
		term{"pressure work", &e.Pressure}, term{"turbulence", e.Turbulence})
	if e.Maturity != nil {
		g.Add("dissipated part", percent(*e.Maturity))
	}
	return g
}

// regionTable lists the named boxes and what is left outside of them.
func regionTable(r *measure.Result) *Table {
	a, b := planeAxes(r.Station.Normal)
	g := NewTable("region", "side", ">drag area m²", ">± m²", ">C_D", ">area m²", ">"+a+" m", ">"+b+" m")
	row := func(n measure.Region, name string) {
		u := expandedOf(n.Uncertainty.DragArea)
		c := centroidCells(n.Centroid, n.Uncertainty)
		g.Add(name, clean(n.Side), optional(n.DragArea, decimalsFor(u, areaDecimals)), expandedText(u, areaDecimals),
			coefficient(n.Cd, n.DragArea, u, fixed, coeffDecimals), fixed(n.Area, areaDecimals), c[0], c[1])
	}
	for _, n := range r.Regions {
		row(n, boxName(n.Name))
	}
	if r.Rest != nil {
		row(*r.Rest, "(rest of the window)")
	}
	return g
}

// centroidCells prints the two places of a centroid; empty for none.
func centroidCells(c *[2]float64, u measure.Uncertainty) (out [2]string) {
	for i := range out {
		d := lengthDecimals
		if u.Centroid != nil {
			d = decimalsFor(u.Centroid[i].Expanded, lengthDecimals)
		}
		if c != nil {
			out[i] = fixed(c[i], d)
		}
	}
	return out
}

// wakeShape prints the metrics of the deficit.
func (s *sheet) wakeShape(r *measure.Result) {
	k := r.Wake
	if k == nil {
		return
	}
	a, b := planeAxes(r.Station.Normal)
	g := NewTable("quantity", "value")
	if k.Centroid != nil {
		c := centroidCells(k.Centroid, r.Uncertainty)
		g.Add("centroid", fmt.Sprintf("%s = %s m, %s = %s m", a, c[0], b, c[1]))
	}
	if k.Spread != nil {
		g.Add("spread (standard deviation)", fmt.Sprintf("%s = %s m, %s = %s m", a, fixed(k.Spread[0], lengthDecimals), b, fixed(k.Spread[1], lengthDecimals)))
	}
	if k.Tilt != nil {
		g.Add("tilt of the long axis", fmt.Sprintf("%s° from %s toward %s", fixed(*k.Tilt, 1), a, b))
	}
	g.Add("integral of the weight, m²", fixed(k.Integral, areaDecimals))
	for i, t := range k.Areas {
		value := fixed(t.Area, areaDecimals) + " m²"
		if i < len(r.Uncertainty.Areas) {
			value = plusMinus(t.Area, r.Uncertainty.Areas[i].Expanded, areaDecimals, "m²")
		}
		g.Add("area above "+short(t.Threshold), value)
	}
	g.terms(areaDecimals, term{"effective area, m²", k.Effective}, term{"displacement area, m²", k.Displacement}, term{"momentum area, m²", k.MomentumArea})
	s.table("Shape of the wake, weight "+clean(k.Weight), g)
}

// budgetTable has contributions and what they come to.
func budgetTable(title string, u *uncertainty.Budget) *Table {
	g := NewTable("contribution", "kind", ">standard", ">if not cancelled")
	// All rows show the digits of the sum, plus one so that small items are seen.
	d := min(decimalsFor(u.Standard, areaDecimals)+1, maxDecimals)
	for _, it := range u.Items {
		if it.Standard == 0 && it.Cancelled == nil {
			continue // told below
		}
		g.Add(clean(it.Name), clean(it.Kind), fixed(it.Standard, d), optional(it.Cancelled, d))
	}
	g.Add("root sum of squares", "", fixed(u.Standard, d))
	g.Add("expanded, "+coverage(u.Coverage, u.DOF), "", fixed(u.Expanded, d))
	foot := stateWords(u)
	if u.MonteCarlo != nil {
		foot = "Monte Carlo: " + clean(u.MonteCarlo.Text) + "\n" + foot
	}
	return g.titled(title, foot).detailed()
}

// stateWords say which categories of errors a budget lacks, and which play no part.
func stateWords(u *uncertainty.Budget) string {
	var out, absent []string
	for _, s := range u.States {
		if s.How == uncertainty.Absent {
			absent = append(absent, uncertainty.Words([]uncertainty.Category{s.Category})+" ("+clean(s.Why)+")")
		}
	}
	for _, it := range u.Items {
		if it.Standard == 0 && it.Cancelled == nil && (it.How == "" || it.How == uncertainty.Estimated || it.How == uncertainty.Stated) {
			absent = append(absent, clean(it.Name))
		}
	}
	if missing := u.Lacking(); missing != "" {
		out = append(out, "not included, unknown: "+missing)
	}
	if absent != nil {
		out = append(out, "without part in it: "+strings.Join(absent, ", "))
	}
	return strings.Join(out, "; ")
}
