package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/shift"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// finding is a verdict in words and what it is about.
type finding struct{ Where, Verdict, Text string }

// Words are those beside the verdict.
func (f finding) Words() string {
	if f.Verdict == "" {
		return f.Where + f.Text
	}
	return f.Where + strings.Replace(f.Text, ": "+f.Verdict, "", 1)
}

// findings are the verdicts on one configuration: on the drag and on how far the parts of its wake moved, the others, and
// a table of changes and moves.
type findings struct {
	Name, Size  string
	Marks       []int
	Brief, More []finding
	Rows        *Table
}

// studyFindings collects the verdicts by configuration, in the order of the study: in words at the quoted station, and
// for the parts of the wake at the foremost, and a table for all stations and regions. Configurations that take part in
// no comparison are left out.
func studyFindings(o *study.Outcome, n *notes) []findings {
	var out []findings
	for _, c := range o.Configurations {
		f := findings{Name: clean(c.Name), Rows: changeTable("station and region")}
		compared := false
		for _, st := range stationsInOrder(o) {
			v := variantOf(&st, c.Name)
			if v == nil {
				continue
			}
			compared = true
			if st.Name == o.Headline {
				f.whole(v, n)
				f.Brief = append(f.Brief, pooledFinding(o, c.Name, v.Delta)...)
			}
			f.Rows.changes(clean(st.Name), v)
		}
		if f.Brief == nil {
			where := ": no station has one for both"
			if o.Headline != "" {
				where = " at " + clean(o.Headline)
			}
			f.Brief = []finding{{Text: "no change of total drag" + where}}
		}
		f.Brief = append(f.Brief, foremostMoves(foremost(o, c.Name))...)
		if compared {
			out = append(out, f)
		}
	}
	return out
}

// foremost are the parts of a configuration's wake at the first station where some beside the vehicle carry drag; nil
// for none.
func foremost(o *study.Outcome, configuration string) *compare.Structures {
	for _, st := range o.Stations {
		if v := variantOf(&st, configuration); v != nil && st.Normal == "x" && v.Structures != nil && len(v.Structures.Foremost) > 0 {
			return v.Structures
		}
	}
	return nil
}

// whole takes the findings on a whole plane.
func (f *findings) whole(v *compare.Variant, n *notes) {
	f.Marks = n.numbers(v.Survey.Warnings)
	if d := v.Delta; d != nil {
		f.Brief = []finding{deltaFinding("", d)}
		const but = "; but the force of the same runs says "
		if c := v.BesideForce; c != nil && c.Contradicts {
			f.Brief[0].Text += but + sentenceArea.Signed(c.Force, d.Expanded) + " m²"
		} else if c != nil && c.Unresolved != nil {
			u := *c.Unresolved
			f.Brief[0].Text += but + sentenceArea.Signed(c.Force, u) + " ± " + sentenceArea.In(u, u) + " m², " + uncertainty.NotResolved
		}
		if d.Percent != nil {
			f.Size = signed(*d.Percent, 1) + " %"
		}
	}
	if s := v.Shift; s != nil {
		f.More = append(f.More, shiftFinding("", s))
	}
}

// variantFindings are the verdicts on a variant by itself: the whole plane, what became of the parts of the wake, and
// its regions in order.
func variantFindings(name string, v *compare.Variant, n *notes) findings {
	f := findings{Name: name, Rows: changeTable("where")}
	f.whole(v, n)
	f.More = append(f.More, foremostMoves(v.Structures)...)
	if s := v.Structures; s != nil && s.Match != nil {
		for _, e := range s.Match.Events {
			f.More = append(f.More, finding{"part of the wake: ", e.Kind, clean(e.Text)})
		}
	}
	for _, r := range v.Regions {
		where := boxName(r.Name) + ": "
		if d := r.Delta; d != nil {
			f.More = append(f.More, deltaFinding(where, d))
		}
		if s := r.Shift; s != nil {
			f.More = append(f.More, shiftFinding(where, s))
		}
	}
	moves := *v
	moves.Delta = nil // told above
	f.Rows.changes("", &moves)
	if v.Structures != nil {
		for _, m := range v.Structures.Shifts[:min(len(v.Structures.Shifts), mostParts)] {
			name := "part: " + clean(m.A)
			if h := m.Headline; h != nil && h.Inboard == nil {
				name += " (to the right)" // on the centre plane nothing is inboard
			}
			f.Rows.Add(append([]string{name, "", "", ""}, partMove(m)...)...)
		}
	}
	return f
}

