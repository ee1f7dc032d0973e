package rake

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// Bounds of what a log can hold: 1 GPa, 10 km, and 1e-6 Pa for a wind that blows.
const (
	maxPressure = 1e9
	maxPlace    = 1e4
	minDynamic  = 1e-6
)

// offShare is the part of the largest dynamic pressure below which a row counts as
// wind-off where the layout has no rule.
const offShare = 0.05

// reduction is one run from a log to a survey: what its steps share.
type reduction struct {
	log *Log
	lay *Layout
	off map[Correction]bool
	out *Result

	n     int
	pose  []pose
	time  []float64
	clock string // the unit of time, "s" or "log rows"
	q     []float64
	ref   []float64 // p_ref, Pa; nil where there is none
	still []bool    // wind-off
	qMean float64   // over wind-on rows

	probes  [][]Sample  // by row
	reading [][]float64 // by tube and row, Pa against p_ref
	// sigmaZero is each tube's standard uncertainty of its zero, Pa.
	sigmaZero []float64
	bad       []bool // by tube: left out or filled
	offNoise  float64

	coef [][]float64 // by tube and row, reading over q; NaN where there is none
	// fillSigma is the uncertainty of a filled coefficient, by tube and row; nil for
	// tubes that are not filled.
	fillSigma [][]float64

	places []place
	noise  map[Kind]float64
}

func (r *reduction) on(c Correction) bool { return !r.off[c] }

func (r *reduction) warn(code, cure, format string, a ...any) {
	r.out.Warnings = append(r.out.Warnings, wake.Doubt(code, r.out.Log, cure, format, a...))
}

// read takes one referenced column in SI and says where units clash or lack; no reference
// gives nil.
func (r *reduction) read(ref string, d wake.Dimension, gaps bool) []float64 {
	if ref == "" {
		return nil
	}
	c := r.log.find(ref)
	name := r.log.Heading[c.field]
	if c.clash != "" {
		r.warn("unit-clash", "correct one of them", "column %q is in %s by the log and in %s by the layout; the layout's is used", name, c.clash, c.unit)
	}
	if c.unit == "" && d != wake.Dimensionless {
		r.warn("no-unit", fmt.Sprintf("write it in the log, %q, or in the layout", r.log.Name[c.field]+" ["+d.Unit()+"]"), "column %q has no unit: %s is taken", name, d.Unit())
	}
	return r.log.numbers(c, d, gaps)
}

// refuseAt refuses a cell of a referenced column.
func (r *reduction) refuseAt(ref string, row int, cure, format string, a ...any) {
	r.log.refuseRow(row, r.log.find(ref).field+1, fmt.Sprintf(format, a...), cure)
}

func (r *reduction) readRows() {
	l := r.lay
	r.n = r.log.Rows()
	r.pose, r.time, r.clock = slices.Repeat([]pose{l.rest}, r.n), grid.Fill(r.n, func(i int) float64 { return float64(i + 1) }), "log rows"
	for k, a := range []struct {
		column string
		limits *[2]float64
	}{{l.Traverse.X, l.Traverse.XLimits}, {l.Traverse.Y, l.Traverse.YLimits}, {l.Traverse.Z, l.Traverse.ZLimits}} {
		for i, x := range r.read(a.column, wake.Length, false) {
			if slices.Contains(l.Traverse.Reverse, "xyz"[k:k+1]) {
				x = -x
			}
			r.pose[i][k] += x
			x = r.pose[i][k]
			if !(math.Abs(x) <= maxPlace) {
				r.refuseAt(a.column, i, "correct the row or the unit", "the rake is at %c = %.4g m", "xyz"[k], x)
			}
			if m := a.limits; m != nil && !(m[0] <= x && x <= m[1]) {
				r.refuseAt(a.column, i, "correct the row, or the limits or the unit in the layout", "the rake is at %c = %g m, outside %g m to %g m", "xyz"[k], x, m[0], m[1])
			}
		}
	}
	for i, x := range r.read(l.Traverse.Roll, wake.Angle, false) {
		r.pose[i][3] += x
	}
	v := r.read(l.Reference.Time, wake.Time, false)
	started := 0.0 // when a further log starts its clock anew
	for i := 1; i < len(v); i++ {
		if v[i] += started; v[i] < v[i-1] && r.log.begins(i) {
			started, v[i] = started+v[i-1]-v[i], v[i-1]
		}
		if !(v[i] >= v[i-1]) {
			r.refuseAt(l.Reference.Time, i, "sort the rows by time or leave the clock out of the layout", "the clock goes back from %g s to %g s", v[i-1]-started, v[i]-started)
		}
	}
	if v != nil {
		r.clock, r.time = "s", v
	}
	r.references()
}

