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
				of.list = append(of.list, share{name: name, delta: d.DragArea, expanded: d.Expanded, verdict: d.Verdict, atLeast: d.Verdict == uncertainty.NotJudged})
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

// largest keeps the largest shares in their order, and puts the others in one; the last is kept, a
// total.
func largest(list []share) []share {
	if len(list) <= mostShares+1 {
		return list
	}
	size := func(i int) float64 { return math.Abs(list[i].delta) }
	order := make([]int, len(list)-1)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(size(j), size(i)) })
	others := share{name: thousands(len(order)-mostShares) + " others"}
	for _, i := range order[mostShares:] {
		others.delta += list[i].delta
	}
	order = order[:mostShares]
	slices.Sort(order)
	var out []share
	for _, i := range order {
		out = append(out, list[i])
	}
	return append(out, others, list[len(list)-1])
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

// briefMoveWords are what became of the parts of a configuration's wake at the foremost station, a
// line for each verdict: how far each moved, in a range where its measures differ.
func briefMoveWords(o *study.Outcome, configuration string) []finding {
	var out []finding
	foremostMoves(o, func(of string, position float64, m *shift.Shift) {
		if clean(of) != configuration {
			return
		}
		where := "Wakes at " + Place("x", position) + ": "
		i := slices.IndexFunc(out, func(f finding) bool { return f.verdict == m.Verdict })
		if i < 0 {
			i, out = len(out), append(out, finding{where, m.Verdict, ""})
		} else {
			out[i].text += "; "
		}
		out[i].text += clean(m.A) + " " + distance(m)
	})
	return out
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

// foremostMoves calls f with the moves at the foremost station of the parts that sentences are
// about.
func foremostMoves(o *study.Outcome, f func(configuration string, position float64, m *shift.Shift)) {
	found := false
	for _, st := range o.Stations {
		if st.Normal != "x" || found {
			continue
		}
		for name, v := range variants(&st) {
			if v.Structures == nil {
				continue
			}
			for _, said := range v.Structures.Sentences {
				for _, m := range v.Structures.Shifts {
					if m.A == said.Structure {
						f(name, st.Position, m)
						found = true
					}
				}
			}
		}
	}
}

// storyLabels is the room for names beside the bars.
const storyLabels = 164.0

// storyFigure sets the changes by part of the vehicle beside those by region of the wake, on one
// scale, a group for each configuration. Nil without a force by part.
func storyFigure(o *study.Outcome) *figureView {
	type group struct {
		name   string
		panels [2][]shares
		rows   int
	}
	var groups []group
	var most float64
	words := ""
	for _, c := range o.Configurations {
		l := byPart(o, c.Name)
		if l == nil {
			continue
		}
		g := group{name: clean(c.Name), panels: [2][]shares{{vehicleShares(l)}, wakeShares(o, c.Name, true)}}
		g.panels[0][0].list = g.panels[0][0].list[:len(l.Parts)+1]
		for _, panel := range g.panels {
			rows := 0
			for i, p := range panel {
				p.list = largest(p.list)
				panel[i] = p
				rows += 1 + len(p.list)
				for _, s := range p.list {
					most = max(most, math.Abs(s.delta))
					if s.verdict == uncertainty.Resolved {
						most = max(most, math.Abs(s.delta)+s.expanded)
					}
					words += g.name + ", " + p.title + ", " + s.name + ": " + s.amount(areaDecimals-1) + " " + s.verdict + ". "
				}
			}
			g.rows = max(g.rows, rows)
		}
		groups = append(groups, g)
	}
	if !(most > 0) {
		return nil
	}
	const row, gap, half = 19.0, 14.0, figureWidth / 2
	h := 30.0 + 30
	for _, g := range groups {
		h += row*float64(g.rows) + 2*gap
	}
	// Two drawings, which a narrow screen shows one below the other.
	var halves [2]*drawing
	for k := range halves {
		d := &drawing{w: half, h: h}
		halves[k] = d
		if k == 0 {
			d.storyLegend()
		}
		s := newScale1(-most, most, 5, storyLabels+8, half-56)
		y := 30.0
		for i, g := range groups {
			d.text("head", 0, y+gap, "start", Shorten(g.name, 40))
			d.storyPanel(s, g.panels[k], y+gap+4, row, i == len(groups)-1)
			y += row*float64(g.rows) + 2*gap
		}
	}
	d := halves[0]
	f := d.figure("Where the change is", "Change of drag area against "+clean(o.Baseline)+", m²: by part of the vehicle as the force has it, and by box in the wake, on one scale. "+
		"The line is ± at 95 %, broken where it is at least that, and without an end where it leaves the frame. The local drag in a box is not the drag of what lies upstream of it.", words)
	f.SVG = `<div class="halves">` + f.SVG + halves[1].svg("its other half, by box in the wake") + `</div>`
	d.w = figureWidth + 20
	for _, x := range halves[1].shapes {
		for i := range x.Points {
			x.Points[i][0] += half + 20
		}
		d.shapes = append(d.shapes, x)
	}
	return f
}

// storyLegend shows the three kinds of bars.
func (d *drawing) storyLegend() {
	x := 0.0
	for _, verdict := range []string{uncertainty.Resolved, uncertainty.NotResolved, uncertainty.NotJudged} {
		d.storyBar(verdict, x, x+22, 6, 20)
		d.text("", x+28, 18, "start", verdict)
		x += 50 + 7.6*float64(len(verdict))
	}
}

// storyBar is full for what is resolved, hollow for what is not, and hatched for what is not judged.
func (d *drawing) storyBar(verdict string, x1, x2, y1, y2 float64) {
	x1, x2 = min(x1, x2), max(x1, x2)
	switch verdict {
	case uncertainty.Resolved:
		d.rect("share s1", x1, y1, x2, y2)
		return
	case uncertainty.NotResolved:
		d.rect("share open s1", x1, y1, x2, y2)
		return
	}
	d.rect("share open s1", x1, y1, x2, y2)
	h := y2 - y1
	for x := x1 - h + 4; x < x2; x += 5 {
		a, b := max(x, x1), min(x+h, x2)
		if b > a {
			d.line("hatch s1", a, y2-(a-x), b, y2-(b-x))
		}
	}
}

// storyPanel draws the lines of one panel from y on, with the ticks' numbers below where it is the
// last.
func (d *drawing) storyPanel(s scale1, panel []shares, y, row float64, last bool) {
	inside := func(x float64) float64 { return min(max(x, s.a), s.b) }
	for i, p := range panel {
		d.text("tick-label start", 8, y+14, "start", Shorten(p.title, 54))
		y += row
		end := y + row*float64(len(p.list))
		s.ticks(tickLabel, func(at float64, label string) {
			d.line("tick", at, y, at, end)
			if last && i == len(panel)-1 {
				d.text("tick-label", at, end+18, "middle", label)
			}
		})
		for _, v := range p.list {
			d.text("", storyLabels, y+14, "end", Shorten(v.name, 24))
			d.storyBar(v.verdict, s.at(0), s.at(v.delta), y+4, y+row-4)
			if lo, hi, mid := s.at(v.delta-v.expanded), s.at(v.delta+v.expanded), y+row/2; v.expanded > 0 {
				class := "sum thin"
				if v.atLeast {
					class = "least"
				}
				d.line(class, inside(lo), mid, inside(hi), mid)
				for _, end := range []float64{lo, hi} {
					if end == inside(end) && !v.atLeast {
						d.line("sum thin", end, mid-4, end, mid+4)
					}
				}
			}
			d.text("value", figureWidth/2-4, y+14, "end", signed(v.delta, areaDecimals-1))
			y += row
		}
		d.line("zero", s.at(0), end-row*float64(len(p.list)), s.at(0), end)
	}
}