// mostParts is how many parts of a wake a short table has.
const mostParts = 4

func changeTable(of string) *Table {
	return NewTable(of, ">Δ m²", ">± m²", "verdict", ">inboard mm", ">± mm", "verdict")
}

// changes adds what changed in a variant, in the whole plane and by region: drag, and the move where there is a side,
// since inboard has no sense without. A title, if there is one, stands above.
func (t *Table) changes(title string, v *compare.Variant) {
	indent := strings.Repeat("  ", min(1, len(title)))
	add := func(where string, d *compare.Delta, s *compare.Shift) {
		if d == nil && (s == nil || s.Inboard == nil) {
			return
		}
		if title != "" {
			t.Add(title)
			title = ""
		}
		t.Add(slices.Concat([]string{indent + where}, changed(d), shifted(s))...)
	}
	add("whole plane", v.Delta, v.Shift)
	for _, r := range v.Regions {
		add(boxName(r.Name), r.Delta, r.Shift)
	}
}

// judgedCells has the cells of a number that is judged, in a unit that is a scale-th of the SI's: itself, its ±, which is at least
// that where a category is missing from its budget, and the verdict.
func judgedCells(x, expanded float64, j uncertainty.Judgement, scale float64, decimals int) []string {
	u := expandedText(scale*expanded, decimals)
	if j.Verdict == uncertainty.NotJudged && u != "" {
		u = "≥ " + u
	}
	return []string{signed(scale*x, digits(scale, expanded, j, decimals)), u, clean(j.Verdict)}
}

// oneCell is a number with its ± of such cells.
func oneCell(c []string) string {
	if c[1] == "" {
		return c[0]
	}
	return c[0] + " ± " + strings.Replace(c[1], "≥", "at least", 1)
}

// areaCells are those of a change of an area.
func areaCells(x, expanded float64, j uncertainty.Judgement) []string {
	return judgedCells(x, expanded, j, 1, areaDecimals)
}

// changed has the cells of a change of drag.
func changed(d *compare.Delta) []string {
	if d == nil {
		return make([]string, 3)
	}
	return areaCells(d.DragArea, d.Expanded, d.Judgement)
}

// moved has those of a move toward the centre plane, mm, with the span of its measures where they
// do not agree.
func moved(x, expanded float64, j uncertainty.Judgement, span ...float64) []string {
	cells := judgedCells(x, expanded, j, 1000, 1)
	if span != nil {
		cells[0] += " (" + spanWords(1, span, digits(1000, expanded, j, 1)) + ")"
		if beyond(x, expanded, span) && j.Verdict != uncertainty.NotJudged && cells[1] != "" {
			cells[1] = "≥ " + cells[1]
		}
	}
	return cells
}

// beyond reports whether some of the measures of a move lie outside its ±, which is then that of one of them
// alone, and no more than a lower bound.
func beyond(x, expanded float64, span []float64) bool {
	return slices.ContainsFunc(span, func(v float64) bool { return math.Abs(v-x) > expanded })
}

// spanWords are the least and the largest of moves, mm, along a way (1) or against it (−1), with the
// decimals of the move that they stand beside, which is one of them.
func spanWords(way float64, span []float64, decimals int) string {
	lo, hi := slices.Min(span), slices.Max(span)
	if way < 0 {
		lo, hi = -hi, -lo
	}
	return fixed(1000*lo, decimals) + " to " + fixed(1000*hi, decimals)
}

// shifted has the cells of a box's move; the one over the samples that both have is the other measure.
func shifted(s *compare.Shift) []string {
	if s == nil || s.Inboard == nil {
		return make([]string, 3)
	}
	if s.CommonInboard != nil && 2*math.Abs(*s.CommonInboard-*s.Inboard) > s.Expanded {
		return moved(*s.Inboard, s.Expanded, s.Judgement, *s.Inboard, *s.CommonInboard)
	}
	return moved(*s.Inboard, s.Expanded, s.Judgement)
}

