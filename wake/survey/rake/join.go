package rake

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// farLogs: logs whose readings at shared positions differ by more than this number of
// what their own scatter and zeros tell are said to disagree.
const farLogs = 3

// joined makes one reduction of the logs' own: counts and ranges together, each log's
// steps, tubes and doubts under its name, and the samples of shared positions averaged.
func joined(parts []*reduction) *reduction {
	out := *parts[0].out
	out.Steps, out.Tubes, out.Warnings, out.Samples, out.quiet = nil, nil, nil, nil, nil
	out.strips = make([]Strip, len(out.strips))
	out.Rows, out.Counts = RowCounts{}, SampleCounts{}
	all := &reduction{lay: parts[0].lay, off: parts[0].off, log: parts[0].log, out: &out}
	var scatter, q float64
	for _, r := range parts {
		name := r.log.File
		out.Logs = append(out.Logs, name)
		to, n := &out.Rows, r.out.Rows
		to.WindOn, to.WindOff = to.WindOn+n.WindOn, to.WindOff+n.WindOff
		to.Places, to.Repeated, to.RepeatDOF = to.Places+n.Places, to.Repeated+n.Repeated, to.RepeatDOF+n.RepeatDOF
		if n.Repeatability != nil {
			scatter += *n.Repeatability * *n.Repeatability * float64(n.RepeatDOF)
		}
		out.Counts.Outside += r.out.Counts.Outside
		out.Counts.Missing += r.out.Counts.Missing
		if ref := r.out.Reference; ref.QMean != nil {
			out.Reference.QLow = finite(math.Min(*ref.QLow, *out.Reference.QLow))
			out.Reference.QHigh = finite(math.Max(*ref.QHigh, *out.Reference.QHigh))
			q += *ref.QMean * float64(n.WindOn)
		}
		for _, s := range r.out.Steps {
			s.Log = name
			out.Steps = append(out.Steps, s)
		}
		for _, t := range r.out.Tubes {
			t.Log = name
			out.Tubes = append(out.Tubes, t)
		}
		for k, s := range r.out.strips {
			o := &out.strips[k]
			o.Name, o.Values, o.Around = s.Name, append(o.Values, s.Values...), append(o.Around, s.Around...)
		}
		out.quiet = append(out.quiet, r.out.quiet...)
		out.Warnings = append(out.Warnings, r.out.Warnings...)
		out.Samples = append(out.Samples, r.out.Samples...)
		all.places = append(all.places, r.places...)
	}
	if out.Rows.RepeatDOF > 0 {
		out.Rows.Repeatability = finite(math.Sqrt(scatter / float64(out.Rows.RepeatDOF)))
	}
	if out.Reference.QMean != nil {
		out.Reference.QMean = finite(q / float64(out.Rows.WindOn))
	}
	out.Log = strings.Join(out.Logs, "+")
	all.meet()
	return all
}

// meet averages samples of different logs at one position, weighted by their readings,
// and finds how far the logs disagree beyond what their own scatter and zeros tell: the
// standard uncertainty that a log adds to all of its samples.
func (r *reduction) meet() {
	samples := r.out.Samples
	groups := positions(samples)
	var squares, expected, sum, pairs float64
	for _, group := range groups {
		for b, j := range group {
			for _, i := range group[:b] {
				x, y := &samples[i], &samples[j]
				d := y.Cpt - x.Cpt
				if x.log == y.log || math.IsNaN(d) {
					continue
				}
				pairs++
				squares, sum = squares+d*d, sum+d
				for _, p := range []*Sample{x, y} {
					expected += sq(p.parts[byNoise]) + sq(p.parts[byZero]) + sq(p.parts[byFill])
				}
			}
		}
	}
	if pairs == 0 {
		text := fmt.Sprintf("no position is in more than one of the %d logs", len(r.out.Logs))
		r.warn("logs-apart", "repeat some positions of one log in the next", "%s: whether they agree is not known and in no uncertainty", text)
		r.step(Step{Name: Repeats, Unit: "1", Text: text})
		return
	}
	size, own, beyond := math.Sqrt(squares/pairs), math.Sqrt(expected/pairs), math.Sqrt(math.Max(0, (squares-expected)/pairs/2))
	r.step(Step{Name: Repeats, Unit: "1", Applied: r.on(Repeats), Size: size,
		Text: fmt.Sprintf("%g pairs of samples of different logs meet at one position: they differ by %.4f q rms, %+.4f q on the mean, %.4f q rms by their own scatter and zeros; each log adds %.4f q to the uncertainty", pairs, size, sum/pairs, own, beyond)})
	if size > farLogs*own {
		r.warn("logs-disagree", "look for a change of the tunnel, the rake or the model between the logs", "at %g shared positions the logs differ by %.4f q rms, their own scatter and zeros tell of %.4f q", pairs, size, own)
	}
	for i := range samples {
		samples[i].parts[byLogs] = beyond
	}
	if !r.on(Repeats) {
		return
	}
	r.merge(groups)
}

