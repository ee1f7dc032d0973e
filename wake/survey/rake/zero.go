package rake

import (
	"fmt"
	"math"
	"sort"

	"wakeledger/wake"
)

type offGroup struct {
	at   float64 // mean time
	rows []int
}

func (r *reduction) offGroups() []offGroup {
	var out []offGroup
	for i, still := range r.still {
		if still && (i == 0 || !r.still[i-1]) {
			out = append(out, offGroup{})
		}
		if still {
			g := &out[len(out)-1]
			g.rows = append(g.rows, i)
		}
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
	drift.Applied = r.on(Zero) && r.on(Drift) && len(groups) > 1
	var noise, dof, all float64
	worst, most := 0, 0
	for t, v := range r.reading {
		z := newTubeZero(v, groups)
		if len(z.mean) == 0 {
			continue
		}
		rep := &r.out.Tubes[t]
		noise, dof = noise+z.squares, dof+z.dof
		first, change := z.mean[0], z.mean[len(z.mean)-1]-z.mean[0]
		rep.Zero = first
		if len(z.mean) > 1 {
			rep.Drift = &change
		}
		all += first * first
		if math.Abs(first) > math.Abs(r.out.Tubes[worst].Zero) {
			worst = t
		}
		if math.Abs(change) > drift.Size {
			drift.Size, most = math.Abs(change), t
		}
		part := change / math.Sqrt(3)
		if drift.Applied || len(groups) == 1 {
			part = change / math.Sqrt(12)
		}
		if !r.on(Zero) {
			part = first
		}
		r.sigmaZero[t] = math.Hypot(z.scatter(), part)
		for i := range v {
			switch {
			case drift.Applied:
				v[i] -= interpolate(z.at, z.mean, r.time[i])
			case r.on(Zero):
				v[i] -= first
			}
		}
	}
	if dof > 0 {
		r.offNoise = math.Sqrt(noise / dof)
	}
	zero.Applied, zero.Size = r.on(Zero), math.Sqrt(all/float64(len(r.reading)))
	zero.Text = fmt.Sprintf("rms %.2f Pa, largest %+.2f Pa at %s; scatter of a wind-off reading %.2f Pa", zero.Size, r.out.Tubes[worst].Zero, r.tubeName(worst), r.offNoise)
	r.step(zero)
	if len(groups) == 1 {
		drift.Text = "one run of wind-off rows: drift is not known"
		r.warn("drift-unknown", "log wind-off rows before and after the traverse", "wind-off rows stand at one end of the log only: the drift of the zeros is not known")
	} else {
		drift.Text = fmt.Sprintf("largest %.2f Pa at %s over %.4g %s, linear between %d runs of wind-off rows", drift.Size, r.tubeName(most), groups[len(groups)-1].at-groups[0].at, map[string]string{"time": "s", "row": "log rows"}[r.clock], len(groups))
	}
	r.step(drift)
}

// tubeZero is what a tube reads in the runs of wind-off rows in which it has readings.
type tubeZero struct {
	at, mean        []float64
	squares, n, dof float64
}

func newTubeZero(v []float64, groups []offGroup) (z tubeZero) {
	for _, g := range groups {
		still := wake.At(v, g.rows)
		if m, n := meanOf(still); n > 0 {
			z.at, z.mean = append(z.at, g.at), append(z.mean, m)
			z.squares = addSquares(z.squares, still, m)
			z.n, z.dof = z.n+n, z.dof+n-1
		}
	}
	return z
}

func (z *tubeZero) scatter() float64 {
	if z.dof == 0 {
		return 0
	}
	return math.Sqrt(z.squares / z.dof / (z.n / float64(len(z.mean))))
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
