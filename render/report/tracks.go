package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
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

// put adds a place to the track of a configuration; u is 0 where its ± is not known.
func (p *trackPanel) put(configuration int, x, v, u float64, least bool) {
	i := slices.IndexFunc(p.tracks, func(t track) bool { return t.configuration == configuration })
	if i < 0 {
		i = len(p.tracks)
		p.tracks = append(p.tracks, track{configuration: configuration})
	}
	t := &p.tracks[i]
	t.x, t.v, t.u, t.least = append(t.x, x), append(t.v, v), append(t.u, u), append(t.least, least)
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

// barWords say what the bars of panels are.
func barWords(panels []trackPanel) string {
	all, some, least := 0, 0, 0
	for _, p := range panels {
		for _, t := range p.tracks {
			for i, u := range t.u {
				all++
				if u > 0 {
					some++
				}
				if u > 0 && t.least[i] {
					least++
				}
			}
		}
	}
	partly := ""
	if some < all {
		partly = "; without one it is not known"
	}
	switch {
	case some == 0:
		return "No ± is known for these: a mean kept by blocks of its record would give it. "
	case least == some:
		return "Bars without ends: ± at 95 %, at least, since a category of errors is missing" + partly + ". "
	case least > 0:
		return "Bars: ± at 95 %, without ends where it is at least that, since a category of errors is missing" + partly + ". "
	}
	return "Bars: ± at 95 %" + partly + ". "
}

// downstream are the stations in planes normal to x, by place.
func downstream(o *study.Outcome) []study.StationOutcome {
	out := slices.Clone(o.Stations)
	out = slices.DeleteFunc(out, func(s study.StationOutcome) bool { return s.Normal != "x" })
	slices.SortStableFunc(out, func(a, b study.StationOutcome) int { return cmp.Compare(a.Position, b.Position) })
	return out
}

// drawTracks draws panels with the given ranges below one another, over one axis of x.
func drawTracks(o *study.Outcome, panels []trackPanel, ranges [][2]float64) *drawing {
	const left, right, top, high, between = 70.0, 880.0, 62.0, 140.0, 40.0
	lo, hi := math.Inf(1), math.Inf(-1)
	var which []int
	for _, p := range panels {
		for _, t := range p.tracks {
			lo, hi = min(lo, slices.Min(t.x)), max(hi, slices.Max(t.x))
			if !slices.Contains(which, t.configuration) {
				which = append(which, t.configuration)
			}
		}
	}
	slices.Sort(which)
	d := &drawing{w: figureWidth}
	xs := newScale1(lo, hi, 8, left, right)
	d.legend(o, which, left+6, 14)
	y := top
	for k, p := range panels {
		s := newScale1(ranges[k][0], ranges[k][1], 4, y+high, y)
		d.text("head", left, y-10, "start", p.title)
		s.ticks(plainTick, func(at float64, text string) {
			d.line("tick", left, at, right, at)
			d.text("tick-label end", left-8, at+5, "end", text)
		})
		xs.ticks(plainTick, func(at float64, _ string) { d.line("tick", at, y, at, y+high) })
		for _, t := range p.tracks {
			var pts [][2]float64
			for i, x := range t.x {
				pts = append(pts, [2]float64{xs.at(x), s.at(t.v[i])})
			}
			class := fmt.Sprintf(" s%d", t.configuration%seriesClasses)
			d.path("curve"+class, pts)
			// Bars of several configurations at one station stand beside each other.
			aside := 4 * (float64(slices.Index(which, t.configuration)) - float64(len(which)-1)/2)
			for i, q := range pts {
				if t.u[i] > 0 {
					d.upright(class, t.least[i], q[0]+aside, s, t.v[i], t.u[i])
				}
				d.mark(t.configuration, false, q[0], q[1])
			}
		}
		y += high + between
	}
	end := y - between
	xs.ticks(plainTick, func(at float64, label string) { d.text("tick-label", at, end+18, "middle", label) })
	d.text("tick-label", (left+right)/2, end+36, "middle", "x, m, stream from the left")
	d.h = end + 44
	return d
}

// upright draws v ± u as a bar, without an end where the ± is at least that or leaves the frame.
func (d *drawing) upright(class string, least bool, x float64, s scale1, v, u float64) {
	ends := [2]float64{max(v-u, s.lo), min(v+u, s.hi)}
	d.line("bar"+class, x, s.at(ends[0]), x, s.at(ends[1]))
	for k, end := range []float64{v - u, v + u} {
		if end == ends[k] && !least {
			d.line("bar"+class, x-3, s.at(end), x+3, s.at(end))
		}
	}
}

// planWords say how a chart in plan is seen: as the maps from above.
const planWords = "In plan the vehicle's right is at the top, as on the maps seen from above."

// pathFigure follows the centroid of each region, or of the whole wake, from
// station to station, in plan and in elevation.
func pathFigure(o *study.Outcome) *figureView {
	type region struct {
		name   string
		panels [2]trackPanel // y and z
	}
	var regions []region
	add := func(name, configuration string, x float64, c *[2]float64, u *[2]uncertainty.Budget) {
		k := configurationIndex(o, configuration)
		if c == nil || k < 0 {
			return
		}
		i := slices.IndexFunc(regions, func(r region) bool { return r.name == name })
		if i < 0 {
			i = len(regions)
			regions = append(regions, region{name: name})
		}
		p := &regions[i].panels
		// Of two planes at one place the first counts.
		for _, t := range p[0].tracks {
			if n := len(t.x); t.configuration == k && math.Abs(t.x[n-1]-x) < 1e-6 {
				return
			}
		}
		for axis := range p {
			half, least := 0.0, false
			if u != nil {
				half = u[axis].Expanded
				least = slices.ContainsFunc(u[axis].States, func(s uncertainty.State) bool { return s.How == uncertainty.Unknown })
			}
			p[axis].put(k, x, c[axis], half, least)
		}
	}
	for _, st := range downstream(o) {
		for _, sv := range st.Surveys {
			if sv.Result == nil {
				continue
			}
			if w := sv.Result.Wake; w != nil && !sv.Result.Mesh.CutsBody && len(sv.Result.Regions) == 0 {
				add("the wake", sv.Configuration, st.Position, w.Centroid, sv.Result.Uncertainty.Centroid)
			}
			for _, r := range sv.Result.Regions {
				add(boxName(r.Name), sv.Configuration, st.Position, r.Centroid, r.Uncertainty.Centroid)
			}
		}
	}
	// In plan each region has a range of its own, since wheels lie far apart and move
	// little; all are as wide. In elevation all have one range.
	words, reach := "", 1e-3
	var panels []trackPanel
	high := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, r := range regions {
		for k := range r.panels {
			r.panels[k].tracks = slices.DeleteFunc(r.panels[k].tracks, func(t track) bool { return len(t.x) < 2 })
		}
		if len(r.panels[0].tracks) == 0 {
			continue
		}
		for k, t := range r.panels[0].tracks {
			words += fmt.Sprintf("%s, %s:", r.name, clean(o.Configurations[t.configuration].Name))
			for i, x := range t.x {
				z := r.panels[1].tracks[k]
				words += fmt.Sprintf(" x %s m, y %s, z %s;", fixed(x, 2), plusMinus(t.v[i], t.u[i], 3, "m"), plusMinus(z.v[i], z.u[i], 3, "m"))
			}
			words += " "
		}
		lo, hi := r.panels[0].limits()
		reach = max(reach, (hi-lo)/2)
		lo, hi = r.panels[1].limits()
		high = [2]float64{min(high[0], lo), max(high[1], hi)}
		r.panels[0].title, r.panels[1].title = "plan, "+Shorten(r.name, 50)+": y, m", "elevation, "+Shorten(r.name, 50)+": z, m"
		panels = append(panels, r.panels[:]...)
	}
	if panels == nil {
		return nil
	}
	ranges := make([][2]float64, len(panels))
	for k := range panels {
		ranges[k] = [2]float64{high[0], max(high[1], high[0]+1e-3)}
		if k%2 == 0 {
			lo, hi := panels[k].limits()
			ranges[k] = [2]float64{(lo+hi)/2 - reach, (lo+hi)/2 + reach}
		}
	}
	return drawTracks(o, panels, ranges).figure("Path of the centroids", "Centroid of the weight in each region over each plane's own samples, from station to station: where bodies fill different parts of a box, the findings, made on common samples, differ. "+barWords(panels)+planWords, words)
}

// edgeFigure follows the edges of the wake from station to station: to the right, to
// the left and above.
func edgeFigure(o *study.Outcome) *figureView {
	panels := []trackPanel{{title: "right edge: y, m"}, {title: "left edge: y, m"}, {title: "upper edge: z, m"}}
	var threshold float64
	words, first, last := "", math.Inf(1), math.Inf(-1)
	for _, st := range downstream(o) {
		if st.Position-last < 1e-6 {
			continue
		}
		for _, sv := range st.Surveys {
			k := configurationIndex(o, sv.Configuration)
			if sv.Extent == nil || k < 0 {
				continue
			}
			e := sv.Extent
			threshold, first, last = e.Threshold, min(first, st.Position), st.Position
			var u [2][2]float64
			if e.Expanded != nil {
				u = *e.Expanded
			}
			for p, v := range [][2]float64{{e.Y[1], u[0][1]}, {e.Y[0], u[0][0]}, {e.Z[1], u[1][1]}} {
				// What the time average makes is not all.
				panels[p].put(k, st.Position, v[0], v[1], true)
			}
			words += fmt.Sprintf("%s, %s: y %s to %s, z to %s m. ", clean(st.Name), clean(sv.Configuration), fixed(e.Y[0], 3), fixed(e.Y[1], 3), fixed(e.Z[1], 3))
		}
	}
	if !(last > first) {
		return nil
	}
	// All three have one scale, so that a change of width shows beside one of height.
	reach := 1e-3
	ranges := make([][2]float64, len(panels))
	for k := range panels {
		lo, hi := panels[k].limits()
		reach = max(reach, (hi-lo)/2)
	}
	for k := range panels {
		lo, hi := panels[k].limits()
		ranges[k] = [2]float64{(lo+hi)/2 - reach, (lo+hi)/2 + reach}
	}
	return drawTracks(o, panels, ranges).figure("Edge of the wake", fmt.Sprintf("How far the outline of the wake at %s of the weight reaches, from station to station; lines shorter than a tenth of the longest are left out. ", short(threshold))+barWords(panels)+planWords, words)
}
