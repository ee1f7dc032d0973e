package report

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/wake/study"
)

// edgeTrack is one edge of one configuration along the stations.
type edgeTrack struct {
	configuration int
	x, v          []float64
}

// edgeFigure follows the edges of the wake from station to station: to the right, to
// the left and above. Only planes normal to x count; of two planes at one place the
// first does.
func edgeFigure(o *study.Outcome) *figureView {
	stations := slices.Clone(o.Stations)
	slices.SortStableFunc(stations, func(a, b study.StationOutcome) int {
		switch {
		case a.Position < b.Position:
			return -1
		case a.Position > b.Position:
			return 1
		}
		return 0
	})
	titles := [3]string{"right edge: y, m", "left edge: y, m", "upper edge: z, m"}
	var tracks [3][]edgeTrack
	var which []int
	var threshold float64
	lo, hi := math.Inf(1), math.Inf(-1)
	words, last := "", math.Inf(-1)
	for _, st := range stations {
		if st.Normal != "x" || st.Position-last < 1e-6 {
			continue
		}
		for _, sv := range st.Surveys {
			k := configurationIndex(o, sv.Configuration)
			if sv.Extent == nil || k < 0 {
				continue
			}
			e := sv.Extent
			last, threshold = st.Position, e.Threshold
			lo, hi = min(lo, st.Position), max(hi, st.Position)
			if !slices.Contains(which, k) {
				which = append(which, k)
			}
			for p, v := range []float64{e.Y[1], e.Y[0], e.Z[1]} {
				i := slices.IndexFunc(tracks[p], func(t edgeTrack) bool { return t.configuration == k })
				if i < 0 {
					i = len(tracks[p])
					tracks[p] = append(tracks[p], edgeTrack{configuration: k})
				}
				tracks[p][i].x, tracks[p][i].v = append(tracks[p][i].x, st.Position), append(tracks[p][i].v, v)
			}
			words += fmt.Sprintf("%s, %s: y %s to %s, z to %s m. ", clean(st.Name), clean(sv.Configuration), fixed(e.Y[0], 3), fixed(e.Y[1], 3), fixed(e.Z[1], 3))
		}
	}
	if !(hi > lo) {
		return nil
	}
	slices.Sort(which)
	// All three have one scale, so that a change of width shows beside one of height.
	reach := 0.0
	var middle [3]float64
	for p := range tracks {
		a, b := math.Inf(1), math.Inf(-1)
		for _, t := range tracks[p] {
			a, b = min(a, slices.Min(t.v)), max(b, slices.Max(t.v))
		}
		middle[p], reach = (a+b)/2, max(reach, (b-a)/2, 1e-3)
	}
	const left, right, top, high, between = 70.0, 880.0, 62.0, 140.0, 40.0
	d := &drawing{w: figureWidth}
	xs := newScale1(lo, hi, 8, left, right)
	d.legend(o, which, left+6, 14)
	y := top
	for p, title := range titles {
		s := newScale1(middle[p]-reach, middle[p]+reach, 4, y+high, y)
		d.text("head", left, y-10, "start", title)
		s.ticks(plainTick, func(at float64, text string) {
			d.line("tick", left, at, right, at)
			d.text("tick-label end", left-8, at+5, "end", text)
		})
		xs.ticks(plainTick, func(at float64, _ string) { d.line("tick", at, y, at, y+high) })
		for _, t := range tracks[p] {
			var pts [][2]float64
			for i, x := range t.x {
				pts = append(pts, [2]float64{xs.at(x), s.at(t.v[i])})
			}
			d.path(fmt.Sprintf("curve s%d", t.configuration%seriesClasses), pts)
			for _, q := range pts {
				d.mark(t.configuration, false, q[0], q[1])
			}
		}
		y += high + between
	}
	end := y - between
	xs.ticks(plainTick, func(at float64, label string) { d.text("tick-label", at, end+18, "middle", label) })
	d.text("tick-label", (left+right)/2, end+36, "middle", "x, m, stream from the left")
	d.h = end + 44
	return d.figure("Edge of the wake", fmt.Sprintf("How far the outline of the wake at %s of the weight reaches, from station to station; lines shorter than a tenth of the longest are left out. No uncertainty is known for these. "+planWords, short(threshold)), words)
}