// merge averages the samples of each group.
func (r *reduction) merge(groups [][]int) {
	samples := r.out.Samples
	r.out.Samples = nil
	for _, group := range groups {
		r.out.Samples = append(r.out.Samples, average(samples, group))
	}
}

// together groups points within reach of a group's first one in every coordinate, in
// the order of the first.
func together(n int, at func(i int) pose, reach pose) [][]int {
	first := map[[4]int64][]int{} // groups by the cell, twice the reach wide, of their first point
	var out [][]int
	for i := range n {
		p := at(i)
		var cell, aside [4]int64
		for k, x := range p {
			x /= 2 * reach[k]
			cell[k], aside[k] = int64(math.Floor(x)), -1
			if x-math.Floor(x) > 0.5 {
				aside[k] = 1
			}
		}
		found := len(out)
		for corner := range 16 {
			c := cell
			for k := range c {
				if corner>>k&1 == 1 {
					c[k] += aside[k]
				}
			}
			for _, g := range first[c] {
				if g < found && within(p, at(out[g][0]), reach) {
					found = g
				}
			}
		}
		if found == len(out) {
			out = append(out, nil)
			first[cell] = append(first[cell], found)
		}
		out[found] = append(out[found], i)
	}
	return out
}

func within(p, q, reach pose) bool {
	for k := range p {
		if !(math.Abs(p[k]-q[k]) <= reach[k]) {
			return false
		}
	}
	return true
}

func positions(samples []Sample) [][]int {
	out := together(len(samples), func(i int) pose { return pose{samples[i].X, samples[i].Y, samples[i].Z} }, atOnePlace)
	for home, group := range out {
		for _, i := range group {
			samples[i].home = home
		}
	}
	return out
}

// average is the mean of samples at one position by their readings. A quantity that one
// of them lacks is left out of the mean; errors of different logs are independent.
func average(samples []Sample, group []int) Sample {
	out := samples[group[0]]
	if len(group) == 1 {
		return out
	}
	mean := func(of func(s *Sample) float64) float64 {
		var sum, n float64
		for _, i := range group {
			if v := of(&samples[i]); !math.IsNaN(v) {
				sum += v * float64(samples[i].Readings)
				n += float64(samples[i].Readings)
			}
		}
		return sum / n
	}
	total := 0
	for _, i := range group {
		total += samples[i].Readings
	}
	apart := func(of func(s *Sample) float64) float64 {
		v := make([]float64, len(group))
		for k, i := range group {
			v[k] = of(&samples[i]) * float64(samples[i].Readings) / float64(total)
		}
		return rss(v...)
	}
	out.Cpt = mean(func(s *Sample) float64 { return s.Cpt })
	out.Cp = mean(func(s *Sample) float64 { return s.Cp })
	out.Speed = mean(func(s *Sample) float64 { return s.Speed })
	for k := range out.Velocity {
		out.Velocity[k] = mean(func(s *Sample) float64 { return s.Velocity[k] })
	}
	for k := range out.parts {
		if source(k) != byStatic {
			out.parts[k] = apart(func(s *Sample) float64 { return s.parts[k] })
		}
	}
	out.SigmaSpeed = apart(func(s *Sample) float64 { return s.SigmaSpeed })
	out.Readings = total
	if slices.ContainsFunc(group, func(i int) bool { return samples[i].State == "" }) {
		out.State = ""
	}
	return out
}

func sq(x float64) float64 { return x * x }
