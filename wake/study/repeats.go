package study

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// Repeats is what several surveys of one configuration at one station say of the
// drag area that they quote.
type Repeats struct {
	Configuration string `json:"configuration"`
	// Method is that of the drag areas: all runs are read by the first one's.
	Method string `json:"method"`
	// Runs are in the order in which they were made: the survey, then its repeats.
	Runs []RepeatRun `json:"runs"`
	// Mean, SD and Standard, of the mean, over the runs.
	Mean     float64 `json:"mean_m2"`
	SD       float64 `json:"sd_m2"`
	Standard float64 `json:"standard_m2"`
	Expanded float64 `json:"expanded_m2"`
	Coverage float64 `json:"coverage"`
	DOF      float64 `json:"dof"`
	// Drift is the change from one run to the next by a straight line, with its
	// expanded uncertainty; nil for fewer than three runs.
	Drift *Drift `json:"drift,omitempty"`
	// Against compares the means with the baseline's; nil for the baseline and
	// where it was not repeated.
	Against *RepeatComparison `json:"against_baseline,omitempty"`
	Text    string            `json:"text"`
}

// RepeatRun is one run.
type RepeatRun struct {
	File     string  `json:"file"`
	DragArea float64 `json:"drag_area_m2"`
}

// Drift is a change over the order of the runs.
type Drift struct {
	PerRun   float64 `json:"per_run_m2"`
	Expanded float64 `json:"expanded_m2"`
	DOF      float64 `json:"dof"`
	Verdict  string  `json:"verdict"`
}

// RepeatComparison is the difference of two means, after Welch and with one pooled
// standard deviation.
type RepeatComparison struct {
	Difference float64    `json:"difference_m2"`
	Standard   float64    `json:"standard_m2"`
	T          *float64   `json:"t,omitempty"`
	DOF        float64    `json:"dof"`
	Expanded   float64    `json:"expanded_m2"`
	Coverage   float64    `json:"coverage"`
	Interval   [2]float64 `json:"interval_m2"`
	Verdict    string     `json:"verdict"`
	// The same with the standard deviation of all repeats of the station together.
	PooledSD       float64 `json:"pooled_sd_m2"`
	PooledStandard float64 `json:"pooled_standard_m2"`
	PooledExpanded float64 `json:"pooled_expanded_m2"`
	PooledDOF      float64 `json:"pooled_dof"`
	PooledVerdict  string  `json:"pooled_verdict"`
}

// repeated measures the repeats at station s and puts what they scatter by into
// the budgets of the station.
func (r *runner) repeated(s int, opt *measure.Options) error {
	o := &r.out.Stations[s]
	bare := r.opt
	bare.Uncertainty = measure.Inputs{}
	samples := make([]uncertainty.Sample, len(r.at[s]))
	for k, p := range r.at[s] {
		if p == nil || len(r.repeats[k]) == 0 {
			continue
		}
		runs := []*wake.Plane{p}
		for _, planes := range r.repeats[k] {
			if q := r.nearStation(s, planes); q != nil {
				runs = append(runs, q)
			}
		}
		if len(runs) < 2 {
			continue
		}
		rep := Repeats{Configuration: r.c.Configurations[k].Name}
		var v []float64
		for _, q := range runs {
			m, err := measure.Take(q, bare)
			if err != nil {
				return err
			}
			if rep.Method == "" && m.Result.Drag != nil {
				rep.Method = m.Result.Drag.Headline
			}
			i := m.Layout.Method(rep.Method)
			if i < 0 || math.IsNaN(m.Values[i]) {
				continue
			}
			v = append(v, m.Values[i])
			rep.Runs = append(rep.Runs, RepeatRun{q.Name(), m.Values[i]})
		}
		if len(v) < 2 {
			continue
		}
		samples[k] = uncertainty.NewSample(v)
		rep.summarise(v)
		o.Repeats = append(o.Repeats, rep)
	}
	sd, dof := uncertainty.Pooled(samples...)
	if dof == 0 {
		return nil
	}
	opt.Uncertainty.Repeat, opt.Uncertainty.RepeatDOF = sd, dof
	base := slices.IndexFunc(r.c.Configurations, func(c Configuration) bool { return c.Name == r.c.Baseline })
	if base < 0 || samples[base].N < 2 {
		return nil
	}
	for i := range o.Repeats {
		rep := &o.Repeats[i]
		k := slices.IndexFunc(r.c.Configurations, func(c Configuration) bool { return c.Name == rep.Configuration })
		if k != base {
			rep.Against = against(samples[base], samples[k], sd, dof)
			rep.Text += "; " + rep.Against.words(r.c.Baseline, samples[base].N, samples[k].N)
		}
	}
	return nil
}

