package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake/shift"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

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
	var said []string
	for _, r := range v.Regions {
		if r.Delta != nil {
			c := changed(r.Delta)
			said = append(said, boxName(r.Name)+" "+c[0]+" ± "+c[1]+" "+c[2])
		}
	}
	if v.Exchange != nil {
		if b := v.Exchange.By("regions"); b != nil && b.Rest != nil {
			said = append(said, "outside the boxes "+signed(b.Rest.Delta, areaDecimals-1)+" "+uncertainty.NotJudged)
		}
	}
	return "In the wake (" + stationTitle(*st) + "), m²: " + strings.Join(said, ", ")
}

// briefMoveWords are what became of the parts of a configuration's wake at the foremost station that has
// sentences on them, a line for each verdict: how far each moved.
func briefMoveWords(o *study.Outcome, configuration string) []finding {
	for _, st := range o.Stations {
		var out []finding
		foremost := false
		for name, v := range variants(&st) {
			if st.Normal != "x" || v.Structures == nil {
				continue
			}
			for _, part := range v.Structures.Foremost {
				if foremost = true; clean(name) != configuration {
					continue
				}
				m := v.Structures.Shift(part)
				i := slices.IndexFunc(out, func(f finding) bool { return f.Verdict == m.Verdict })
				if i < 0 {
					i, out = len(out), append(out, finding{"Wakes at " + Place("x", st.Position) + ": ", m.Verdict, ""})
				} else {
					out[i].Text += "; "
				}
				out[i].Text += clean(m.A) + " " + distance(m)
			}
		}
		if foremost {
			return out
		}
	}
	return nil
}

// distance is how far a part moved and which way, by its headline, and how far the others go where
// they do not agree.
func distance(m *shift.Shift) string {
	if m.Headline == nil {
		return "not measured"
	}
	x, sense := m.Headline.Toward()
	d := digits(1000, m.Headline.Expanded, m.Judgement, 1)
	s, sign := fixed(math.Abs(1000*x), d), 1.0
	if m.Verdict != uncertainty.NotJudged {
		s += " ± " + fixed(1000*m.Headline.Expanded, d)
	}
	way := map[string][2]string{"inboard": {"inboard", "outboard"}, "right": {"to the right", "to the left"}}[sense]
	if x < 0 {
		way[0], sign = way[1], -1
	}
	s += " mm " + way[0]
	if span := disagreeing(m); span != nil {
		s += " (" + m.Headline.Measure + "; " + strconv.Itoa(len(span)) + " measures do not agree: " + spanWords(sign, span) + ")"
	}
	return s
}

// movedWords are distance with the verdict and its reason, and how much of a width it is.
func movedWords(m *shift.Shift) string {
	if m.Headline == nil {
		return "no move can be measured: " + clean(strings.Join(m.NotMeasured, "; "))
	}
	x, _ := m.Headline.Toward()
	b, verdict := uncertainty.Budget(m.Headline.LengthBudget), m.Judgement.Sentence
	if !m.Agree {
		verdict = m.Judgement.Reason // finer planes do not make the measures agree
	}
	out := distance(m) + ": " + verdict(x, &b, uncertainty.Format{Scale: 1000, Decimals: 1, Unit: "mm"}, 0, "")
	if f := m.Headline.Fraction; f != nil {
		out += "; " + fixed(100*math.Abs(*f), 1) + " % of the " + clean(cmp.Or(m.WidthOf, "width"))
	}
	return out
}
