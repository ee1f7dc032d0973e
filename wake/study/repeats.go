package study

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"

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
	// Mean and SD over the runs, with the budget of the mean.
	Mean float64 `json:"mean_m2"`
	SD   float64 `json:"sd_m2"`
	uncertainty.AreaBudget
	// Against compares the means with the baseline's; nil for the baseline and
	// where it was not repeated.
	Against *RepeatComparison `json:"against_baseline,omitempty"`

	sample uncertainty.Sample
}

// RepeatRun is one run.
type RepeatRun struct {
	File     string  `json:"file"`
	DragArea float64 `json:"drag_area_m2"`
}

// RepeatComparison is the difference of two means, m_b − m_a. What runs scatter by is pooled over all
// configurations at the station, s_p with ν = Σ(nᵢ−1), and the difference has s_p √(1/n_a + 1/n_b).
type RepeatComparison struct {
	Difference float64 `json:"difference_m2"`
	uncertainty.AreaBudget
	uncertainty.Judgement
}

// repeated measures the repeats at station s, by configuration, and puts what each headline
// number scatters by, pooled over all configurations, into the budgets of the station.
func (r *runner) repeated(s int, opt *compare.Options) ([][]*compare.Survey, error) {
	o := &r.out.Stations[s]
	out := make([][]*compare.Survey, len(r.at[s]))
	var values [][]measure.Vector
	var layout measure.Layout
	for k, p := range r.at[s] {
		if p == nil || len(r.repeats[k]) == 0 {
			continue
		}
		first, err := measure.Bare(p, r.by[p])
		if err != nil {
			return nil, err
		}
		layout = first.Layout
		runs := []*compare.Survey{{Measurement: first}}
		for _, planes := range r.repeats[k] {
			if q := r.nearStation(s, planes); q != nil {
				m, err := measure.Bare(q, r.by[q])
				if err != nil {
					return nil, err
				}
				run, err := compare.NewSurvey(m, r.by[q], *opt)
				if err != nil {
					return nil, err
				}
				runs = append(runs, run)
			}
		}
		rep := Repeats{Configuration: r.c.Configurations[k].Name}
		if d := first.Result.Drag; d != nil {
			rep.Method = d.Headline
		}
		var drag []float64
		var all []measure.Vector
		for _, run := range runs {
			all = append(all, run.Values)
			if i := run.Layout.Method(rep.Method); i >= 0 && !math.IsNaN(run.Values[i]) {
				drag = append(drag, run.Values[i])
				rep.Runs = append(rep.Runs, RepeatRun{run.Plane.Name(), run.Values[i]})
			}
		}
		out[k], values = runs[1:], append(values, all)
		if s := uncertainty.NewSample(drag); s.N > 1 {
			rep.sample, rep.Mean, rep.SD = s, s.Mean, s.SD
			rep.AreaBudget = uncertainty.AreaBudget(uncertainty.NewBudget(uncertainty.Scatter(1/float64(s.N), s)...))
			o.Repeats = append(o.Repeats, rep)
		}
	}
	opt.Measure.Uncertainty.Repeat, opt.Measure.Uncertainty.RepeatDOF = measure.Pool(layout, opt.Measure.Regions, values)
	return out, nil
}

// against sets the means of the repeats at station s against the baseline's. What the
// samples and the reference make of a difference is in that of the comparison.
func (r *runner) against(s int) {
	o := &r.out.Stations[s]
	o.doubtScatter()
	at := slices.IndexFunc(o.Repeats, func(rep Repeats) bool { return rep.Configuration == r.c.Baseline })
	if at < 0 {
		return
	}
	base := o.Repeats[at].sample
	var all []uncertainty.Sample
	for _, rep := range o.Repeats {
		all = append(all, rep.sample)
	}
	for i := range o.Repeats {
		rep := &o.Repeats[i]
		if i == at {
			continue
		}
		var rest []uncertainty.Item
		v := r.variant(s, rep.Configuration)
		known := v != nil && v.Delta != nil
		if known {
			rest = uncertainty.Without(uncertainty.TimeAverage, uncertainty.Without(uncertainty.RunToRun, v.Delta.Items))
		}
		d := rep.sample.Mean - base.Mean
		b := uncertainty.NewBudget(append(rest, uncertainty.Scatter(1/float64(base.N)+1/float64(rep.sample.N), all...)...)...)
		rep.Against = &RepeatComparison{Difference: d, AreaBudget: uncertainty.AreaBudget(b), Judgement: uncertainty.Judge(d, &b)}
		if known && v.Delta.Verdict == uncertainty.Resolved && rep.Against.Verdict == uncertainty.NotResolved {
			o.warn("means-differ", rep.Configuration, "use the difference of the means, in the table of repeats",
				"between the first runs the drag area changes by %+.4f m2, which is resolved; between the means of %d and %d runs by %+.4f ± %.4f m2, which is not", v.Delta.DragArea, base.N, rep.sample.N, d, b.Expanded)
		}
	}
}

