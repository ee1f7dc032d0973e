package report

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"wakeledger/wake/survey/rake"
)

// Rakes are reduced logs of rakes.
type Rakes []*rake.Result

// Text tells what became of each log: rows, tubes and corrections, and with all what each of these
// changes and the integrals.
func (rs Rakes) Text(w io.Writer, all bool) error {
	var s sheet
	for _, r := range rs {
		s.rakeHead(r)
		t := rakeTable(r)
		s.para(t.Foot, 2)
		s.table("", t)
		if all {
			s.table("What each correction changes: the result with it less the result without", rakeWorth(r))
		}
		s.rakeTubes(r)
		if all {
			s.rakeLines(r.Lines)
		}
		s.notes.marks(r.Warnings)
	}
	s.putNotes(true)
	return s.print(w)
}

// rakeHead says what the log holds.
func (s *sheet) rakeHead(r *rake.Result) {
	s.section("rake "+clean(r.Log), "=")
	if r.Title != "" {
		s.para(clean(r.Title), 0)
	}
	text := fmt.Sprintf("U = %.5g m/s", r.Reference.Speed)
	if q := r.Reference.Dynamic; q != nil {
		text += fmt.Sprintf(", q = %.5g Pa", *q)
	}
	velocity := "velocity components from the probe"
	if r.Velocity == "speed" {
		velocity = "velocity is |V|, the flow angles are not known"
	}
	s.para(fmt.Sprintf("%s; %s; %d positions, %d of them repeated; layout %s.", text, velocity, r.Rows.Places, r.Rows.Repeated, clean(r.Layout)), 0)
}

// rakeWorth is the table of what each correction changes.
func rakeWorth(r *rake.Result) *Table {
	what, scale, decimals := "Jones, m²", 1.0, 5
	if len(r.Lines) > 0 && r.Lines[0].Cd != nil {
		what = "c_d at " + Place("x", r.Lines[0].Position)
	} else if len(r.Lines) > 0 {
		what, scale, decimals = "Jones at "+Place("x", r.Lines[0].Position)+", mm", 1000, 4
	}
	t := NewTable("correction", ">"+what, ">%")
	for _, w := range r.Worth {
		change := cmp.Or(w.Line, w.DragArea)
		t.Add(string(w.Name), known(change, scale, signed, decimals), known(w.Percent, 1, signed, 2))
	}
	return t
}

// rakeTubes is the table of the tubes.
func (s *sheet) rakeTubes(r *rake.Result) {
	t := NewTable("tube", "kind", "state", "treated", ">zero, Pa", ">drift, Pa", ">spread, q", ">off neighbours, %", ">lag")
	for _, v := range r.Tubes {
		t.Add(clean(v.Name), string(v.Kind), v.State, v.Treated, signed(v.Zero, 2), known(v.Drift, 1, signed, 2), known(v.Spread, 1, fixed, 4), known(v.Odd, 100, fixed, 0), known(v.Lag, 1, fixed, 3))
	}
	s.table("Tubes", t)
}

// rakeLines says what traverses hold, per span over q, of drags and of the wake's shape.
func (s *sheet) rakeLines(lines []rake.LineResult) {
	if len(lines) == 0 {
		return
	}
	mm := func(x float64) string { return fixed(1000*x, 3) }
	drags := NewTable(">x, m", ">points", ">Jones, mm", ">u, mm", ">Betz, mm", ">Squire-Young, mm", ">velocity only, mm", ">c_d", ">u(c_d)")
	shape := NewTable(">x, m", ">theta, mm", ">delta*, mm", ">H", ">half-width, mm", "edges, m")
	for _, l := range lines {
		edges, cd := "not reached", ""
		if l.Edges != nil {
			edges = fmt.Sprintf("%s to %s", fixed(l.Edges[0], 4), fixed(l.Edges[1], 4))
		}
		if l.Chord != nil {
			cd = fmt.Sprintf("%.2g", l.Standard / *l.Chord)
		}
		x := short(l.Position)
		drags.Add(x, fmt.Sprint(l.Points), mm(l.Jones), fmt.Sprintf("%.2g", 1000*l.Standard), mm(l.Betz), known(l.SquireYoung, 1000, fixed, 3), mm(l.VelocityOnly), known(l.Cd, 1, fixed, 5), cd)
		shape.Add(x, mm(l.Momentum), mm(l.Displacement), known(l.Shape, 1, fixed, 3), known(l.HalfWidth, 1000, fixed, 2), edges)
	}
	var items []string
	for _, it := range lines[0].Items {
		items = append(items, fmt.Sprintf("%s %.2g", it.Name, 1000*it.Standard))
	}
	s.table("Lines, drag per span over q", drags)
	s.table("Lines, thicknesses and edges", shape)
	s.para(fmt.Sprintf("Pressure: %s. u is the standard uncertainty of Jones, mm, for the first line from %s. The velocity-only figure is no drag where the pressure is not that of the stream.", lines[0].Pressure, strings.Join(items, ", ")), 2)
}
