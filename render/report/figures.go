package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// figureView is a finished chart.
type figureView struct {
	Title, Caption string
	SVG            template.HTML
	drawing        *drawing
}

// figure finishes a drawing; words say what is seen.
func (d *drawing) figure(title, caption, words string) *figureView {
	return &figureView{title, caption, d.svg(words), d}
}

// figureWidth is that of all charts; on a narrow screen they scroll.
const figureWidth = 900

// newFigures draws the charts of a study that its results allow.
func newFigures(o *study.Outcome) []figureView {
	var out []figureView
	add := func(views ...*figureView) {
		for _, v := range views {
			if v != nil {
				out = append(out, *v)
			}
		}
	}
	add(termsFigure(o))
	add(regionsFigures(o)...)
	add(forceFigure(o), pathFigure(o), edgeFigure(o))
	return out
}

// legend writes the signs of configurations from x on and returns where it ends.
func (d *drawing) legend(o *study.Outcome, which []int, x, y float64) {
	for _, k := range which {
		d.mark(k, false, x, y)
		name := Shorten(clean(o.Configurations[k].Name), 28)
		d.text("", x+11, y+5, "start", name)
		x += 38 + 7.8*float64(textWidth(name))
	}
}

func configurationIndex(o *study.Outcome, name string) int {
	return slices.IndexFunc(o.Configurations, func(c study.ConfigurationOutcome) bool { return c.Name == name })
}

var termNames = [4]string{"total-pressure loss", "axial", "cross-flow", "turbulence"}

// termBar is a plane's momentum drag by term, termGroup those of one station.
type termBar struct {
	name  string
	terms [4]float64
	sum   float64
}

type termGroup struct {
	title string
	bars  []termBar
}

// stacked are the ends of a bar whose terms lie beside zero on both sides.
func (b *termBar) stacked() (minus, plus float64) {
	for _, x := range b.terms {
		plus, minus = plus+max(x, 0), minus+min(x, 0)
	}
	return minus, plus
}

// termGroups are the stations whose planes have a momentum integral.
func termGroups(o *study.Outcome) (groups []termGroup) {
	for _, st := range o.Stations {
		g := termGroup{title: stationTitle(st)}
		for _, sv := range st.Surveys {
			r := sv.Result
			if r == nil || r.Drag == nil || r.Drag.Momentum == nil || r.Mesh.CutsBody {
				continue
			}
			t := r.Drag.Momentum.Terms
			b := termBar{clean(sv.Configuration), [4]float64{t.TotalPressure, t.Axial, t.Crossflow, 0}, r.Drag.Momentum.DragArea}
			if t.Turbulence != nil {
				b.terms[3] = *t.Turbulence
			}
			g.bars = append(g.bars, b)
		}
		if len(g.bars) > 0 {
			groups = append(groups, g)
		}
	}
	return groups
}

// termsFigure shows how the momentum drag of each plane is made up: gains to the
// right of zero, reductions to the left, a tick at the total.
func termsFigure(o *study.Outcome) *figureView {
	groups := termGroups(o)
	lo, hi, rows, words := 0.0, 0.0, 0.0, ""
	used := [4]bool{}
	for _, g := range groups {
		for _, b := range g.bars {
			minus, plus := b.stacked()
			lo, hi, rows = min(lo, minus), max(hi, plus), rows+1
			for k, x := range b.terms {
				used[k] = used[k] || x != 0
			}
			words += fmt.Sprintf("%s, %s: %s m². ", g.title, b.name, fixed(b.sum, areaDecimals))
		}
	}
	if len(groups) == 0 || !(hi > lo) {
		return nil
	}
	const row, head, left, right, top = 24.0, 30.0, 170.0, 790.0, 34.0
	d := &drawing{w: figureWidth, h: top + rows*row + head*float64(len(groups)) + 34}
	s := newScale1(lo, hi, 7, left, right)
	bottom := d.h - 30
	s.ticks(plainTick, func(at float64, label string) {
		d.line("tick", at, top, at, bottom)
		d.text("tick-label", at, bottom+18, "middle", label)
	})
	x := left
	for k, n := range termNames {
		if used[k] {
			d.rect(fmt.Sprintf("term t%d", k), x, 6, x+14, 20)
			d.text("", x+20, 18, "start", n)
			x += 40 + 7.6*float64(len(n))
		}
	}
	d.line("sum", x+2, 5, x+2, 21)
	d.text("", x+10, 18, "start", "sum")
	y := top
	for _, g := range groups {
		d.text("head", 0, y+20, "start", Shorten(g.title, 60))
		y += head
		for _, b := range g.bars {
			d.text("", 16, y+17, "start", Shorten(b.name, 20))
			plus, minus := 0.0, 0.0
			for k, v := range b.terms {
				from := &plus
				if v < 0 {
					from = &minus
				}
				if v != 0 {
					d.rect(fmt.Sprintf("term t%d", k), s.at(*from), y+5, s.at(*from+v), y+row-5)
				}
				*from += v
			}
			d.line("sum", s.at(b.sum), y+1, s.at(b.sum), y+row-1)
			d.text("value", figureWidth-4, y+17, "end", fixed(b.sum, 3)+" m²")
			y += row
		}
	}
	d.line("zero", s.at(0), top, s.at(0), bottom)
	return d.figure("Drag by station and term", "Terms of the momentum integral, drag area in m², each plane over its own window. Negative terms plot left of zero; the tick is the total.", words)
}

