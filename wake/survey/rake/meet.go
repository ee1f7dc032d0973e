package rake

import (
	"fmt"
	"math"
	"slices"
)

// overlaps averages the samples of tubes that met at one position, or takes the first with the
// correction off, and says how well they agree.
func (r *reduction) overlaps() {
	samples := r.out.Samples
	if n := r.out.Counts; len(samples) == 0 {
		r.log.refuse(0, 0, fmt.Sprintf("no sample is left: %d readings missing or of tubes at fault, %d outside the acceptance of a probe", n.Missing, n.Outside), "switch the correction tubes off to see the readings, and check columns, frame and acceptance")
	}
	groups := together(len(samples), func(i int) pose { return pose{samples[i].X, samples[i].Y, samples[i].Z} }, atOnePlace)
	var ss, pairs float64
	for _, group := range groups {
		for _, i := range group[1:] {
			if a, b := &samples[group[0]], &samples[i]; a.tube != b.tube && !math.IsNaN(a.Cpt+b.Cpt) {
				ss += sq(b.Cpt-a.Cpt) / 2
				pairs++
			}
		}
	}
	if pairs == 0 {
		return
	}
	step := &r.out.Steps[slices.IndexFunc(r.out.Steps, func(s Step) bool { return s.Name == Repeats })]
	step.Text += fmt.Sprintf("; %g pairs of tubes met at one point and agree within %.4f q", pairs, math.Sqrt(ss/pairs))
	step.Applied = r.on(Repeats)
	r.out.Samples = nil
	for _, group := range groups {
		if !r.on(Repeats) {
			group = group[:1]
		}
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

// average is the mean of samples at one position by their readings. A quantity that one
// of them lacks is left out of the mean; their errors are independent.
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
