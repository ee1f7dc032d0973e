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
type notes struct {
	list []wake.Warning
	at   map[wake.Warning]int
}

// number returns the note of w.
func (n *notes) number(w wake.Warning) int {
	if k, ok := n.at[w]; ok {
		return k
	}
	if n.at == nil {
		n.at = map[wake.Warning]int{}
	}
	n.list = append(n.list, w)
	n.at[w] = len(n.list)
	return len(n.list)
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

// all returns the warnings, each once; never nil.
func (n *notes) all() []wake.Warning {
	if n.list == nil {
		return []wake.Warning{}
	}
	return n.list
}

// kinds are the codes of the warnings, each once.
func (n *notes) kinds() (out []string) {
	for _, w := range n.list {
		if !slices.Contains(out, w.Code) {
			out = append(out, w.Code)
		}
	}
	return out
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
	if len(s.notes.list) == 0 {
		return
	}
	s.Section(Head, "Notes")
	for i, w := range s.notes.list {
		s.note(fmt.Sprintf("[%d]", i+1), w, "")
	}
}

// note writes one; more follows its code.
func (s *sheet) note(mark string, w wake.Warning, more string) {
	text := clean(w.Text)
	if w.Where != "" {
		text = clean(w.Where) + ": " + text
	}
	s.Hang(fmt.Sprintf("%s %s (%s)%s", mark, text, clean(w.Code), more), 2, 6)
	if w.Cure != "" {
		s.Hang("fix: "+clean(w.Cure), 6, 11)
	}
}