// regionsHeight is how high a chart of regions gets before the next one is begun: some
// six pages of the usual handful of regions, and far less than a picture can be.
const regionsHeight = 6000

// regionLine is a line of the ledger by region: the changes of one region at one station.
type regionLine struct {
	station, region, words string
	changes                []regionChange
}

type regionChange struct {
	configuration int
	d             *compare.Delta
}

func regionLines(o *study.Outcome) (lines []regionLine) {
	for _, st := range o.Stations {
		if st.Comparison == nil {
			continue
		}
		var here []regionLine
		add := func(region string, configuration int, d *compare.Delta) {
			if d == nil || configuration < 0 {
				return
			}
			k := slices.IndexFunc(here, func(l regionLine) bool { return l.region == region })
			if k < 0 {
				k = len(here)
				here = append(here, regionLine{station: stationTitle(st), region: region})
			}
			here[k].changes = append(here[k].changes, regionChange{configuration, d})
			here[k].words += fmt.Sprintf("%s, %s, %s: %s. ", clean(st.Name), region, clean(o.Configurations[configuration].Name), share{delta: d.DragArea, expanded: d.Expanded, atLeast: d.Verdict == uncertainty.NotJudged}.amount(decimalsFor(d.Expanded, areaDecimals)))
		}
		for i, v := range st.Comparison.Variants {
			if i >= len(st.Variants) {
				break
			}
			k := configurationIndex(o, st.Variants[i])
			add("whole plane", k, v.Delta)
			for _, r := range v.Regions {
				add(boxName(r.Name), k, r.Delta)
			}
		}
		lines = append(lines, here...)
	}
	return lines
}

// regionsFigures are the drag ledger by region: changes against the baseline with
// their intervals, in as many charts of one scale as its lines need.
func regionsFigures(o *study.Outcome) (out []*figureView) {
	lines := regionLines(o)
	lo, hi := 0.0, 0.0
	var which []int
	for _, l := range lines {
		for _, c := range l.changes {
			lo, hi = min(lo, c.d.Interval[0], c.d.DragArea), max(hi, c.d.Interval[1], c.d.DragArea)
			if !slices.Contains(which, c.configuration) {
				which = append(which, c.configuration)
			}
		}
	}
	if len(lines) == 0 || !(hi > lo) {
		return nil
	}
	slices.Sort(which)
	const gap, head, left, right, top = 13.0, 28.0, 190.0, 880.0, 34.0
	s := newScale1(lo, hi, 8, left, right)
	draw := func(lines []regionLine, h float64) *figureView {
		d := &drawing{w: figureWidth, h: h + 34}
		s.ticks(tickLabel, func(at float64, label string) { d.text("tick-label", at, h+18, "middle", label) })
		d.legend(o, which, left+6, 14)
		y, words := top, ""
		for i, l := range lines {
			if i == 0 || lines[i-1].station != l.station {
				d.text("head", 0, y+20, "start", Shorten(l.station, 60))
				y += head
			}
			// The lines leave out what a heading needs.
			end := y + gap*float64(len(l.changes)) + 9
			s.ticks(tickLabel, func(at float64, _ string) { d.line("tick", at, y, at, end) })
			d.line("zero", s.at(0), y, s.at(0), end)
			words += l.words
			d.text("", 16, y+gap*float64(len(l.changes))/2+5, "start", Shorten(l.region, 22))
			for _, c := range l.changes {
				at := y + gap/2
				d.interval(s, c.configuration, c.d, at)
				y += gap
			}
			y += 9
		}
		return d.figure("Ledger by region", "Change of drag area against the baseline, m², with its interval. "+signsWords+" A region's change is that of the local drag in its box.", words)
	}
	h, begin := top, 0
	for i, l := range lines {
		if i == begin || lines[i-1].station != l.station {
			h += head
		}
		h += gap*float64(len(l.changes)) + 9
		if i == len(lines)-1 || h > regionsHeight {
			out = append(out, draw(lines[begin:i+1], h))
			h, begin = top, i+1
		}
	}
	for i, f := range out {
		if len(out) > 1 {
			f.Title += fmt.Sprintf(" %d of %d", i+1, len(out))
		}
	}
	return out
}

