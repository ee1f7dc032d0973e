package report

import (
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// notes numbers warnings from 1 in the order in which they are first met; equal
// ones share a number.
type notes struct{ list []wake.Warning }

// number returns the note of w.
func (n *notes) number(w wake.Warning) int {
	k := slices.Index(n.list, w)
	if k < 0 {
		k = len(n.list)
		n.list = append(n.list, w)
	}
	return k + 1
}

// marks numbers the warnings and returns "[1] [3–6]": runs of three and more are
// drawn together.
func (n *notes) marks(ws []wake.Warning) string { return spans(n.numbers(ws)) }

// spans writes rising numbers as marks.
func spans(ks []int) string {
	var parts []string
	for i := 0; i < len(ks); {
		j := i
		for j+1 < len(ks) && ks[j+1] == ks[j]+1 {
			j++
		}
		if j-i >= 2 {
			parts = append(parts, fmt.Sprintf("[%d–%d]", ks[i], ks[j]))
		} else {
			j = i
			parts = append(parts, fmt.Sprintf("[%d]", ks[i]))
		}
		i = j + 1
	}
	return strings.Join(parts, " ")
}

// numbers numbers the warnings and returns their notes, each once, in rising order.
func (n *notes) numbers(ws []wake.Warning) []int {
	var out []int
	for _, w := range ws {
		if k := n.number(w); !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	slices.Sort(out)
	return out
}

// ofMethod are the codes of doubts about one method, by its key.
var ofMethod = map[string]string{"jones-invalid": measure.ByJones, "no-wake-only": measure.ByWakeOnly}

// concerning are the warnings on a result, and more, but for those on methods that it does not quote.
func concerning(r *measure.Result, more ...wake.Warning) []wake.Warning {
	return slices.DeleteFunc(slices.Concat(more, r.Warnings), func(w wake.Warning) bool {
		m := ofMethod[w.Code]
		return m != "" && (r.Drag == nil || r.Drag.Headline != m)
	})
}

func (n *notes) addResult(r *measure.Result) {
	if r != nil {
		n.marks(r.Warnings)
	}
}

func (n *notes) addComparison(c *compare.Comparison) {
	if c == nil {
		return
	}
	n.marks(c.Warnings)
	n.addResult(c.Baseline)
	for _, v := range c.Variants {
		n.addResult(v.Survey)
	}
}

func (n *notes) addOutcome(o *study.Outcome) {
	n.marks(o.Warnings)
	for _, st := range o.Stations {
		n.addComparison(st.Comparison)
		for _, sv := range st.Surveys {
			n.addResult(sv.Result)
		}
	}
}

// printNotes writes the warnings as numbered notes, each with what fixes it.
func (s *sheet) printNotes() {
	groups := make([]noteGroup, len(s.notes.list))
	for i, w := range s.notes.list {
		groups[i] = noteGroup{[]int{i + 1}, w}
	}
	s.putNotes("Notes", groups)
}

// putNotes writes the first note of each group whole, and how many are like it.
func (s *sheet) putNotes(title string, groups []noteGroup) {
	if len(groups) > 0 {
		s.Section(Head, title)
	}
	for _, g := range groups {
		text, more := clean(g.first.Text), ""
		if g.first.Where != "" {
			text = clean(g.first.Where) + ": " + text
		}
		if n := len(g.numbers); n > 1 {
			more = "; likewise " + thousands(n-1) + " more"
		}
		s.Hang(fmt.Sprintf("[%d] %s (%s)%s", g.numbers[0], text, clean(g.first.Code), more), 2, 6)
		if g.first.Cure != "" {
			s.Hang("fix: "+clean(g.first.Cure), 6, 11)
		}
	}
}
