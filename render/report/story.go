package report

import (
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
			for _, said := range v.Structures.Sentences {
				k := slices.IndexFunc(v.Structures.Shifts, func(m *shift.Shift) bool { return m.A == said.Structure })
				if foremost = foremost || k >= 0; k < 0 || clean(name) != configuration {
					continue
				}
				m := v.Structures.Shifts[k]
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
	x, way := m.Headline.Toward()
	d := digits(1000, m.Headline.Expanded, m.Judgement, 1)
	s, sign := fixed(math.Abs(1000*x), d), 1.0
	if m.Verdict != uncertainty.NotJudged {
		s += " ± " + fixed(1000*m.Headline.Expanded, d)
	}
	if x < 0 {
		way[0], sign = way[1], -1
	}
	s += " mm " + way[0]
	if span := disagreeing(m); span != nil {
		s += " (" + m.Headline.Measure + "; " + strconv.Itoa(len(span)) + " measures do not agree: " + spanWords(sign, span) + ")"
	}
	return s
}