// forceFigure sets the drag in the wake beside the force.
func forceFigure(o *study.Outcome) *figureView {
	if len(o.Forces) == 0 {
		return nil
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	words := ""
	type interval struct{ middle, half float64 }
	wakes, forces := make([]interval, len(o.Forces)), make([]interval, len(o.Forces))
	for i, f := range o.Forces {
		wakes[i].middle, forces[i].middle = f.Wake, f.Force
		for _, it := range f.Items {
			if it.Name == "force" {
				forces[i].half = f.Coverage * it.Standard
			}
		}
		// What is left of the difference's uncertainty is the wake's.
		wakes[i].half = math.Sqrt(max(f.Expanded*f.Expanded-forces[i].half*forces[i].half, 0))
		for _, v := range []interval{wakes[i], forces[i]} {
			lo, hi = min(lo, v.middle-v.half), max(hi, v.middle+v.half)
		}
		words += fmt.Sprintf("%s, %s: wake %s, force %s m², %s. ", clean(f.Station), clean(f.Configuration), fixed(f.Wake, 3), fixed(f.Force, 3), clean(f.Verdict))
	}
	const row, left, right, top = 34.0, 280.0, 800.0, 34.0
	bottom := top + row*float64(len(o.Forces)) + 4
	d := &drawing{w: figureWidth, h: bottom + 34}
	s := newScale1(lo, hi, 6, left, right)
	s.ticks(plainTick, func(at float64, label string) {
		d.line("tick", at, top, at, bottom)
		d.text("tick-label", at, bottom+18, "middle", label)
	})
	d.line("bar wake", left+6, 14, left+34, 14)
	d.text("", left+42, 19, "start", "in the wake")
	d.line("bar force", left+160, 14, left+188, 14)
	d.text("", left+196, 19, "start", "force stated")
	for i, f := range o.Forces {
		y := top + row*float64(i) + row/2
		d.text("", 0, y+5, "start", Shorten(clean(f.Configuration)+", "+clean(f.Station), 38))
		for k, v := range []interval{wakes[i], forces[i]} {
			class, at := []string{"wake", "force"}[k], y-6+12*float64(k)
			d.line("bar "+class, s.at(v.middle-v.half), at, s.at(v.middle+v.half), at)
			d.rect("tip "+class, s.at(v.middle)-3, at-5, s.at(v.middle)+3, at+5)
		}
		d.text("value", figureWidth-4, y+5, "end", f.Verdict)
	}
	caption := "Drag area in m² from the wake, with its expanded uncertainty, and from the force"
	if slices.ContainsFunc(forces, func(v interval) bool { return v.half > 0 }) {
		caption += ", with what is stated of it"
	} else {
		caption += ", of which no uncertainty is drawn: what its record scatters by, the wake saw too"
	}
	return d.figure("Wake against force", caption+".", words)
}

// profileFigure shows at which height and span the drag of a station sits.
func profileFigure(o *study.Outcome, st study.StationOutcome) *figureView {
	type curve struct {
		configuration int
		p             *measure.Profiles
	}
	var curves []curve
	var which []int
	lim := [4][2]float64{{math.Inf(1), math.Inf(-1)}, {0, 0}, {math.Inf(1), math.Inf(-1)}, {0, 0}}
	widen := func(k int, vs []float64) {
		for _, v := range vs {
			lim[k] = [2]float64{min(lim[k][0], v), max(lim[k][1], v)}
		}
	}
	for _, sv := range st.Surveys {
		k := configurationIndex(o, sv.Configuration)
		if sv.Profiles == nil || k < 0 || len(sv.Profiles.First.Density) == 0 {
			continue
		}
		curves = append(curves, curve{k, sv.Profiles})
		which = append(which, k)
		widen(0, sv.Profiles.First.Edges)
		widen(1, sv.Profiles.First.Density)
		widen(2, sv.Profiles.Second.Edges)
		widen(3, sv.Profiles.Second.Density)
	}
	if len(curves) == 0 || !(lim[1][1] > lim[1][0]) || !(lim[3][1] > lim[3][0]) {
		return nil
	}
	a, b := planeAxes(st.Normal)
	d := &drawing{w: figureWidth, h: 320}
	const top, bottom = 66.0, 272.0
	d.legend(o, which, 66, 14)
	span := scale1{lim[0][0], lim[0][1], tickStep((lim[0][1] - lim[0][0]) / 8), 60, 540}
	dens := newScale1(lim[1][0], lim[1][1], 5, bottom, top)
	axes := func(x, y scale1, xl string) {
		x.ticks(plainTick, func(at float64, label string) {
			d.line("tick", at, top, at, bottom)
			d.text("tick-label", at, bottom+18, "middle", label)
		})
		y.ticks(plainTick, func(at float64, label string) {
			d.line("tick", x.a, at, x.b, at)
			d.text("tick-label end", x.a-7, at+5, "end", label)
		})
		d.text("tick-label", (x.a+x.b)/2, bottom+38, "middle", xl)
	}
	axes(span, dens, a+", m")
	d.text("tick-label start", 60, top-10, "start", "by "+spanWord(a)+": drag area per metre, m")
	d.line("zero", span.a, dens.at(0), span.b, dens.at(0))
	height := scale1{lim[2][0], lim[2][1], tickStep((lim[2][1] - lim[2][0]) / 5), bottom, top}
	dens2 := newScale1(lim[3][0], lim[3][1], 4, 630, 890)
	axes(dens2, height, "drag area per metre, m")
	d.text("tick-label start", 630, top-10, "start", "by "+spanWord(b)+": "+b+", m")
	d.line("zero", dens2.at(0), top, dens2.at(0), bottom)
	for _, c := range curves {
		class := fmt.Sprintf("curve s%d", c.configuration%seriesClasses)
		var pts [][2]float64
		for k, v := range c.p.First.Density {
			pts = append(pts, [2]float64{span.at((c.p.First.Edges[k] + c.p.First.Edges[k+1]) / 2), dens.at(v)})
		}
		d.path(class, pts)
		pts = nil
		for k, v := range c.p.Second.Density {
			pts = append(pts, [2]float64{dens2.at(v), height.at((c.p.Second.Edges[k] + c.p.Second.Edges[k+1]) / 2)})
		}
		d.path(class, pts)
	}
	words := "Local drag by " + spanWord(a) + " and by " + spanWord(b) + " at " + stationTitle(st) + "."
	for _, c := range curves {
		i, j := most(c.p.First.Density), most(c.p.Second.Density)
		words += fmt.Sprintf(" %s: most at %s %s m and at %s %s m.", clean(o.Configurations[c.configuration].Name), a, fixed(middleOf(c.p.First, i), 2), b, fixed(middleOf(c.p.Second, j), 2))
	}
	return d.figure("Where the drag sits", "Local drag integrated over strips of each plane's own window; the area under a curve is the drag area of the plane. Strips exchange momentum through pressure, so a strip's share is not the drag of what stands upstream of it.", words)
}

func most(xs []float64) int {
	k := 0
	for i, x := range xs {
		if x > xs[k] {
			k = i
		}
	}
	return k
}

func middleOf(p measure.Profile, k int) float64 { return (p.Edges[k] + p.Edges[k+1]) / 2 }

func spanWord(axis string) string {
	return map[string]string{"x": "length", "y": "span", "z": "height"}[axis]
}
