package report

import (
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/shift"
)

// What is printed unless all is asked for: verdicts, one table, and notes by their code.

// without leaves out the rows whose first cell begins with prefix, and cuts remarks at
// their first semicolon.
func (t *Table) without(prefix string) *Table {
	out := *t
	out.Rows = nil
	for _, r := range t.Rows {
		if !strings.HasPrefix(r[0], prefix) {
			last := len(r) - 1
			short, _, _ := strings.Cut(r[last], ";")
			out.Rows = append(out.Rows, append(r[:last:last], short))
		}
	}
	return &out
}

// mostParts is how many parts of a wake a short table has.
const mostParts = 4

// briefVariant is the change of drag in words, then whole plane, regions and parts of the
// wake in one table; nothing judges the drag of parts.
func (s *sheet) briefVariant(name string, v compare.Variant) {
	f := configurationFindings{name: name, rows: NewTable("where", ">Δ m²", ">± m²", "verdict", ">inboard mm", ">± mm", "verdict")}
	if v.Survey != nil {
		f.warnings = concerning(v.Survey)
	}
	if v.Delta != nil {
		f.list = []finding{{"", v.Delta.Verdict, clean(v.Delta.Text)}}
	}
	f.addRow("whole plane", nil, v.Shift)
	for _, r := range v.Regions {
		f.addRow(boxName(r.Name), r.Delta, r.Shift)
	}
	if v.Structures != nil {
		for k, m := range v.Structures.Shifts {
			if k == mostParts {
				break
			}
			f.rows.Add(append([]string{"part: " + clean(m.A), "", "", ""}, partMove(m)...)...)
		}
	}
	s.configuration(f)
	s.Table("Force by part, m²: "+name, forceParts(v.Force))
}

// partMove has the cells of a part's move: toward the centre plane, its uncertainty and the verdict.
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

// noteGroup is the notes of one code.
type noteGroup struct {
	numbers []int
	first   wake.Warning
}

// byCode gathers the notes by code, in the order in which they were met.
func (n *notes) byCode() []noteGroup {
	var out []noteGroup
	for k, w := range n.list {
		i := slices.IndexFunc(out, func(g noteGroup) bool { return g.first.Code == w.Code })
		if i < 0 {
			i = len(out)
			out = append(out, noteGroup{first: w})
		}
		out[i].numbers = append(out[i].numbers, k+1)
	}
	return out
}

// briefNotes is a line for each kind of note.
func (s *sheet) briefNotes() {
	if s.notes.list == nil {
		return
	}
	s.Section(Head, "Notes (whole, with what fixes them: --full)")
	for _, g := range s.notes.byCode() {
		s.Para(firstWords(spans(g.numbers)+" "+clean(g.first.Code)+": "+clean(g.first.Text), Width-2), 2)
	}
}

// firstWords cuts a sentence between words to n columns.
func firstWords(text string, n int) string {
	if textWidth(text) <= n {
		return text
	}
	out := ""
	for _, w := range strings.Fields(text) {
		if textWidth(out)+textWidth(w)+3 > n {
			break
		}
		out += w + " "
	}
	return strings.TrimRight(out, " ,;:") + " …"
}
