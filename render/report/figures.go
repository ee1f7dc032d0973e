package report

import (
	"cmp"

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
	const gap, left, y0 = 11.0, 190.0, 34.0
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
	d := &Chart{Title: title, Caption: caption, Width: width}
	d.legend(o, which, 6)
	s := newScale1(lo, hi, int(width)/100, left, width-20)
	y, group := y0, ""
	for i, key := range order {
		if i == 0 || group != key[0] {
			group = key[0]
			d.text("head", 0, y+20, "start", Shorten(group, 60))
			y += 29
		}
		h := gap*float64(len(of[key])) + 9
		s.ticks(func(at float64, _ string) { d.line("tick", at, y, at, y+h) })
		d.text("", 16, y+h/2+5, "start", Shorten(key[1], 22))
		d.words += group + ", " + key[1]
		for i, c := range of[key] {
			d.interval(s, c, y+h/2+gap*(float64(i)-float64(len(of[key])-1)/2))
			d.words += ", " + clean(o.Configurations[c.configuration].Name) + " " + c.words
		}
		d.words += ". "
		d.line("zero", s.at(0), y, s.at(0), y+h)
		y += h
	}
	s.ticks(func(at float64, label string) { d.text("tick-label", at, y+18, "middle", label) })
	d.Height = y + 34
	return d
}

func changeWords(o *study.Outcome) string {
	return "Change of drag area against " + clean(o.Baseline) + ", m², with 95 % intervals"
}

// storyStations: the quoted one and the foremost other.
const storyStations = 2

// storyFigure sets the changes by part of the vehicle beside those by region of the wake, on one scale.
func storyFigure(o *study.Outcome) *Chart {
	stations := stationsInOrder(o)
	return changeFigure(o, "Where the change is", changeWords(o)+": by vehicle part from the force, and by wake box, whose local drag is not that of the part upstream. "+signsWords,
		narrowWidth, append(changesByPart(o), changesAt(o, stations[:min(storyStations, len(stations))])...))
}

// regionsFigure is the drag ledger by region, at all stations.
func regionsFigure(o *study.Outcome) *Chart {
	return changeFigure(o, "Ledger by region", changeWords(o)+". A region's change is that of the local drag in its box. "+signsWords, figureWidth, changesAt(o, o.Stations))
}

// termsFigure sets the terms of each plane's momentum integral and their sum beside those of the other configurations.
func termsFigure(o *study.Outcome) *Chart {
	var list []change
	for _, st := range o.Stations {
		for i, name := range [5]string{"total-pressure loss", "axial", "cross-flow", "turbulence", "sum"} {
			for _, sv := range st.Surveys {
				k, d := configurationIndex(o, sv.Configuration), sv.Result.Drag
				if d == nil || d.Momentum == nil || sv.Result.Mesh.CutsBody {
					continue
				}
				t := &d.Momentum.Terms
				if v := [5]*float64{&t.TotalPressure, &t.Axial, &t.Crossflow, t.Turbulence, &d.Momentum.DragArea}[i]; v != nil {
					list = append(list, change{stationTitle(st), name, k, *v, *v, *v, uncertainty.Resolved, fixed(*v, 3) + " m²"})
				}
			}
		}
	}
	return changeFigure(o, "Drag by station and term", "Terms of the momentum integral and their sum, drag area in m², each plane over its own window, without ±.", figureWidth, list)
}

// forceFigure sets the drag in the wake beside the force: what they are apart in each configuration and in its change.
func forceFigure(o *study.Outcome) *Chart {
	var list []change
	for _, f := range o.Forces {
		k := configurationIndex(o, f.Configuration)
		add := func(name string, c compare.Closure) {
			// What differs is a resolved difference.
			verdict := map[string]string{"differ": uncertainty.Resolved, "agree": uncertainty.NotResolved}[c.Verdict]
			list = append(list, change{clean(f.Station), name, k, c.Difference, c.Difference - c.Expanded, c.Difference + c.Expanded, cmp.Or(verdict, c.Verdict), plusMinus(c.Difference, c.Expanded, areaDecimals, "m²")})
		}
		if add("drag", f.Closure); f.Delta != nil {
			add("change", f.Delta.Closure)
		}
	}
	return changeFigure(o, "Wake against force", "Wake minus force, drag area in m², for each configuration and its change from "+clean(o.Baseline)+", with 95 % intervals. Resolved means that they differ. "+signsWords, figureWidth, list)
}
