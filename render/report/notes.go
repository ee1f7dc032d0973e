package report

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/study"
)

// notes numbers warnings from 1 in the order in which they are first met; equal
// ones share a number.
type notes struct{ list []wake.Warning }

// marks numbers the warnings and returns "[1 3 4]".
func (n *notes) marks(ws []wake.Warning) string { return marks(n.numbers(ws)) }

func marks(ks []int) string {
	if ks == nil {
		return ""
	}
	return fmt.Sprint(ks)
}

// numbers numbers the warnings and returns their notes, each once, in rising order.
func (n *notes) numbers(ws []wake.Warning) (out []int) {
	for _, w := range ws {
		k := slices.Index(n.list, w)
		if k < 0 {
			k = len(n.list)
			n.list = append(n.list, w)
		}
		out = append(out, k+1)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (n *notes) addComparison(c *compare.Comparison) {
	if c == nil {
		return
	}
	n.marks(c.Warnings)
	n.marks(c.Baseline.Warnings)
	for _, v := range c.Variants {
		n.marks(v.Survey.Warnings)
	}
}

func (n *notes) addOutcome(o *study.Outcome) {
	n.marks(o.Warnings)
	for _, st := range o.Stations {
		n.addComparison(st.Comparison)
		for _, sv := range st.Surveys {
			n.marks(sv.Result.Warnings)
		}
	}
}

// noteGroup is the notes of one code.
type noteGroup struct {
	numbers []int
	first   wake.Warning
}

// groups gathers the notes by code, in the order in which they were met, or has each by itself.
func (n *notes) groups(byCode bool) (out []noteGroup) {
	for k, w := range n.list {
		i := -1
		if byCode {
			i = slices.IndexFunc(out, func(g noteGroup) bool { return g.first.Code == w.Code })
		}
		if i < 0 {
			i = len(out)
			out = append(out, noteGroup{first: w})
		}
		out[i].numbers = append(out[i].numbers, k+1)
	}
	return out
}

var (
	areaUnit  = regexp.MustCompile(`(\d) m2(\b|/s\b)`)
	minusSign = regexp.MustCompile(`(^|[ (])-(\d)`)
	relations = strings.NewReplacer("<=", "≤", ">=", "≥", " m2/s2", " m²/s²")
)

// typeset prints a text of a result, which JSON has in ASCII, with the signs that numbers and units have elsewhere.
func typeset(s string) string {
	s = areaUnit.ReplaceAllString(relations.Replace(clean(s)), "$1 m²$2")
	return minusSign.ReplaceAllString(s, "$1−$2")
}

// putNotes writes the warnings as numbered notes: each with what fixes it, or a line for each kind.
func (s *sheet) putNotes(full bool) {
	if full {
		s.putGroups("Notes", s.notes.groups(false))
		return
	}
	if s.notes.list != nil {
		s.section("Notes (--full: complete, with fixes)", "")
	}
	for _, g := range s.notes.groups(true) {
		lines := wrap(marks(g.numbers)+" "+clean(g.first.Code)+": "+typeset(g.first.Text), 4, 4)
		if len(lines) > 1 {
			lines[0] = strings.TrimRight(lines[0], " ,;:") + " …"
		}
		s.para(lines[0], 2)
	}
}

// putGroups writes the first note of each group whole, and how many are like it.
func (s *sheet) putGroups(title string, groups []noteGroup) {
	if len(groups) > 0 {
		s.section(title, "")
	}
	for _, g := range groups {
		text, more := typeset(g.first.Text), ""
		if g.first.Where != "" {
			text = clean(g.first.Where) + ": " + text
		}
		if n := len(g.numbers); n > 1 {
			more = "; likewise " + thousands(n-1) + " more"
		}
		s.hang(fmt.Sprintf("[%d] %s (%s)%s", g.numbers[0], text, clean(g.first.Code), more), 2, 6)
		if g.first.Cure != "" {
			s.hang("fix: "+clean(g.first.Cure), 6, 11)
		}
	}
}