// partMove has those of a part's move.
func partMove(m *shift.Shift) []string {
	if m.Headline == nil {
		return []string{"", "", "not measured"}
	}
	x, _ := m.Headline.Toward()
	return moved(x, m.Headline.Expanded, m.Judgement, disagreeing(m)...)
}

// disagreeing are the moves by all measures where they do not agree.
func disagreeing(m *shift.Shift) (all []float64) {
	if !m.Agree && len(m.Moves) > 1 {
		for _, v := range m.Moves {
			x, _ := v.Toward()
			all = append(all, x)
		}
	}
	return all
}

// foremostMoves say what became of the parts beside the vehicle that carry drag.
func foremostMoves(s *compare.Structures) (out []finding) {
	if s == nil {
		return nil
	}
	for _, name := range s.Foremost {
		m := s.Shift(name)
		out = append(out, finding{clean(name) + " at " + Place("x", m.Position) + ": ", clean(m.Verdict), movedWords(m)})
	}
	return out
}

// distance is how far a part moved and which way, by its headline, and how far the others go where
// they do not agree.
func distance(m *shift.Shift) string {
	if m.Headline == nil {
		return "not measured"
	}
	b := uncertainty.Budget(m.Headline.LengthBudget)
	x, mm := moveFormat(m.Headline.Toward())
	s := m.Number(x, &b, mm)
	if span := disagreeing(m); span != nil {
		x, _ := m.Headline.Toward()
		if beyond(x, b.Expanded, span) {
			s = strings.Replace(s, "± ", "± at least ", 1)
		}
		s += " (" + m.Headline.Measure + "; " + strconv.Itoa(len(span)) + " measures disagree: " + spanWords(math.Copysign(1, x), span, min(mm.Decimals, digits(1000, b.Expanded, m.Judgement, mm.Decimals))) + ")"
	}
	return s
}

// movedWords are distance with the verdict and its reason, and how much of a width it is.
func movedWords(m *shift.Shift) string {
	if m.Headline == nil {
		return "no move can be measured: " + clean(strings.Join(m.NotMeasured, "; "))
	}
	b, verdict := uncertainty.Budget(m.Headline.LengthBudget), m.Judgement.Sentence
	if !m.Agree {
		verdict = m.Judgement.Reason // finer planes do not make the measures agree
	}
	x, mm := moveFormat(m.Headline.Toward())
	out := distance(m) + ": " + verdict(x, &b, mm, 0)
	if f := m.Headline.Fraction; f != nil {
		out += "; " + fixed(100*math.Abs(*f), 1) + fmt.Sprintf(" %% of the width of %g m", m.Width)
	}
	return out
}

// wakeStory says where the change of a configuration is in the wake: by region at the quoted station, and outside of
// them, which nothing judges; empty where none is compared.
func wakeStory(o *study.Outcome, configuration string) string {
	st := stationOf(o, o.Headline)
	if st == nil {
		return ""
	}
	v := variantOf(st, configuration)
	if v == nil || len(v.Regions) == 0 {
		return ""
	}
	where := "In the wake (" + stationTitle(*st) + ")"
	if !slices.ContainsFunc(v.Regions, func(r compare.RegionDelta) bool { return r.Delta != nil && r.Delta.Verdict != uncertainty.NotResolved }) {
		return where + ": no box is resolved"
	}
	var said []string
	for _, r := range v.Regions {
		if r.Delta != nil {
			c := changed(r.Delta)
			said = append(said, boxName(r.Name)+" "+oneCell(c)+" "+c[2])
		}
	}
	if v.Exchange != nil {
		if b := v.Exchange.By("regions"); b != nil && b.Rest != nil {
			said = append(said, "outside the boxes "+signed(b.Rest.Delta, areaDecimals-1)+" "+uncertainty.NotJudged)
		}
	}
	return where + ", m²: " + strings.Join(said, ", ")
}
