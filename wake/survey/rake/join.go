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
func joined(parts []*reduction, samples []Sample) (*reduction, []Sample) {
	all := &reduction{lay: parts[0].lay, off: parts[0].off, log: parts[0].log}
	out := *parts[0].out
	out.Steps, out.Tubes, out.Warnings, out.strips, out.quiet = nil, nil, nil, nil, nil
	out.Rows, out.Counts = RowCounts{}, SampleCounts{}
	all.out = &out
	var scatter, dof, q, rows float64
	for _, r := range parts {
		name := r.log.File
		out.Logs = append(out.Logs, name)
		n := r.out.Rows
		out.Rows.WindOn += n.WindOn
		out.Rows.WindOff += n.WindOff
		out.Rows.Places += n.Places
		out.Rows.Repeated += n.Repeated
		out.Rows.RepeatDOF += n.RepeatDOF
		if n.Repeatability != nil {
			scatter += *n.Repeatability * *n.Repeatability * float64(n.RepeatDOF)
			dof += float64(n.RepeatDOF)
		}
		c := r.out.Counts
		out.Counts.Outside += c.Outside
		out.Counts.Missing += c.Missing
		if ref := r.out.Reference; ref.QMean != nil && out.Reference.QMean != nil {
			lo, hi := math.Min(*ref.QLow, *out.Reference.QLow), math.Max(*ref.QHigh, *out.Reference.QHigh)
			out.Reference.QLow, out.Reference.QHigh = &lo, &hi
			q += *ref.QMean * float64(n.WindOn)
			rows += float64(n.WindOn)
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
			if len(out.strips) <= k {
				out.strips = append(out.strips, Strip{Name: s.Name, State: "good"})
			}
			o := &out.strips[k]
			o.Values, o.Around = append(o.Values, s.Values...), append(o.Around, s.Around...)
		}
		out.quiet = append(out.quiet, r.out.quiet...)
		out.Warnings = append(out.Warnings, r.out.Warnings...)
		all.places = append(all.places, r.places...)
	}
	if dof > 0 {
		out.Rows.Repeatability = finite(math.Sqrt(scatter / dof))
	}
	if rows > 0 {
		out.Reference.QMean = finite(q / rows)
	}
	out.Log = strings.Join(out.Logs, "+")
	return all, all.meet(samples)
}

// meet averages samples of different logs at one position, weighted by their readings,
// and finds how far the logs disagree beyond what their own scatter and zeros tell: the
// standard uncertainty that a log adds to all of its samples.
func (r *reduction) meet(samples []Sample) []Sample {
	places := newPlaces(samples)
	var squares, expected, sum, pairs float64
	for _, group := range places {
		for b, j := range group {
			for _, i := range group[:b] {
				x, y := &samples[i], &samples[j]
				d := y.Cpt - x.Cpt
				if x.log == y.log || math.IsNaN(d) {
					continue
				}
				squares += d * d
				sum += d
				expected += sq(x.parts.noise) + sq(x.parts.zero) + sq(x.parts.fill) + sq(y.parts.noise) + sq(y.parts.zero) + sq(y.parts.fill)
				pairs++
			}
		}
	}
	s := Step{Name: Repeats, Unit: "1", Text: fmt.Sprintf("no position is in more than one of the %d logs", len(r.out.Logs))}
	if pairs == 0 {
		r.warn("logs-apart", "repeat some positions of one log in the next", "no position is in more than one of the %d logs: whether they agree is not known and in no uncertainty", len(r.out.Logs))
		r.step(s)
		return number(samples)
	}
	s.Applied, s.Size = r.on(Repeats), math.Sqrt(squares/pairs)
	beyond := math.Sqrt(math.Max(0, (squares-expected)/pairs/2))
	s.Text = fmt.Sprintf("%g pairs of samples of different logs meet at one position: they differ by %.4f q rms, %+.4f q on the mean, %.4f q rms by their own scatter and zeros; each log adds %.4f q to the uncertainty", pairs, s.Size, sum/pairs, math.Sqrt(expected/pairs), beyond)
	if s.Size > farLogs*math.Sqrt(expected/pairs) {
		r.warn("logs-disagree", "look for a change of the tunnel, the rake or the model between the logs", "at %g shared positions the logs differ by %.4f q rms, their own scatter and zeros tell of %.4f q", pairs, s.Size, math.Sqrt(expected/pairs))
	}
	r.step(s)
	for i := range samples {
		samples[i].parts.logs = beyond
	}
	if !r.on(Repeats) {
		return number(samples)
	}
	out := make([]Sample, 0, len(places))
	for _, group := range places {
		out = append(out, average(samples, group))
	}
	return number(out)
}

// newPlaces groups the numbers of samples at one position, in the order of the first.
func newPlaces(samples []Sample) [][]int {
	type cell [3]int64
	first := map[cell][]int{} // groups by the cell of their first sample
	var out [][]int
	for i := range samples {
		s := &samples[i]
		c := cell{int64(math.Floor(s.X / sameLength)), int64(math.Floor(s.Y / sameLength)), int64(math.Floor(s.Z / sameLength))}
		found := -1
		for k := range 27 {
			for _, g := range first[cell{c[0] + int64(k%3-1), c[1] + int64(k/3%3-1), c[2] + int64(k/9-1)}] {
				if o := &samples[out[g][0]]; found < 0 && math.Abs(s.X-o.X) <= sameLength && math.Abs(s.Y-o.Y) <= sameLength && math.Abs(s.Z-o.Z) <= sameLength {
					found = g
				}
			}
		}
		if found < 0 {
			found = len(out)
			out = append(out, nil)
			first[c] = append(first[c], found)
		}
		out[found] = append(out[found], i)
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
	apart := func(of func(p *parts) float64) float64 {
		var ss float64
		for _, i := range group {
			ss += sq(of(&samples[i].parts) * float64(samples[i].Readings) / float64(total))
		}
		return math.Sqrt(ss)
	}
	out.Cpt = mean(func(s *Sample) float64 { return s.Cpt })
	out.Cp = mean(func(s *Sample) float64 { return s.Cp })
	out.Speed = mean(func(s *Sample) float64 { return s.Speed })
	for k := range out.Velocity {
		out.Velocity[k] = mean(func(s *Sample) float64 { return s.Velocity[k] })
	}
	out.parts.noise = apart(func(p *parts) float64 { return p.noise })
	out.parts.zero = apart(func(p *parts) float64 { return p.zero })
	out.parts.fill = apart(func(p *parts) float64 { return p.fill })
	out.parts.logs = apart(func(p *parts) float64 { return p.logs })
	out.parts.cpNoise = apart(func(p *parts) float64 { return p.cpNoise })
	out.Readings = total
	if slices.ContainsFunc(group, func(i int) bool { return samples[i].State == "" }) {
		out.State = ""
	}
	var ss float64
	for _, i := range group {
		ss += sq(samples[i].SigmaSpeed * float64(samples[i].Readings) / float64(total))
	}
	out.SigmaSpeed = math.Sqrt(ss)
	return out
}

// number gives each sample the number of its position, which those at one share.
func number(samples []Sample) []Sample {
	for home, group := range newPlaces(samples) {
		for _, i := range group {
			samples[i].home = home
		}
	}
	return samples
}
