package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// track is what becomes of one length of one configuration along the stream, m, with its ±;
// least where that lacks a category of errors.
type track struct {
	configuration int
	x, v, u       []float64
	least         []bool
}

// trackPanel holds the tracks that are drawn over one another.
type trackPanel struct {
	title  string
	tracks []track
}

// trackPanels stand below one another.
type trackPanels []trackPanel

// put adds a place to the track of a configuration; u is 0 where its ± is not known. Of two planes at
// one place the first counts.
func (ps *trackPanels) put(title string, configuration int, x, v, u float64, least bool) {
	i := slices.IndexFunc(*ps, func(p trackPanel) bool { return p.title == title })
	if i < 0 {
		i = len(*ps)
		*ps = append(*ps, trackPanel{title: title})
	}
	p := &(*ps)[i]
	i = slices.IndexFunc(p.tracks, func(t track) bool { return t.configuration == configuration })
	if i < 0 {
		i = len(p.tracks)
		p.tracks = append(p.tracks, track{configuration: configuration})
	}
	t := &p.tracks[i]
	if n := len(t.x); n == 0 || x-t.x[n-1] > 1e-6 {
		t.x, t.v, t.u, t.least = append(t.x, x), append(t.v, v), append(t.u, u), append(t.least, least)
	}
}

// limits are the least and the largest value, with the ± as far as they do not dwarf the
// values.
func (p *trackPanel) limits() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, t := range p.tracks {
		lo, hi = min(lo, slices.Min(t.v)), max(hi, slices.Max(t.v))
	}
	most, a, b := (hi-lo)/2, lo, hi
	for _, t := range p.tracks {
		for i, v := range t.v {
			a, b = min(a, v-min(t.u[i], most)), max(b, v+min(t.u[i], most))
		}
	}
	return a, b
}

// downstream are the stations in planes normal to x, by place.
func downstream(o *study.Outcome) []study.StationOutcome {
	out := slices.DeleteFunc(slices.Clone(o.Stations), func(s study.StationOutcome) bool { return s.Normal != "x" })
	slices.SortStableFunc(out, func(a, b study.StationOutcome) int { return cmp.Compare(a.Position, b.Position) })
	return out
}

// figure draws what is seen at two places or more, over one axis of x, each panel about the middle of
// its values and all as wide: wheels lie far apart and move little, and a change of width shows beside
// one of height. Nil where there is nothing.
func (ps trackPanels) figure(o *study.Outcome, title, caption string) *figureView {
	const left, right, top, high, between = 70.0, 880.0, 62.0, 140.0, 40.0
	lo, hi, reach := math.Inf(1), math.Inf(-1), 1e-3
	var which []int
	words := ""
	for k := range ps {
		p := &ps[k]
		p.tracks = slices.DeleteFunc(p.tracks, func(t track) bool { return len(t.x) < 2 })
		for _, t := range p.tracks {
			lo, hi, which = min(lo, t.x[0]), max(hi, t.x[len(t.x)-1]), append(which, t.configuration)
			words += p.title + ", " + clean(o.Configurations[t.configuration].Name) + ":"
			for i, x := range t.x {
				words += fmt.Sprintf(" %s at x = %s;", plusMinus(t.v[i], t.u[i], lengthDecimals, "m"), fixed(x, 2))
			}
			words += " "
		}
		if a, b := p.limits(); len(p.tracks) > 0 {
			reach = max(reach, (b-a)/2)
		}
	}
	if which == nil {
		return nil
	}
	d := &drawing{w: figureWidth}
	slices.Sort(which)
	which = slices.Compact(which)
	d.legend(o, which, left+6)
	y := top
	xs := newScale1(lo, hi, 8, left, right)
	for _, p := range ps {
		if len(p.tracks) == 0 {
			continue
		}
		a, b := p.limits()
		s := newScale1((a+b)/2-reach, (a+b)/2+reach, 4, y+high, y)
		d.text("head", left, y-10, "start", p.title)
		d.axes(xs, s, false)
		for _, t := range p.tracks {
			d.track(t, xs, s, 4*(float64(slices.Index(which, t.configuration))-float64(len(which)-1)/2))
		}
		y += high + between
	}
	end := y - between
	xs.ticks(func(at float64, label string) { d.text("tick-label", at, end+18, "middle", label) })
	d.text("tick-label", (left+right)/2, end+36, "middle", "x, m, stream from the left")
	d.h = end + 44
	return d.figure(title, caption+" Bars: ± at 95 %, without ends where it is at least that, since a category of errors is missing; without one it is not known. In plan the vehicle's right is at the top, as on the maps seen from above.", words)
}