func (r *reduction) references() {
	ref := &r.lay.Reference
	r.ref = r.read(ref.Pressure, wake.Pressure, false)
	column := cmp.Or(ref.Q, ref.Total)
	r.q = r.read(column, wake.Pressure, false)
	if r.q == nil {
		r.q = slices.Repeat([]float64{math.NaN()}, r.n)
	}
	for i := range r.q {
		if ref.Q == "" && column != "" {
			r.q[i] -= r.ref[i]
		}
	}
	r.windOff(column)
	on := r.rows(false)
	r.out.Rows.WindOn, r.out.Rows.WindOff = len(on), r.n-len(on)
	r.qMean, _, _ = moments(wake.At(r.q, on))
	if len(on) == 0 {
		r.log.refuse(0, 0, fmt.Sprintf("all %d rows are wind-off", r.n), "check the column of q and the wind-off rule of the layout")
	}
}

// windOff tells wind-off rows by the layout's flag, list and limit, else by a
// dynamic pressure below 5 % of the largest. A wind-on row needs a dynamic pressure.
func (r *reduction) windOff(qColumn string) {
	rule := &r.lay.WindOff
	r.still = make([]bool, r.n)
	top := 0.0
	for _, q := range r.q {
		top = math.Max(top, q)
	}
	if qColumn != "" && !(top > minDynamic && top <= maxPressure) {
		r.refuseAt(qColumn, 0, "log rows with the wind on, or name another column for q in [reference]", "the largest dynamic pressure of %d rows is %.4g Pa", r.n, top)
	}
	limit, byQ := rule.QBelow, true
	if math.IsNaN(limit) {
		limit, byQ = offShare*top, qColumn != "" && rule.Column == "" && len(rule.Rows) == 0
	}
	flag := -1
	if rule.Column != "" {
		flag = r.log.find(rule.Column).field
	}
	for i, q := range r.q {
		r.still[i] = byQ && q < limit || flag >= 0 && strings.EqualFold(r.log.cells[i][flag], rule.Value)
	}
	for _, k := range rule.Rows {
		if k > r.n {
			wake.Stop(&wake.InputError{File: r.lay.File, Text: fmt.Sprintf("wind-off row %d, the log has %d rows", k, r.n), Cure: "correct rows in [wind_off]"})
		}
		r.still[k-1] = true
	}
	if qColumn == "" {
		return
	}
	for i, q := range r.q {
		switch {
		case !r.still[i] && !(q >= offShare*top && q > 0):
			r.refuseAt(qColumn, i, "take the row out, or flag it as wind-off", "the dynamic pressure is %g Pa in a wind-on row, %g Pa in others", q, top)
		case r.still[i] && q > 0.5*top && top > 0:
			r.refuseAt(qColumn, i, "correct the flag", "the row is flagged wind-off and its dynamic pressure is %g Pa", q)
		}
	}
}