// nearStation is the plane of a file that belongs to station s, or nil.
func (r *runner) nearStation(s int, planes []*wake.Plane) *wake.Plane {
	st := r.stations[s]
	var best *wake.Plane
	for _, p := range planes {
		if st.Normal != p.Normal.String() || !(math.Abs(p.Position-st.Position) <= tolerance(st)) || !takes(st, p) {
			continue
		}
		if best == nil || math.Abs(p.Position-st.Position) < math.Abs(best.Position-st.Position) {
			best = p
		}
	}
	return best
}

func (rep *Repeats) summarise(v []float64) {
	s := uncertainty.NewSample(v)
	rep.Mean, rep.SD, rep.Standard, rep.DOF = s.Mean, s.SD, s.Standard(), float64(s.N-1)
	rep.Coverage = uncertainty.Coverage(rep.DOF)
	rep.Expanded = rep.Coverage * rep.Standard
	rep.Text = fmt.Sprintf("%s, %d runs: mean %.4f m2, standard deviation %.2g m2, U of the mean %.2g m2 (%.3g u, %g degrees of freedom)",
		rep.Configuration, s.N, rep.Mean, rep.SD, rep.Expanded, rep.Coverage, rep.DOF)
	t := uncertainty.NewTrend(v)
	if t.DOF < 1 {
		return
	}
	u := uncertainty.Coverage(t.DOF) * t.Standard
	rep.Drift = &Drift{PerRun: t.Slope, Expanded: u, DOF: t.DOF, Verdict: compare.NotResolved}
	if math.Abs(t.Slope) > u {
		rep.Drift.Verdict = compare.Resolved
	}
	rep.Text += fmt.Sprintf("; drift over the order of runs %+.2g m2 a run, U = %.2g m2: %s", t.Slope, u, rep.Drift.Verdict)
}

// against compares the mean of b with that of the baseline a.
func against(a, b uncertainty.Sample, sd, dof float64) *RepeatComparison {
	w := uncertainty.NewWelch(a, b)
	c := &RepeatComparison{Difference: w.Difference, Standard: w.Standard, DOF: w.DOF, PooledSD: sd, PooledDOF: dof}
	// Where neither varies Welch has no finite number of degrees of freedom.
	if math.IsInf(c.DOF, 0) {
		c.DOF = float64(a.N + b.N - 2)
	}
	if !math.IsNaN(w.T - w.T) {
		c.T = &w.T
	}
	c.Coverage = uncertainty.Coverage(c.DOF)
	c.Expanded = c.Coverage * c.Standard
	c.Interval = [2]float64{c.Difference - c.Expanded, c.Difference + c.Expanded}
	c.Verdict = decided(c.Difference, c.Expanded)
	c.PooledStandard = sd * math.Sqrt(1/float64(a.N)+1/float64(b.N))
	c.PooledExpanded = uncertainty.Coverage(dof) * c.PooledStandard
	c.PooledVerdict = decided(c.Difference, c.PooledExpanded)
	return c
}

func decided(d, expanded float64) string {
	if math.Abs(d) > expanded {
		return compare.Resolved
	}
	return compare.NotResolved
}

func (c *RepeatComparison) words(baseline string, na, nb int) string {
	s := fmt.Sprintf("against %s (%d runs to %d): %+.4f m2, U = %.2g m2 (Welch, %.3g u, %.3g degrees of freedom)", baseline, nb, na, c.Difference, c.Expanded, c.Coverage, c.DOF)
	if c.Verdict == compare.Resolved {
		s += ": resolved"
	} else {
		s += fmt.Sprintf(": NOT resolved, the change lies in [%+.4f, %+.4f] m2, which is not evidence of no change", c.Interval[0], c.Interval[1])
	}
	return s + fmt.Sprintf("; with the pooled standard deviation %.2g m2 U = %.2g m2 (%g degrees of freedom): %s", c.PooledSD, c.PooledExpanded, c.PooledDOF, c.PooledVerdict)
}
