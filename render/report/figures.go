package report

import (
	"fmt"
	"math"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
)

// change is one of drag area against the baseline, as charts draw it: of a part or a region in a group of them.
type change struct {
	group, name    string
	configuration  int
	delta, lo, hi  float64
	verdict, words string
}

// changesAt are those at stations, of the whole planes and of the regions.
func changesAt(o *study.Outcome, stations []study.StationOutcome) (out []change) {
	for _, st := range stations {
		for name, v := range variants(&st) {
			k := configurationIndex(o, name)
			add := func(where string, d *compare.Delta) {
				if d != nil && k >= 0 {
					cells := changed(d)
					out = append(out, change{stationTitle(st), where, k, d.DragArea, d.Interval[0], d.Interval[1], d.Verdict, cells[0] + " ± " + cells[1]})
				}
			}
			add("whole plane", v.Delta)
			for _, r := range v.Regions {
				add(boxName(r.Name), r.Delta)
			}
		}
	}
	return out
}

// changesByPart are those by part of the vehicle, from the force.
func changesByPart(o *study.Outcome) (out []change) {
	for _, l := range o.ByPart {
		k := configurationIndex(o, l.Configuration)
		for _, r := range ledgerLines(l.Ledger)[:len(l.Parts)+1] {
			if k >= 0 {
				out = append(out, change{"vehicle, from the force", r.name, k, r.Delta, r.Delta - r.Expanded, r.Delta + r.Expanded, r.Verdict, signed(r.Delta, areaDecimals-1) + " ± " + r.expanded(areaDecimals-1)})
			}
		}
	}
	return out
}

// changeFigures draw changes of drag area with their intervals over a common scale with zero in it: a row for each
// part or region, with a sign for each configuration.
func changeFigures(o *study.Outcome, title, caption string, width float64, list []change) []*Chart {
	const gap, left = 11.0, 190.0
	lo, hi := 0.0, 0.0
	var which []int
	var order [][2]string
	of := map[[2]string][]change{}
	for _, c := range list {
		lo, hi = min(lo, c.lo, c.delta), max(hi, c.hi, c.delta)
		which = append(which, c.configuration)
		key := [2]string{c.group, c.name}
		if of[key] == nil {
			order = append(order, key)
		}
		of[key] = append(of[key], c)
	}
	if !(hi > lo) {
		return nil
	}
	var rows []row
	for i, key := range order {
		cs := of[key]
		if i == 0 || order[i-1][0] != key[0] {
			rows = append(rows, headRow(key[0]))
		}
		r := row{h: gap*float64(len(cs)) + 9, label: Shorten(key[1], 22), said: key[1]}
		for _, c := range cs {
			r.said += ", " + clean(o.Configurations[c.configuration].Name) + " " + c.words + " m²"
		}
		r.draw = func(d *Chart, s scale1, y float64) {
			for i, c := range cs {
				d.interval(s, c, y+gap*(float64(i)-float64(len(cs)-1)/2))
			}
		}
		rows = append(rows, r)
	}
	return rowChart{title, "Change of drag area against " + clean(o.Baseline) + ", m², with its interval of 95 % coverage" + caption + " " + signsWords, width,
		newScale1(lo, hi, int(width)/100, left, width-20), func(d *Chart) { d.legend(o, which, 6) }}.figures(rows)
}

// storyStations: the quoted one and the foremost other.
const storyStations = 2

// storyFigure sets the changes by part of the vehicle beside those by region of the wake, on one scale.
func storyFigure(o *study.Outcome) []*Chart {
	stations := stationsInOrder(o)
	return changeFigures(o, "Where the change is", ": by part of the vehicle as the force has it, and by box in the wake, whose local drag is not that of what lies upstream of it.",
		narrowWidth, append(changesByPart(o), changesAt(o, stations[:min(storyStations, len(stations))])...))
}

// regionsFigures are the drag ledger by region, at all stations.
func regionsFigures(o *study.Outcome) []*Chart {
	return changeFigures(o, "Ledger by region", ". A region's change is that of the local drag in its box.", figureWidth, changesAt(o, o.Stations))
}

var termNames = [4]string{"total-pressure loss", "axial", "cross-flow", "turbulence"}

// termsFigures show how the momentum drag of each plane is made up: gains to the
// right of zero, reductions to the left, a tick at the total.
func termsFigures(o *study.Outcome) []*Chart {
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
			rows, head = append(append(rows, head...), row{h: 24, label: Shorten(clean(sv.Configuration), 20), value: fixed(sum, 3) + " m²", draw: func(d *Chart, s scale1, y float64) {
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
	key := func(d *Chart) {
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
	return rowChart{"Drag by station and term", "Terms of the momentum integral, drag area in m², each plane over its own window. Negative terms plot left of zero; the tick is the total.", figureWidth, newScale1(lo, hi, 7, left, 790), key}.figures(rows)
}

// forceFigures set the drag in the wake beside the force.
func forceFigures(o *study.Outcome) []*Chart {
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
		rows = append(rows, row{h: 34, label: label, value: clean(f.Verdict), draw: func(d *Chart, s scale1, y float64) {
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
	return rowChart{"Wake against force", caption + ".", figureWidth, newScale1(lo, hi, 6, left, 800), func(d *Chart) {
		d.line("bar wake", left+6, 14, left+34, 14)
		d.rect("tip wake", left+17, 9, left+23, 19)
		d.text("", left+42, 19, "start", "in the wake")
		d.disc("dot s0", left+174, 14, 5)
		d.text("", left+196, 19, "start", "force stated")
	}}.figures(rows)
}