// readTubes reads the readings of all tubes as pressures against p_ref, and refuses a
// wind-off row in which the tubes feel wind: q was lost there.
func (r *reduction) readTubes() {
	off := make([][]float64, r.n) // of the tubes from their zeros, in wind-off rows
	for t, tube := range r.lay.Tubes {
		v := r.read(tube.Column, wake.Pressure, true)
		rep := TubeReport{Name: r.tubeName(t), Kind: tube.Kind, State: "good", Treated: "kept"}
		for i := range v {
			if math.IsNaN(v[i]) {
				rep.Missing++
			}
			if math.Abs(v[i]) > maxPressure {
				r.refuseAt(tube.Column, i, "no tunnel has such a pressure; correct the cell or the unit", "tube %s reads %.4g Pa", rep.Name, v[i])
			}
			if r.lay.absolute() {
				v[i] -= r.ref[i]
			}
			v[i] = tube.Factor * (v[i] - tube.Zero)
		}
		zero := median(wake.At(v, r.rows(true)))
		for i, x := range v {
			off[i] = append(off[i], math.Abs(x-zero))
		}
		r.reading = append(r.reading, v)
		r.out.Tubes = append(r.out.Tubes, rep)
	}
	for i, v := range off {
		if !r.still[i] {
			continue
		}
		if m := median(v); m > offShare*r.qMean {
			r.log.refuseRow(i, 0, fmt.Sprintf("the row counts as wind-off (q = %g Pa) and its tubes read %.3g Pa off their zeros: the wind was on", r.q[i], m), "correct the dynamic pressure or take the row out")
		}
	}
}

// rows lists the rows that are wind-off, or are not.
func (r *reduction) rows(still bool) []int {
	return grid.Where(len(r.still), func(i int) bool { return r.still[i] == still })
}

func (r *reduction) tubeName(t int) string {
	name, _ := survey.NameUnit(r.lay.Tubes[t].Column)
	return name
}

func known(v []float64) []float64 {
	return slices.DeleteFunc(slices.Clone(v), math.IsNaN)
}

// median of what is known of v; NaN where nothing is.
func median(v []float64) float64 {
	v = known(v)
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// moments are the mean of what is known of v, NaN of nothing, the sum of the squares about it, and
// the number.
func moments(v []float64) (mean, squares, n float64) {
	v = known(v)
	n = float64(len(v))
	mean = floats.Sum(v) / n
	for _, x := range v {
		squares += sq(x - mean)
	}
	return mean, squares, n
}

// normalise makes coefficients: each row over its own q, or with the correction off
// over the mean q and against the mean p_ref.
func (r *reduction) normalise() {
	on := r.rows(false)
	q := wake.At(r.q, on)
	lo, hi, meanRef := slices.Min(q), slices.Max(q), 0.0
	if r.ref != nil {
		meanRef, _, _ = moments(wake.At(r.ref, on))
	}
	r.coef = make([][]float64, len(r.reading))
	for t := range r.reading {
		r.coef[t] = make([]float64, r.n)
		for i, x := range r.reading[t] {
			switch {
			case r.still[i]:
				x = math.NaN()
			case r.on(Rows):
				x /= r.q[i]
			case r.lay.absolute():
				x = (x + r.ref[i] - meanRef) / r.qMean
			default:
				x /= r.qMean
			}
			r.coef[t][i] = x
		}
	}
	s := Step{Name: Rows, Applied: r.on(Rows)}
	if math.IsNaN(r.qMean) {
		s.Applied, s.Text = false, "the log has no dynamic pressure"
	} else {
		s.Size, s.Unit = (hi-lo)/r.qMean, "1"
		s.Text = fmt.Sprintf("q from %.2f Pa to %.2f Pa, %.2f %% of the mean %.2f Pa", lo, hi, 100*s.Size, r.qMean)
		r.out.Reference.QLow, r.out.Reference.QHigh, r.out.Reference.QMean = &lo, &hi, &r.qMean
	}
	r.step(s)
	r.out.WindOff = r.still
	for t, v := range r.coef {
		tube, near := &r.out.Tubes[t], r.neighbours(t)
		tube.Values, tube.Around = slices.Clone(v), make([]float64, r.n)
		for i := range tube.Around {
			tube.Around[i], _ = r.around(near, i)
		}
	}
}

func (r *reduction) step(s Step) {
	s.Off = !r.on(s.Name)
	if s.Off {
		s.Applied = false
	}
	r.out.Steps = append(r.out.Steps, s)
}
