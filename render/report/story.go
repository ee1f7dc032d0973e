package report

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

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
	title  string
	quoted bool
	list   []share
}

// wakeShares are the changes of a configuration by region of the wake: with the rest and the whole
// at the quoted station, and the regions of the foremost station. Parts of the wake are not among
// them: they bear the names of regions, end elsewhere, and nothing judges their drag.
func wakeShares(o *study.Outcome, configuration string) []shares {
	var out []shares
	foremost := true
	for _, st := range o.Stations {
		if st.Comparison == nil || st.Normal != "x" {
			continue
		}
		k := slices.Index(st.Variants, configuration)
		if k < 0 || k >= len(st.Comparison.Variants) {
			continue
		}
		v := st.Comparison.Variants[k]
		quoted := st.Name == o.Headline
		of := shares{title: stationTitle(st), quoted: quoted}
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
		if quoted {
			add("whole plane", v.Delta)
		}
		if len(of.list) > 0 && (quoted || foremost) {
			out = append(out, of)
		}
		foremost = foremost && len(of.list) == 0
	}
	slices.SortStableFunc(out, func(a, b shares) int {
		switch {
		case a.quoted && !b.quoted:
			return -1
		case b.quoted && !a.quoted:
			return 1
		}
		return 0
	})
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

// amount is a change in words after its ±: its size where a word gives the direction.
func (s share) amount(decimals int, size bool) string {
	out := signed(s.delta, decimals)
	if size {
		out = fixed(math.Abs(s.delta), decimals)
	}
	if s.expanded > 0 {
		out += " ± " + halfWidth(s.expanded, s.atLeast, decimals)
	}
	return out + " m²"
}

// the puts an article before what reads like a thing: a name in small letters.
func the(name string) string {
	if r, _ := utf8.DecodeRuneInString(name); unicode.IsLower(r) && !strings.HasPrefix(name, "the ") {
		return "the " + name
	}
	return name
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

// story says in a paragraph which parts of the vehicle carry the change of a configuration, by the
// force, and where it is in the wake. It gives sizes and verdicts, and no cause. Empty without a
// force by part.
func story(o *study.Outcome, configuration string) string {
	l := byPart(o, configuration)
	if l == nil {
		return ""
	}
	const d = areaDecimals - 1
	shown := vehicleShares(l).list
	needed := 0.0
	var own, both, open []string
	order := make([]int, len(l.Parts))
	for i := range l.Parts {
		order[i] = i
		if c := &l.Parts[i]; c.AtLeast {
			needed = max(needed, c.Needed)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(math.Abs(l.Parts[j].Delta), math.Abs(l.Parts[i].Delta)) })
	for k, i := range order {
		if k == mostShares {
			both = append(both, thousands(len(order)-k)+" more parts with smaller changes")
			break
		}
		c, s := &l.Parts[i], shown[i]
		clear := c.Verdict != uncertainty.NotResolved
		switch verdict := " (" + c.Verdict + ")"; {
		case c.Baseline == nil && clear && c.Delta < 0:
			own = append(own, the(s.name)+" itself, which "+clean(o.Baseline)+" lacks, pushes forward by "+s.amount(d, true)+verdict)
		case c.Baseline == nil && clear:
			own = append(own, the(s.name)+" itself, which "+clean(o.Baseline)+" lacks, has a drag of "+s.amount(d, true)+verdict)
		case c.Baseline == nil:
			own = append(own, the(s.name)+" itself, which "+clean(o.Baseline)+" lacks, has no resolved drag: "+s.amount(d, false))
		case c.Variant == nil:
			own = append(own, the(s.name)+" of "+clean(o.Baseline)+", which "+clean(configuration)+" lacks, is "+s.amount(d, false)+verdict)
		case !clear:
			open = append(open, the(s.name)+" ("+s.amount(d, false)+")")
		case c.Delta < 0:
			both = append(both, s.amount(d, true)+" less on "+the(s.name)+verdict)
		default:
			both = append(both, s.amount(d, true)+" more on "+the(s.name)+verdict)
		}
	}
	if open != nil {
		both = append(both, "no resolved change on "+strings.Join(open, ", "))
	}
	text := "Force by part:"
	say := func(s string) {
		first, n := utf8.DecodeRuneInString(s)
		text += " " + string(unicode.ToUpper(first)) + s[n:] + "."
	}
	if own != nil {
		say(strings.Join(own, ", "))
	}
	if both != nil {
		s := strings.Join(both, ", ")
		if own != nil {
			s = "elsewhere " + s
		}
		if l.Others != nil && len(l.Parts) > len(own)+1 {
			s += "; together " + shown[len(l.Parts)+1].amount(d, false) + " (" + l.Others.Verdict + ")"
		}
		say(s)
	}
	say("in all " + shown[len(l.Parts)].amount(d, false) + " (" + l.Total.Verdict + ")")
	if w := wakeShares(o, configuration); len(w) > 0 {
		if words := wakeStory(w[0]); words != "" {
			say("in the wake (" + w[0].title + ") " + words)
		}
	}
	if needed > 0 {
		say(seconds(needed) + " of force record would be enough for every part")
	}
	return text
}

// wakeStory is a list of the regions of one station; those not resolved come together.
func wakeStory(w shares) string {
	const d = areaDecimals - 1
	var said, open []string
	for _, s := range w.list {
		switch {
		case s.name == "whole plane":
		case s.verdict == "":
			said = append(said, s.name+" "+s.amount(d, false)+" (not judged)")
		case s.verdict == uncertainty.NotResolved:
			open = append(open, the(s.name)+" "+s.amount(d, false))
		default:
			said = append(said, s.name+" "+s.amount(d, false)+" ("+s.verdict+")")
		}
	}
	if open != nil {
		said = append([]string{"no change is resolved in " + strings.Join(open, ", ")}, said...)
	}
	return strings.Join(said, "; ")
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

// distance is how far a part moved, and which way.
func distance(m *shift.Shift) string {
	if m.Headline == nil {
		return "not measured"
	}
	of := func(v shift.Move) float64 { x, _ := v.Toward(); return 1000 * x }
	lo, way := m.Headline.Toward()
	lo *= 1000
	hi := lo
	for _, v := range m.Moves {
		if !m.Agree {
			lo, hi = min(lo, of(v)), max(hi, of(v))
		}
	}
	// What rounds to zero has no sense.
	if hi < 0.5 {
		lo, hi, way[0] = -hi, -lo, way[1]
	}
	if lo > -0.5 {
		lo = max(lo, 0)
	}
	switch u := 1000 * m.Headline.Expanded; {
	case lo < 0:
		return fixed(-lo, 0) + " mm " + way[1] + " to " + fixed(hi, 0) + " mm " + way[0]
	case lo == hi && m.Verdict == uncertainty.NotJudged:
		return fixed(hi, 0) + " mm " + way[0]
	case lo == hi:
		return fixed(hi, decimalsFor(u, 1)) + " ± " + fixed(u, decimalsFor(u, 1)) + " mm " + way[0]
	}
	return fixed(lo, 0) + " to " + fixed(hi, 0) + " mm " + way[0]
}

// foremostMoves calls f with the moves at the foremost station of the parts that sentences are
// about.
func foremostMoves(o *study.Outcome, f func(configuration string, position float64, m *shift.Shift)) {
	found := false
	for _, st := range o.Stations {
		if st.Comparison == nil || st.Normal != "x" || found {
			continue
		}
		for k, v := range st.Comparison.Variants {
			if v.Structures == nil || k >= len(st.Variants) {
				continue
			}
			for _, said := range v.Structures.Sentences {
				for _, m := range v.Structures.Shifts {
					if m.A == said.Structure {
						f(st.Variants[k], st.Position, m)
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
		g := group{name: clean(c.Name), panels: [2][]shares{{vehicleShares(l)}, wakeShares(o, c.Name)}}
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
					words += g.name + ", " + p.title + ", " + s.name + ": " + s.amount(areaDecimals-1, false) + " " + s.verdict + ". "
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
