package report

import (
	"cmp"
	"fmt"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
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
					out = append(out, change{stationTitle(st), where, k, d.DragArea, d.Interval[0], d.Interval[1], d.Verdict, cells[0] + " ± " + cells[1] + " m²"})
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
				out = append(out, change{"vehicle, from the force", r.name, k, r.Delta, r.Delta - r.Expanded, r.Delta + r.Expanded, r.Verdict, signed(r.Delta, areaDecimals-1) + " ± " + r.expanded(areaDecimals-1) + " m²"})
			}
		}
	}
	return out
}

// changeFigure draws changes of drag area with their intervals over a common scale with zero in it: a row for each
// part or region, with a sign for each configuration.
func changeFigure(o *study.Outcome, title, caption string, width float64, list []change) *Chart {
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
			r.said += ", " + clean(o.Configurations[c.configuration].Name) + " " + c.words
		}
		r.draw = func(d *Chart, s scale1, y float64) {
			for i, c := range cs {
				d.interval(s, c, y+gap*(float64(i)-float64(len(cs)-1)/2))
			}
		}
		rows = append(rows, r)
	}
	return rowChart{title, caption + " " + signsWords, width,
		newScale1(lo, hi, int(width)/100, left, width-20), func(d *Chart) { d.legend(o, which, 6) }}.figure(rows)
}

func changeWords(o *study.Outcome) string {
	return "Change of drag area against " + clean(o.Baseline) + ", m², with its interval of 95 % coverage"
}

// storyStations: the quoted one and the foremost other.
const storyStations = 2

// storyFigure sets the changes by part of the vehicle beside those by region of the wake, on one scale.
func storyFigure(o *study.Outcome) *Chart {
	stations := stationsInOrder(o)
	return changeFigure(o, "Where the change is", changeWords(o)+": by part of the vehicle as the force has it, and by box in the wake, whose local drag is not that of what lies upstream of it.",
		narrowWidth, append(changesByPart(o), changesAt(o, stations[:min(storyStations, len(stations))])...))
}

// regionsFigure is the drag ledger by region, at all stations.
func regionsFigure(o *study.Outcome) *Chart {
	return changeFigure(o, "Ledger by region", changeWords(o)+". A region's change is that of the local drag in its box.", figureWidth, changesAt(o, o.Stations))
}

var termNames = [4]string{"total-pressure loss", "axial", "cross-flow", "turbulence"}

// termsFigure shows how the momentum drag of each plane is made up: gains to the
// right of zero, reductions to the left, a tick at the total.
func termsFigure(o *study.Outcome) *Chart {
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
	return rowChart{"Drag by station and term", "Terms of the momentum integral, drag area in m², each plane over its own window. Negative terms plot left of zero; the tick is the total.", figureWidth, newScale1(lo, hi, 7, left, 790), key}.figure(rows)
}

// forceFigure sets the drag in the wake beside the force: what they are apart in each configuration and in its change.
func forceFigure(o *study.Outcome) *Chart {
	var list []change
	for _, f := range o.Forces {
		k := configurationIndex(o, f.Configuration)
		add := func(name string, c study.Closure) {
			// What differs is a resolved difference.
			verdict := map[string]string{"differ": uncertainty.Resolved, "agree": uncertainty.NotResolved}[c.Verdict]
			list = append(list, change{clean(f.Station), name, k, c.Difference, c.Difference - c.Expanded, c.Difference + c.Expanded, cmp.Or(verdict, c.Verdict), plusMinus(c.Difference, c.Expanded, areaDecimals, "m²")})
		}
		if add("drag", f.Closure); f.Delta != nil {
			add("change", f.Delta.Closure)
		}
	}
	return changeFigure(o, "Wake against force", "Drag area in the wake less that of the force, and the same of changes against "+clean(o.Baseline)+", m², with its interval of 95 % coverage; resolved is a difference.", figureWidth, list)
}
