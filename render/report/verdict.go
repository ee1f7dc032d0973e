package report

import (
	"fmt"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// twoRuns says why the first ± of a change is so wide, where it rests on two runs; empty where none does.
func twoRuns(cs ...*compare.Comparison) string {
	for _, c := range cs {
		for _, v := range c.Variants {
			if d := v.Delta; d != nil && d.DOF != nil && *d.DOF < 1.5 {
				return " ± is at 95 %; k = " + fixed(d.Coverage, 1) + ", not 2, because two runs leave one degree of freedom."
			}
		}
	}
	return ""
}

// leadWords are what stands below a study's title.
func leadWords(o *study.Outcome) string {
	quoted := "No station has a total drag; regions and shifts are given."
	if o.Headline != "" {
		quoted = "The drag is quoted at the station “" + clean(o.Headline) + "”."
	}
	return "Baseline " + clean(o.Baseline) + ". " + quoted + twoRuns(comparisons(o)...)
}

// comparisons are those of all stations, the quoted one first.
func comparisons(o *study.Outcome) (cs []*compare.Comparison) {
	for _, st := range stationsInOrder(o) {
		if st.Comparison != nil {
			cs = append(cs, st.Comparison)
		}
	}
	return cs
}

// forceWords set the wakes beside the forces in a sentence: how far they are apart, in the configurations and in their
// changes, and on how many of each it is judged. Empty without forces.
func forceWords(o *study.Outcome) string {
	if len(o.Forces) == 0 {
		return ""
	}
	words := func(of []compare.Closure, what string) string {
		lo, hi := of[0].Difference, of[0].Difference
		var order []string
		verdicts := map[string]int{}
		for _, c := range of {
			lo, hi = min(lo, c.Difference), max(hi, c.Difference)
			word := c.Verdict
			if c.Verdict == uncertainty.NotJudged {
				word += ": " + uncertainty.Lacking(c.Missing, c.Items) + " not known"
			}
			if verdicts[word]++; verdicts[word] == 1 {
				order = append(order, word)
			}
		}
		s := signed(lo, areaDecimals-1)
		if to := signed(hi, areaDecimals-1); to != s {
			s += " to " + to
		}
		for i, w := range order {
			order[i] = fmt.Sprintf("%d %s", verdicts[w], w)
		}
		return fmt.Sprintf("%s m² in %s (%s)", s, wake.Plural(len(of), what), strings.Join(order, ", "))
	}
	var wakes, changes []compare.Closure
	for _, f := range o.Forces {
		wakes = append(wakes, f.Closure)
		if f.Delta != nil {
			changes = append(changes, f.Delta.Closure)
		}
	}
	s := "Wake minus force: " + words(wakes, "plane")
	if changes != nil {
		s += ", " + words(changes, "change")
	}
	return s + "."
}