// track draws one, its bars aside so that those of several configurations at one station stand beside
// each other. A bar has no end where the ± is at least that or leaves the frame.
func (d *drawing) track(t track, xs, s scale1, aside float64) {
	var pts [][2]float64
	for i, x := range t.x {
		pts = append(pts, [2]float64{xs.at(x), s.at(t.v[i])})
	}
	d.path(series("curve", t.configuration), pts...)
	class := series("bar", t.configuration)
	for i, q := range pts {
		x, v, u := q[0]+aside, t.v[i], t.u[i]
		if u > 0 {
			d.line(class, x, s.inside(v-u), x, s.inside(v+u))
			for _, end := range []float64{v - u, v + u} {
				if s.at(end) == s.inside(end) && !t.least[i] {
					d.line(class, x-3, s.at(end), x+3, s.at(end))
				}
			}
		}
		d.mark(t.configuration, false, q[0], q[1])
	}
}

// pathFigure follows the centroid of each region, or of the whole wake, from
// station to station, in plan and in elevation.
func pathFigure(o *study.Outcome) *figureView {
	var panels trackPanels
	for _, st := range downstream(o) {
		for _, sv := range st.Surveys {
			k := configurationIndex(o, sv.Configuration)
			if sv.Result == nil || k < 0 {
				continue
			}
			boxes := sv.Result.Regions
			if w := sv.Result.Wake; w != nil && !sv.Result.Mesh.CutsBody && len(boxes) == 0 {
				boxes = []measure.Region{{Centroid: w.Centroid, Uncertainty: sv.Result.Uncertainty}}
			}
			for _, r := range boxes {
				name := "the wake"
				if r.Name != "" {
					name = Shorten(boxName(r.Name), 50)
				}
				if r.Centroid == nil {
					continue
				}
				for axis, title := range []string{"plan, " + name + ": y, m", "elevation, " + name + ": z, m"} {
					half, least := 0.0, false
					if u := r.Uncertainty.Centroid; u != nil {
						half, least = u[axis].Expanded, len(u[axis].Lacks()) > 0
					}
					panels.put(title, k, st.Position, r.Centroid[axis], half, least)
				}
			}
		}
	}
	return panels.figure(o, "Path of the centroids", "Centroid of the weight in each region over each plane's own samples, from station to station: where bodies fill different parts of a box, the findings, made on common samples, differ.")
}

// edgeFigure follows the edges of the wake from station to station: to the right, to
// the left and above.
func edgeFigure(o *study.Outcome) *figureView {
	var panels trackPanels
	var threshold float64
	for _, st := range downstream(o) {
		for _, sv := range st.Surveys {
			e, k := sv.Extent, configurationIndex(o, sv.Configuration)
			if e == nil || k < 0 {
				continue
			}
			threshold = e.Threshold
			var u [2][2]float64
			if e.Expanded != nil {
				u = *e.Expanded
			}
			// What the time average makes is not all.
			panels.put("right edge: y, m", k, st.Position, e.Y[1], u[0][1], true)
			panels.put("left edge: y, m", k, st.Position, e.Y[0], u[0][0], true)
			panels.put("upper edge: z, m", k, st.Position, e.Z[1], u[1][1], true)
		}
	}
	return panels.figure(o, "Edge of the wake", "How far the outline of the wake at "+short(threshold)+" of the weight reaches, from station to station; lines shorter than a tenth of the longest are left out.")
}

