package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/force"
	"wakeledger/wake/shift"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Where a change of drag sits: by part of the vehicle, from the force, and by region of the wake.

// share is a part of a change, m²; its verdict is empty where nothing judges it.
type share struct {
	name            string
	delta, expanded float64
	atLeast         bool
	verdict         string
}

// shares are those of one kind.
type shares struct {
	title string
	list  []share
}

// wakeShares are the changes of a configuration by region of the wake: with the rest and the whole
// at the quoted station, and the regions of the foremost station. Parts of the wake are not among
// them: they bear the names of regions, end elsewhere, and nothing judges their drag.
func wakeShares(o *study.Outcome, configuration string, whole bool) []shares {
	var out []shares
	foremost := true
	for _, st := range o.Stations {
		v := variantOf(&st, configuration)
		if v == nil || st.Normal != "x" {
			continue
		}
		quoted := st.Name == o.Headline
		of := shares{title: stationTitle(st)}
		add := func(name string, d *compare.Delta) {
			if d != nil {
				of.list = append(of.list, shareOf(name, d))
			}
		}
		for _, r := range v.Regions {
			add(boxName(r.Name), r.Delta)
		}
		if quoted && v.Exchange != nil && len(of.list) > 0 {
			if b := v.Exchange.By("regions"); b != nil && b.Rest != nil {
				of.list = append(of.list, share{name: "outside the boxes", delta: b.Rest.Delta})
			}
		}
		if quoted && whole {
			add("whole plane", v.Delta)
		}
		switch {
		case len(of.list) == 0:
		case quoted:
			out = slices.Insert(out, 0, of)
		case foremost:
			out = append(out, of)
		}
		foremost = foremost && len(of.list) == 0
	}
	return out
}

// vehicleShares are the changes of a configuration by part of the vehicle in the order of ledgerLines,
// rounded as they are printed.
func vehicleShares(l *force.Ledger) shares {
	out := shares{title: "vehicle, from the force"}
	deltas := addingUp(l, areaDecimals-1, func(c *force.Change) *float64 { return &c.Delta })
	for i, r := range ledgerLines(l) {
		out.list = append(out.list, share{name: r.name, delta: deltas[i], expanded: r.Expanded, verdict: r.Verdict, atLeast: r.AtLeast})
	}
	return out
}

func byPart(o *study.Outcome, configuration string) *force.Ledger {
	for _, l := range o.ByPart {
		if l.Configuration == configuration {
			return l.Ledger
		}
	}
	return nil
}

// amount is a change in words after its ±.
func (s share) amount(decimals int) string {
	out := signed(s.delta, decimals)
	if s.expanded > 0 {
		out += " ± " + halfWidth(s.expanded, s.atLeast, decimals)
	}
	return out + " m²"
}

// mostShares is how many parts of one kind are told and drawn: the largest.
const mostShares = 12

// largest keeps the largest shares, and puts the others in one; the last is kept, a total.
func largest(list []share) []share {
	n := len(list) - 1
	if n <= mostShares {
		return list
	}
	out := slices.SortedStableFunc(slices.Values(list[:n]), func(a, b share) int { return cmp.Compare(math.Abs(b.delta), math.Abs(a.delta)) })
	others := share{name: thousands(n-mostShares) + " others"}
	for _, s := range out[mostShares:] {
		others.delta += s.delta
	}
	return append(out[:mostShares:mostShares], others, list[n])
}

// wakeStory says where the change of a configuration is in the wake, the regions that are not
// resolved together; empty where none is compared.
func wakeStory(o *study.Outcome, configuration string) string {
	all := wakeShares(o, configuration, false)
	if all == nil {
		return ""
	}
	var said, open []string
	for _, s := range all[0].list {
		words := s.name + " " + s.amount(areaDecimals-1)
		switch s.verdict {
		case uncertainty.NotResolved:
			open = append(open, words)
		case "":
			said = append(said, words+" (not judged)")
		default:
			said = append(said, words+" ("+s.verdict+")")
		}
	}
	if open != nil {
		said = append([]string{"not resolved: " + strings.Join(open, ", ")}, said...)
	}
	return "In the wake (" + all[0].title + "): " + strings.Join(said, "; ")
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
