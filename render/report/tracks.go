package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// curve is what one configuration has in a panel: places, and along the stream the ± of their y, 0 where it is not
// known, and whether that lacks a category of errors.
type curve struct {
	configuration int
	x, y, u       []float64
	least         []bool
}

// panel holds the curves that are drawn over one another.
type panel struct {
	title  string
	curves []curve
}

// panels stand below one another.
type panels []panel

// put adds a place to the curve of a configuration. Of two planes at one place the first counts.
func (ps *panels) put(title string, configuration int, x, y, u float64, least bool) {
	i := slices.IndexFunc(*ps, func(p panel) bool { return p.title == title })
	if i < 0 {
		i = len(*ps)
		*ps = append(*ps, panel{title: title})
	}
	p := &(*ps)[i]
	i = slices.IndexFunc(p.curves, func(t curve) bool { return t.configuration == configuration })
	if i < 0 {
		i = len(p.curves)
		p.curves = append(p.curves, curve{configuration: configuration})
	}
	t := &p.curves[i]
	if n := len(t.x); n == 0 || x-t.x[n-1] > 1e-6 {
		t.x, t.y, t.u, t.least = append(t.x, x), append(t.y, y), append(t.u, u), append(t.least, least)
	}
}

// limits are the least and the largest value, with the ± as far as they do not dwarf the
// values.
func (p *panel) limits() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, t := range p.curves {
		lo, hi = min(lo, slices.Min(t.y)), max(hi, slices.Max(t.y))
	}
	most, a, b := (hi-lo)/2, lo, hi
	for _, t := range p.curves {
		for i, v := range t.y {
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
// one of height. None where there is nothing.
func (ps panels) figure(o *study.Outcome, title, caption string) *Chart {
	const left, right, top, high, between = 70.0, 880.0, 62.0, 140.0, 40.0
	lo, hi, reach := math.Inf(1), math.Inf(-1), 1e-3
	var which []int
	known := false
	d := &Chart{Title: title, Width: figureWidth, Caption: caption + " In plan, the vehicle's right is up."}
	for k := range ps {
		p := &ps[k]
		p.curves = slices.DeleteFunc(p.curves, func(t curve) bool { return len(t.x) < 2 })
		for _, t := range p.curves {
			known = known || slices.Max(t.u) > 0
			lo, hi, which = min(lo, t.x[0]), max(hi, t.x[len(t.x)-1]), append(which, t.configuration)
			d.words += p.title + ", " + clean(o.Configurations[t.configuration].Name) + ":"
			for i, x := range t.x {
				d.words += fmt.Sprintf(" %s at x = %s;", plusMinus(t.y[i], t.u[i], lengthDecimals, "m"), fixed(x, 2))
			}
			d.words += " "
		}
		if a, b := p.limits(); len(p.curves) > 0 {
			reach = max(reach, (b-a)/2)
		}
	}
	if which == nil {
		return nil
	}
	if known {
		d.Caption += " Bars: 95 % ±; no end caps: a lower bound; no bar: unknown."
	}
	slices.Sort(which)
	which = slices.Compact(which)
	d.legend(o, which, left+6)
	y := top
	xs := newScale1(lo, hi, 8, left, right)
	for _, p := range ps {
		if len(p.curves) == 0 {
			continue
		}
		a, b := p.limits()
		s := newScale1((a+b)/2-reach, (a+b)/2+reach, 4, y+high, y)
		d.text("head", left, y-10, "start", p.title)
		d.axes(xs, s, "")
		for _, t := range p.curves {
			d.curve(t, xs, s)
			d.bars(t, xs, s, 4*(float64(slices.Index(which, t.configuration))-float64(len(which)-1)/2))
		}
		y += high + between
	}
	end := y - between
	xs.ticks(func(at float64, label string) { d.text("tick-label", at, end+18, "middle", label) })
	d.text("tick-label", (left+right)/2, end+36, "middle", "x, m, stream from the left")
	d.Height = end + 44
	return d
}

func (d *Chart) curve(t curve, xs, ys scale1) {
	var pts [][2]float64
	for i, x := range t.x {
		pts = append(pts, [2]float64{xs.at(x), ys.at(t.y[i])})
	}
	d.path(series("curve", t.configuration), pts...)
}

// bars draws the ± of a curve and its signs, the bars aside so that those of several configurations at one station
// stand beside each other. A bar has no end where the ± is at least that or leaves the frame.
func (d *Chart) bars(t curve, xs, s scale1, aside float64) {
	class := series("bar", t.configuration)
	for i, v := range t.y {
		at, u := xs.at(t.x[i]), t.u[i]
		if x := at + aside; u > 0 {
			d.line(class, x, s.inside(v-u), x, s.inside(v+u))
			for _, end := range []float64{v - u, v + u} {
				if s.at(end) == s.inside(end) && !t.least[i] {
					d.line(class, x-3, s.at(end), x+3, s.at(end))
				}
			}
		}
		d.mark(t.configuration, false, at, s.at(v))
	}
}

// pathFigure follows the centroid of each region, or of the whole wake, from
// station to station, in plan and in elevation.
func pathFigure(o *study.Outcome) *Chart {
	var ps panels
	for _, st := range downstream(o) {
		for _, sv := range st.Surveys {
			k := configurationIndex(o, sv.Configuration)
			if k < 0 {
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
					ps.put(title, k, st.Position, r.Centroid[axis], half, least)
				}
			}
		}
	}
	return ps.figure(o, "Path of the centroids", "Centroid of the weight in each region over each plane's own samples, from station to station.")
}

// edgeFigure follows the edges of the wake from station to station: to the right, to
// the left and above.
func edgeFigure(o *study.Outcome) *Chart {
	var ps panels
	var threshold float64
	for _, st := range downstream(o) {
		for _, sv := range st.Surveys {
			e, k := sv.Extent, configurationIndex(o, sv.Configuration)
			if e == nil || k < 0 {
				continue
			}
			threshold = e.Threshold
			u := wake.Deref(e.Expanded)
			// What the time average makes is not all.
			ps.put("right edge: y, m", k, st.Position, e.Y[1], u[0][1], true)
			ps.put("left edge: y, m", k, st.Position, e.Y[0], u[0][0], true)
			ps.put("upper edge: z, m", k, st.Position, e.Z[1], u[1][1], true)
		}
	}
	return ps.figure(o, "Edge of the wake", "How far the outline of the wake at "+short(threshold)+" of the weight reaches, from station to station; lines shorter than a tenth of the longest are left out.")
}

// profileFigure shows at which height and span the drag of a station sits.
func profileFigure(o *study.Outcome, st study.StationOutcome) *Chart {
	const top, bottom = 66.0, 272.0
	var axes [2]string
	axes[0], axes[1] = planeAxes(st.Normal)
	along := map[string]string{"x": "length", "y": "span", "z": "height", "s": "s", "t": "t"}
	d := &Chart{Title: "Where the drag sits", Width: figureWidth, Height: 320, words: "Local drag by " + along[axes[0]] + " and by " + along[axes[1]] + " at " + stationTitle(st) + ".",
		Caption: "Local drag integrated over strips of each plane's own window; the area under a curve is the drag area of the plane. Strips exchange momentum through pressure, so a strip's share is not the drag of what stands upstream of it."}
	var curves [2][]curve
	var places [2][]float64
	values := [2][]float64{{0}, {0}}
	var which []int
	for _, sv := range st.Surveys {
		k := configurationIndex(o, sv.Configuration)
		if k < 0 || sv.Profiles == nil || len(sv.Profiles.First.Density) == 0 {
			continue
		}
		which = append(which, k)
		for i, p := range []measure.Profile{sv.Profiles.First, sv.Profiles.Second} {
			c := curve{configuration: k, y: p.Density}
			for m := range p.Density {
				c.x = append(c.x, (p.Edges[m]+p.Edges[m+1])/2)
			}
			if i == 1 { // heights upward
				c.x, c.y = c.y, c.x
			}
			curves[i], places[i], values[i] = append(curves[i], c), append(places[i], p.Edges...), append(values[i], p.Density...)
		}
	}
	if which == nil {
		return nil
	}
	d.legend(o, which, 66)
	place := func(xs []float64, n, a, b float64) scale1 {
		lo, hi := slices.Min(xs), slices.Max(xs)
		return scale1{lo, hi, tickStep((hi - lo) / n), a, b}
	}
	density := func(xs []float64, n int, a, b float64) scale1 {
		return newScale1(slices.Min(xs), slices.Max(xs), n, a, b)
	}
	for i, xy := range [2][2]scale1{
		{place(places[0], 8, 60, 540), density(values[0], 5, bottom, top)},
		{density(values[1], 4, 630, 890), place(places[1], 5, bottom, top)},
	} {
		x, y, labels := xy[0], xy[1], [2]string{axes[i] + ", m", "drag area per metre, m"}
		d.axes(x, y, labels[i])
		d.text("tick-label start", x.a, top-10, "start", "by "+along[axes[i]]+": "+labels[1-i])
		for _, c := range curves[i] {
			d.curve(c, x, y)
		}
	}
	return d
}