// doubtScatter warns, for one pair at most, where runs of one configuration scatter by more than those of another:
// F = (s₁/s₂)² beyond its 95 % limits, of which each of n pairs has its share. Source: NIST/SEMATECH e-Handbook, 1.3.5.9
// (from memory).
func (o *StationOutcome) doubtScatter() {
	pairs := float64(len(o.Repeats)*(len(o.Repeats)-1)) / 2
	for i := range o.Repeats {
		for k := range o.Repeats[:i] {
			a, b := &o.Repeats[i], &o.Repeats[k]
			if a.SD < b.SD {
				a, b = b, a
			}
			f := distuv.F{D1: float64(a.sample.N - 1), D2: float64(b.sample.N - 1)}
			if a.SD <= b.SD*math.Sqrt(f.Quantile(1-0.025/pairs)) {
				continue
			}
			o.warn("scatter-differs", a.Configuration, "repeat the configurations that are compared, each as often",
				"its runs scatter by %.2g m2, those of %q by %.2g m2, which is more than chance makes of one scatter (F test, 5 %%): what is pooled of both is too little for the one and too much for the other", a.SD, b.Configuration, b.SD)
			return
		}
	}
}

func (o *StationOutcome) warn(code, where, cure, format string, a ...any) {
	o.Comparison.Warnings = append(o.Comparison.Warnings, wake.Doubt(code, where, cure, format, a...))
}

// nearStation is the plane of a file that belongs to station s, or nil.
func (r *runner) nearStation(s int, planes []*wake.Plane) *wake.Plane {
	st := r.stations[s]
	return st.nearest(slices.DeleteFunc(slices.Clone(planes), func(p *wake.Plane) bool { return !takes(st, p) }))
}

// withoutCopies leaves out, with a warning, the repeats that hold the very values of another survey or
// repeat, in whatever order and wherever they lie: the same file, a copy, a window of it, the same computation
// again. Taken as a run it would say that runs do not scatter.
func (r *runner) withoutCopies() {
	known := slices.Concat(r.planes...)
	for k, repeats := range r.repeats {
		for i, planes := range repeats {
			repeats[i] = slices.DeleteFunc(planes, func(p *wake.Plane) bool {
				was := slices.IndexFunc(known, func(q *wake.Plane) bool { return copies(p, q) })
				if was < 0 {
					known = append(known, p)
					return false
				}
				r.warn("repeat-copied", p.Name(), "give a run of its own: another start or mesh, another rig; without one run-to-run scatter is not known",
					"a repeat of %q holds the values of %s: it is no further run and is left out", r.c.Configurations[k].Name, known[was].Name())
				return true
			})
		}
	}
}

// copies reports whether two planes hold the same values of all quantities that both have, or the one of two
// quantities at least a part of the other's samples, as a window of a section does.
func copies(p, q *wake.Plane) bool {
	if len(p.Mesh.Points) > len(q.Mesh.Points) {
		p, q = q, p
	}
	var a, b [][]float64
	same, within := true, true
	places := slices.Equal(p.Mesh.Points, q.Mesh.Points)
	for k, f := range p.Field {
		if g := q.Field[k]; f != nil && g != nil {
			a, b = append(a, f), append(b, g)
			same = same && (uncertainty.Copied(f, g) || places && uncertainty.Rounded(f, g))
			within = within && floats.Min(f) >= floats.Min(g) && floats.Max(f) <= floats.Max(g) // spares the rest
		}
	}
	if len(a) < 2 || same || !within {
		return len(a) > 0 && same
	}
	row := func(fields [][]float64, i int) (out [4]float64) {
		for k := range min(len(fields), len(out)) {
			out[k] = fields[k][i]
		}
		return out
	}
	rows, found := map[[4]float64]bool{}, 0
	for i := range b[0] {
		rows[row(b, i)] = true
	}
	for i := range a[0] {
		if rows[row(a, i)] {
			found++
		}
	}
	return found > len(a[0])*99/100 // some are means of two
}
