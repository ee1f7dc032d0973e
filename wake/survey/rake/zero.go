package rake

import (
	"fmt"
	"math"
	"sort"

	"wakeledger/wake"
)

// offRuns are the runs of wind-off rows; none goes on into a further log, whose zeros are its own.
func (r *reduction) offRuns() (out [][]int) {
	for i, still := range r.still {
		if still && (i == 0 || !r.still[i-1] || r.log.begins(i)) {
			out = append(out, nil)
		}
		if still {
			out[len(out)-1] = append(out[len(out)-1], i)
		}
	}
	return out
}

// zeros subtracts each tube's zero: the mean of a run of wind-off rows, linear in
// time between two runs, constant before the first and after the last. With drift
// off it is the mean of the first run. The standard uncertainty of a zero is that of
// the mean, s/√n, and |after−before|/√12 of the drift (METHOD 1i: a rectangular
// distribution over the change, JCGM 100 §4.3.7).
func (r *reduction) zeros() {
	r.sigmaZero = make([]float64, len(r.reading))
	if len(r.reading) == 0 {
		return
	}
	runs := r.offRuns()
	zero, drift := Step{Name: Zero, Unit: "Pa"}, Step{Name: Drift, Unit: "Pa"}
	if len(runs) == 0 {
		zero.Text, drift.Text = "no wind-off rows: zeros are not known", "no wind-off rows"
		r.warn("no-wind-off", "log some rows with the wind off before and after the traverse", "no wind-off rows: the zeros of the tubes are not corrected and their size is not known")
		r.step(zero)
		r.step(drift)
		return
	}
	middle := make([]float64, len(runs)) // of each run, in time
	for k, rows := range runs {
		middle[k], _, _ = moments(wake.At(r.time, rows))
	}
	drift.Applied = r.on(Zero) && r.on(Drift) && len(runs) > 1
	var noise, free, all float64
	for t, v := range r.reading {
		var at, mean []float64 // of the runs in which the tube has readings
		var ss, n, dof float64
		for k, rows := range runs {
			if m, squares, many := moments(wake.At(v, rows)); many > 0 {
				at, mean = append(at, middle[k]), append(mean, m)
				ss, n, dof = ss+squares, n+many, dof+many-1
			}
		}
		if len(mean) == 0 {
			continue
		}
		first, change := mean[0], mean[len(mean)-1]-mean[0]
		rep := &r.out.Tubes[t]
		rep.Zero = first
		if len(mean) > 1 {
			rep.Drift = &change
		}
		noise, free, all = noise+ss, free+dof, all+first*first
		drift.Size = math.Max(drift.Size, math.Abs(change))
		part := change / math.Sqrt(3)
		if drift.Applied || len(runs) == 1 {
			part = change / math.Sqrt(12)
		}
		if !r.on(Zero) {
			part = first
		}
		r.sigmaZero[t] = part
		if dof > 0 {
			r.sigmaZero[t] = math.Hypot(math.Sqrt(ss/dof/(n/float64(len(mean)))), part)
		}
		for i := range v {
			switch {
			case drift.Applied:
				v[i] -= interpolate(at, mean, r.time[i])
			case r.on(Zero):
				v[i] -= first
			}
		}
	}
	if free > 0 {
		r.offNoise = math.Sqrt(noise / free)
	}
	zero.Applied, zero.Size = r.on(Zero), math.Sqrt(all/float64(len(r.reading)))
	zero.Text = fmt.Sprintf("rms %.2f Pa; scatter of a wind-off reading %.2f Pa", zero.Size, r.offNoise)
	r.step(zero)
	if len(runs) == 1 {
		drift.Text = "one run of wind-off rows: drift is not known"
		r.warn("drift-unknown", "log wind-off rows before and after the traverse", "wind-off rows stand at one end of the log only: the drift of the zeros is not known")
	} else {
		drift.Text = fmt.Sprintf("largest %.2f Pa over %.4g %s, linear between %d runs of wind-off rows", drift.Size, middle[len(runs)-1]-middle[0], r.clock, len(runs))
	}
	r.step(drift)
}

// interpolate is linear in x through (xs, ys), constant beyond the ends; xs rises.
func interpolate(xs, ys []float64, x float64) float64 {
	switch k := sort.SearchFloat64s(xs, x); k {
	case 0:
		return ys[0]
	case len(xs):
		return ys[k-1]
	default:
		return ys[k-1] + (x-xs[k-1])/(xs[k]-xs[k-1])*(ys[k]-ys[k-1])
	}
}
