package rake

import (
	"fmt"
	"math"
)

// offGroup is a run of wind-off rows.
type offGroup struct {
	at   float64 // mean time
	rows []int
}

func (r *reduction) offGroups() []offGroup {
	var out []offGroup
	for i := range r.still {
		if !r.still[i] {
			continue
		}
		if n := len(out); n == 0 || out[n-1].rows[len(out[n-1].rows)-1] != i-1 {
			out = append(out, offGroup{})
		}
		g := &out[len(out)-1]
		g.rows = append(g.rows, i)
	}
	for k := range out {
		for _, i := range out[k].rows {
			out[k].at += r.time[i] / float64(len(out[k].rows))
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
	groups := r.offGroups()
	zero, drift := Step{Name: Zero, Unit: "Pa"}, Step{Name: Drift, Unit: "Pa"}
	if len(groups) == 0 {
		zero.Text, drift.Text = "no wind-off rows: zeros are not known", "no wind-off rows"
		r.warn("no-wind-off", "log some rows with the wind off before and after the traverse", "no wind-off rows: the zeros of the tubes are not corrected and their size is not known")
		r.step(zero)
		r.step(drift)
		return
	}
	useDrift := r.on(Zero) && r.on(Drift) && len(groups) > 1
	var noise, dof, all, moved float64
	worst, most := 0, 0
	for t, v := range r.reading {
		mean := make([]float64, 0, len(groups))
		at := make([]float64, 0, len(groups))
		var ss, n, d float64
		for _, g := range groups {
			var m, k float64
			for _, i := range g.rows {
				if !math.IsNaN(v[i]) {
					m += v[i]
					k++
				}
			}
			if k == 0 {
				continue
			}
			m /= k
			for _, i := range g.rows {
				if !math.IsNaN(v[i]) {
					ss += (v[i] - m) * (v[i] - m)
				}
			}
			mean, at = append(mean, m), append(at, g.at)
			n += k
			d += k - 1
		}
		rep := &r.out.Tubes[t]
		if len(mean) == 0 {
			continue
		}
		noise, dof = noise+ss, dof+d
		first, change := mean[0], mean[len(mean)-1]-mean[0]
		rep.Zero = first
		if len(mean) > 1 {
			rep.Drift = &change
		}
		all += first * first
		if math.Abs(first) > math.Abs(r.out.Tubes[worst].Zero) {
			worst = t
		}
		if math.Abs(change) > moved {
			moved, most = math.Abs(change), t
		}
		scatter := 0.0
		if d > 0 {
			scatter = math.Sqrt(ss / d / (n / float64(len(mean))))
		}
		switch {
		case !r.on(Zero):
			r.sigmaZero[t] = math.Hypot(scatter, first)
		case useDrift || len(groups) == 1:
			r.sigmaZero[t] = math.Hypot(scatter, change/math.Sqrt(12))
		default:
			r.sigmaZero[t] = math.Hypot(scatter, change/math.Sqrt(3))
		}
		if !r.on(Zero) {
			continue
		}
		for i := range v {
			z := first
			if useDrift {
				z = interpolate(at, mean, r.time[i])
			}
			v[i] -= z
		}
	}
	if dof > 0 {
		r.offNoise = math.Sqrt(noise / dof)
	}
	zero.Applied = r.on(Zero)
	zero.Size = math.Sqrt(all / float64(len(r.reading)))
	zero.Text = fmt.Sprintf("rms %.2f Pa, largest %+.2f Pa at %s; scatter of a wind-off reading %.2f Pa", zero.Size, r.out.Tubes[worst].Zero, r.tubeName(worst), r.offNoise)
	r.step(zero)
	drift.Applied, drift.Size = useDrift, moved
	if len(groups) == 1 {
		drift.Text = "one run of wind-off rows: drift is not known"
		r.warn("drift-unknown", "log wind-off rows before and after the traverse", "wind-off rows stand at one end of the log only: the drift of the zeros is not known")
	} else {
		drift.Text = fmt.Sprintf("largest %.2f Pa at %s over %.4g %s, linear between %d runs of wind-off rows", moved, r.tubeName(most), groups[len(groups)-1].at-groups[0].at, map[string]string{"time": "s", "row": "log rows"}[r.clock], len(groups))
	}
	r.step(drift)
}

// interpolate is linear in x through (xs, ys), constant beyond the ends; xs rises.
func interpolate(xs, ys []float64, x float64) float64 {
	n := len(xs)
	if x <= xs[0] {
		return ys[0]
	}
	for k := 1; k < n; k++ {
		if x <= xs[k] {
			s := (x - xs[k-1]) / (xs[k] - xs[k-1])
			return ys[k-1] + s*(ys[k]-ys[k-1])
		}
	}
	return ys[n-1]
}
