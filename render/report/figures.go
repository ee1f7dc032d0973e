package report

import (
	"fmt"
	"math"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// changes are the changes of drag area that a chart has, by configuration of the study, and the range
// of their intervals, with zero in it.
type changes struct {
	lo, hi float64
	which  []int
}

func (c *changes) see(k int, d *compare.Delta) {
	c.lo, c.hi = min(c.lo, d.Interval[0], d.DragArea), max(c.hi, d.Interval[1], d.DragArea)
	c.which = append(c.which, k)
}

func shareOf(name string, d *compare.Delta) share {
	return share{name: name, delta: d.DragArea, expanded: d.Expanded, atLeast: d.Verdict == uncertainty.NotJudged, verdict: d.Verdict}
}

// changesFigure draws the changes of drag area with their intervals, one line for each station and
// variant, over a common scale with zero in it; nil when there is no change to draw.
func changesFigure(o *study.Outcome) *figureView {
	var all changes
	var rows []row
	for _, st := range stationsInOrder(o) {
		for name, v := range variants(&st) {
			d, k := v.Delta, configurationIndex(o, name)
			if d == nil || k < 0 {
				continue
			}
			all.see(k, d)
			rows = append(rows,
				row{h: 16, label: Shorten(clean(name)+", "+clean(st.Name), 32), value: shareOf("", d).amount(decimalsFor(d.Expanded, areaDecimals))},
				row{h: 24, draw: func(c *drawing, s scale1, y float64) { c.interval(s, k, d, y) }})
		}
	}
	if !(all.hi > all.lo) {
		return nil
	}
	f := rowChart{"Changes of drag", "Change of drag area against the baseline, m², with its interval of 95 % coverage. " + signsWords, narrowWidth, 0, newScale1(all.lo, all.hi, 5, 24, narrowWidth-24), nil}.figures(rows)[0]
	f.SVG = `<div class="narrow">` + f.SVG + `</div>`
	return f
}

var termNames = [4]string{"total-pressure loss", "axial", "cross-flow", "turbulence"}

// termsFigures show how the momentum drag of each plane is made up: gains to the
// right of zero, reductions to the left, a tick at the total.
func termsFigures(o *study.Outcome) []*figureView {
	var rows []row
	lo, hi, used := 0.0, 0.0, [4]bool{}
	for _, st := range o.Stations {
		head := []row{headRow(stationTitle(st))}
		for _, sv := range st.Surveys {
			r := sv.Result
			if r == nil || r.Drag == nil || r.Drag.Momentum == nil || r.Mesh.CutsBody {
				continue
			}
			t, sum := r.Drag.Momentum.Terms, r.Drag.Momentum.DragArea
			terms := [4]float64{t.TotalPressure, t.Axial, t.Crossflow}
			if t.Turbulence != nil {
				terms[3] = *t.Turbulence
			}
			plus, minus := 0.0, 0.0
			for k, x := range terms {
				plus, minus, used[k] = plus+max(x, 0), minus+min(x, 0), used[k] || x != 0
			}
			lo, hi = min(lo, minus), max(hi, plus)
			rows, head = append(append(rows, head...), row{h: 24, label: Shorten(clean(sv.Configuration), 20), value: fixed(sum, 3) + " m²", draw: func(d *drawing, s scale1, y float64) {
				var ends [2]float64 // terms lie beside zero on both sides
				for k, v := range terms {
					from := &ends[0]
					if v < 0 {
						from = &ends[1]
					}
					if v != 0 {
						d.rect(fmt.Sprintf("term t%d", k), s.at(*from), y-7, s.at(*from+v), y+7)
					}
					*from += v
				}
				d.line("sum", s.at(sum), y-11, s.at(sum), y+11)
			}}), nil
		}
	}
	if !(hi > lo) {
		return nil
	}
	const left = 170.0
	key := func(d *drawing) {
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
	}
	return rowChart{"Drag by station and term", "Terms of the momentum integral, drag area in m², each plane over its own window. Negative terms plot left of zero; the tick is the total.", figureWidth, 34, newScale1(lo, hi, 7, left, 790), key}.figures(rows)
}

// regionsFigures are the drag ledger by region: changes against the baseline with
// their intervals, a row for each region of a station.
func regionsFigures(o *study.Outcome) []*figureView {
	type change struct {
		configuration int
		*compare.Delta
	}
	const gap = 13.0
	var all changes
	var rows []row
	for _, st := range o.Stations {
		regions, of := []string{}, map[string][]change{}
		add := func(region, configuration string, d *compare.Delta) {
			if k := configurationIndex(o, configuration); d != nil && k >= 0 {
				if of[region] == nil {
					regions = append(regions, region)
				}
				all.see(k, d)
				of[region] = append(of[region], change{k, d})
			}
		}
		for name, v := range variants(&st) {
			add("whole plane", name, v.Delta)
			for _, r := range v.Regions {
				add(boxName(r.Name), name, r.Delta)
			}
		}
		for i, region := range regions {
			if i == 0 {
				rows = append(rows, headRow(stationTitle(st)))
			}
			r := row{h: gap*float64(len(of[region])) + 9, label: Shorten(region, 22), said: region}
			for _, c := range of[region] {
				r.said += ", " + clean(o.Configurations[c.configuration].Name) + " " + shareOf("", c.Delta).amount(decimalsFor(c.Expanded, areaDecimals))
			}
			r.draw = func(d *drawing, s scale1, y float64) {
				for i, c := range of[region] {
					d.interval(s, c.configuration, c.Delta, y+gap*(float64(i)-float64(len(of[region])-1)/2))
				}
			}
			rows = append(rows, r)
		}
	}
	if !(all.hi > all.lo) {
		return nil
	}
	return rowChart{"Ledger by region", "Change of drag area against the baseline, m², with its interval. " + signsWords + " A region's change is that of the local drag in its box.", figureWidth, 34,
		newScale1(all.lo, all.hi, 8, 190, 880), func(d *drawing) { d.legend(o, all.which, 196) }}.figures(rows)
}

// forceFigures set the drag in the wake beside the force.
func forceFigures(o *study.Outcome) []*figureView {
	lo, hi, known := math.Inf(1), math.Inf(-1), false
	var rows []row
	for _, f := range o.Forces {
		force := 0.0
		for _, it := range f.Items {
			if it.Name == "force" {
				force = f.Coverage * it.Standard
			}
		}
		// What is left of the difference's uncertainty is the wake's.
		wake := math.Sqrt(max(f.Expanded*f.Expanded-force*force, 0))
		lo, hi, known = min(lo, f.Wake-wake, f.Force-force), max(hi, f.Wake+wake, f.Force+force), known || force > 0
		label := Shorten(clean(f.Configuration)+", "+clean(f.Station), 38)
		rows = append(rows, row{h: 34, label: label, value: clean(f.Verdict), draw: func(d *drawing, s scale1, y float64) {
			d.line("bar wake", s.at(f.Wake-wake), y-6, s.at(f.Wake+wake), y-6)
			d.rect("tip wake", s.at(f.Wake)-3, y-11, s.at(f.Wake)+3, y-1)
			d.line("bar force", s.at(f.Force-force), y+6, s.at(f.Force+force), y+6)
			d.disc("dot s0", s.at(f.Force), y+6, 5)
		}})
	}
	if rows == nil {
		return nil
	}
	caption := "Drag area in m² from the wake, with its expanded uncertainty, and from the force"
	if known {
		caption += ", with what is stated of it"
	} else {
		caption += ", of which no uncertainty is drawn: what its record scatters by, the wake saw too"
	}
	const left = 280.0
	return rowChart{"Wake against force", caption + ".", figureWidth, 34, newScale1(lo, hi, 6, left, 800), func(d *drawing) {
		d.line("bar wake", left+6, 14, left+34, 14)
		d.rect("tip wake", left+17, 9, left+23, 19)
		d.text("", left+42, 19, "start", "in the wake")
		d.disc("dot s0", left+174, 14, 5)
		d.text("", left+196, 19, "start", "force stated")
	}}.figures(rows)
}

// storyFigure sets the changes by part of the vehicle beside those by region of the wake, on one
// scale, a group for each configuration. Nil without a force by part.
func storyFigure(o *study.Outcome) *figureView {
	most, any := 0.0, false
	var halves [2][]row // two drawings, which a narrow screen shows one below the other
	for _, c := range o.Configurations {
		l := byPart(o, c.Name)
		if l == nil {
			continue
		}
		vehicle := vehicleShares(l)
		vehicle.list = vehicle.list[:len(l.Parts)+1]
		for k, panels := range [2][]shares{{vehicle}, wakeShares(o, c.Name, true)} {
			h := &halves[k]
			*h = append(*h, headRow(Shorten(clean(c.Name), 40)))
			for _, p := range panels {
				*h = append(*h, row{h: 19, class: "tick-label start", label: Shorten(p.title, 54)})
				for _, v := range largest(p.list) {
					most, any = max(most, math.Abs(v.delta)), true
					if v.verdict == uncertainty.Resolved {
						most = max(most, math.Abs(v.delta)+v.expanded)
					}
					*h = append(*h, row{h: 19, label: Shorten(v.name, 21), value: signed(v.delta, areaDecimals-1), draw: v.draw})
				}
			}
		}
		// Groups of both halves begin beside each other.
		for len(halves[0]) != len(halves[1]) {
			short := &halves[0]
			if len(halves[1]) < len(halves[0]) {
				short = &halves[1]
			}
			*short = append(*short, row{h: 19})
		}
	}
	if !any || most == 0 {
		return nil
	}
	chart := rowChart{"Where the change is", "Change of drag area against " + clean(o.Baseline) + ", m²: by part of the vehicle as the force has it, and by box in the wake, on one scale. " +
		"The line is ± at 95 %, broken where it is at least that, and without an end where it leaves the frame. The local drag in a box is not the drag of what lies upstream of it.",
		narrowWidth, 30, newScale1(-most, most, 5, 180, narrowWidth-56), nil}
	right := chart.figures(halves[1])[0]
	chart.key = storyLegend
	f := chart.figures(halves[0])[0]
	f.SVG = `<div class="halves">` + f.SVG + right.SVG + `</div>`
	f.drawing.w = figureWidth + 20
	for _, x := range right.drawing.shapes {
		for i := range x.Points {
			x.Points[i][0] += narrowWidth + 20
		}
		f.drawing.shapes = append(f.drawing.shapes, x)
	}
	return f
}

// storyLegend shows the three kinds of bars.
func storyLegend(d *drawing) {
	x := 0.0
	for _, verdict := range []string{uncertainty.Resolved, uncertainty.NotResolved, uncertainty.NotJudged} {
		d.storyBar(verdict, x, x+22, 13)
		d.text("", x+28, 18, "start", verdict)
		x += 50 + 7.6*float64(len(verdict))
	}
}

// storyBar is full for what is resolved, thin for what is not, and hatched for what is not judged.
func (d *drawing) storyBar(verdict string, x1, x2, y float64) {
	const h = 5.5
	x1, x2 = min(x1, x2), max(x1, x2)
	switch verdict {
	case uncertainty.Resolved:
		d.rect("share s1", x1, y-h, x2, y+h)
	case uncertainty.NotResolved:
		d.rect("share s1", x1, y-1.5, x2, y+1.5)
	default:
		d.rect("share open s1", x1, y-h, x2, y+h)
		for x := x1 - 2*h + 4; x < x2; x += 5 {
			if a, b := max(x, x1), min(x+2*h, x2); b > a {
				d.line("hatch s1", a, y+h-(a-x), b, y+h-(b-x))
			}
		}
	}
}

// draw draws a share with its ±, of which an end that leaves the frame is not seen.
func (v share) draw(d *drawing, s scale1, y float64) {
	d.storyBar(v.verdict, s.at(0), s.at(v.delta), y)
	if v.expanded > 0 {
		class := "sum thin"
		if v.atLeast {
			class = "least"
		}
		d.line(class, s.inside(v.delta-v.expanded), y, s.inside(v.delta+v.expanded), y)
		for _, end := range []float64{v.delta - v.expanded, v.delta + v.expanded} {
			if s.at(end) == s.inside(end) && !v.atLeast {
				d.line("sum thin", s.at(end), y-4, s.at(end), y+4)
			}
		}
	}
}