// profileFigure shows at which height and span the drag of a station sits.
func profileFigure(o *study.Outcome, st study.StationOutcome) *figureView {
	const top, bottom = 66.0, 272.0
	a, b := planeAxes(st.Normal)
	along := map[string]string{"x": "length", "y": "span", "z": "height"}
	a, b, first, second := along[a], along[b], a, b
	d := &drawing{w: figureWidth, h: 320}
	words := "Local drag by " + a + " and by " + b + " at " + stationTitle(st) + "."
	var which []int
	var all [2]measure.Profile
	eachProfile := func(f func(k int, of [2]measure.Profile)) {
		for _, sv := range st.Surveys {
			if k := configurationIndex(o, sv.Configuration); k >= 0 && sv.Profiles != nil && len(sv.Profiles.First.Density) > 0 {
				f(k, [2]measure.Profile{sv.Profiles.First, sv.Profiles.Second})
			}
		}
	}
	eachProfile(func(k int, of [2]measure.Profile) {
		which = append(which, k)
		words += " " + clean(o.Configurations[k].Name) + ": most at"
		for i, p := range of {
			all[i].Edges, all[i].Density = append(all[i].Edges, p.Edges...), append(all[i].Density, p.Density...)
			m := floats.MaxIdx(p.Density)
			words += fmt.Sprintf(" %s %s m", [2]string{first, second}[i], fixed((p.Edges[m]+p.Edges[m+1])/2, 2))
		}
		words += "."
	})
	if which == nil {
		return nil
	}
	place := func(xs []float64, n, a, b float64) scale1 {
		lo, hi := slices.Min(xs), slices.Max(xs)
		return scale1{lo, hi, tickStep((hi - lo) / n), a, b}
	}
	density := func(xs []float64, n int, a, b float64) scale1 {
		return newScale1(min(0, slices.Min(xs)), max(0, slices.Max(xs)), n, a, b)
	}
	d.legend(o, which, 66)
	panels := [2][2]scale1{
		{place(all[0].Edges, 8, 60, 540), density(all[0].Density, 5, bottom, top)},
		{density(all[1].Density, 4, 630, 890), place(all[1].Edges, 5, bottom, top)},
	}
	for i, label := range []string{first + ", m", "drag area per metre, m"} {
		x, y := panels[i][0], panels[i][1]
		d.axes(x, y, true)
		d.text("tick-label", (x.a+x.b)/2, bottom+38, "middle", label)
		d.text("tick-label start", x.a, top-10, "start", "by "+[]string{a + ": drag area per metre, m", b + ": " + second + ", m"}[i])
	}
	d.line("zero", 60, panels[0][1].at(0), 540, panels[0][1].at(0))
	d.line("zero", panels[1][0].at(0), top, panels[1][0].at(0), bottom)
	eachProfile(func(k int, of [2]measure.Profile) {
		for i, p := range of {
			var pts [][2]float64
			for m, v := range p.Density {
				at := (p.Edges[m] + p.Edges[m+1]) / 2
				if i == 1 {
					at, v = v, at
				}
				pts = append(pts, [2]float64{panels[i][0].at(at), panels[i][1].at(v)})
			}
			d.path(series("curve", k), pts...)
		}
	})
	return d.figure("Where the drag sits", "Local drag integrated over strips of each plane's own window; the area under a curve is the drag area of the plane. Strips exchange momentum through pressure, so a strip's share is not the drag of what stands upstream of it.", words)
}

// Convergence shows how a time mean settles: values in their order, the mean of the
// first k of them, and the mean of all with its expanded uncertainty, nil where that is
// not known. step is the time from one to the next, s, nil where it is not known. The
// chart has no shapes where there are fewer than two values or one is not finite.
func Convergence(name string, values, running []float64, mean float64, expanded, step *float64) Chart {
	title := "Time mean of the drag area, " + clean(name)
	if len(values) < 2 || len(running) < len(values) || finite(running) != nil || finite(values) != nil {
		return Chart{Title: title}
	}
	unit, label, u := 1.0, "snapshots averaged", 0.0
	if step != nil {
		unit, label = *step, "time averaged, s"
	}
	if expanded != nil {
		u = *expanded
	}
	const left, right, top, bottom = 80.0, 880.0, 66.0, 330.0
	d := &drawing{w: figureWidth, h: bottom + 44}
	n := float64(len(values)) * unit
	xs, ys := scale1{0, n, tickStep(n / 8), left, right}, newScale1(slices.Min(values), slices.Max(values), 6, bottom, top)
	if expanded != nil {
		d.rect("band", left, ys.inside(mean+u), right, ys.inside(mean-u))
		d.rect("band", left+300, 6, left+314, 20)
		d.text("", left+320, 18, "start", "mean of all ± expanded uncertainty")
	}
	d.axes(xs, ys, true)
	d.text("tick-label", (left+right)/2, bottom+38, "middle", label)
	d.text("head", left, top-10, "start", "drag area, m²")
	var one, run [][2]float64
	for k := range values {
		x := xs.at(float64(k+1) * unit)
		one, run = append(one, [2]float64{x, ys.at(values[k])}), append(run, [2]float64{x, ys.at(running[k])})
	}
	d.path("value-line", one...)
	d.line("zero", left, ys.at(mean), right, ys.at(mean))
	d.path("curve s1 solid", run...)
	d.line("value-line", left, 13, left+24, 13)
	d.text("", left+32, 18, "start", "each")
	d.line("curve s1 solid", left+90, 13, left+114, 13)
	d.text("", left+122, 18, "start", "mean of those so far")
	return d.figure(title, fmt.Sprintf("%s values, mean %s. Where the running mean still leaves the band toward the end, the record is too short.", thousands(len(values)), plusMinus(mean, u, areaDecimals, "m²")), "").chart("")
}
