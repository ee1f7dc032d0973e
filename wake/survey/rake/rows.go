package rake

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
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
	// number counts the logs of a plane from 0.
	number int
	off    map[Correction]bool
	out    *Result

	n     int
	datum [][3]float64
	roll  []float64
	time  []float64
	clock string // "time" or "row"
	q     []float64
	ref   []float64 // p_ref, Pa; nil where there is none
	still []bool    // wind-off
	qMean float64   // over wind-on rows

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

// on reports whether a correction is to be made.
func (r *reduction) on(c Correction) bool { return !r.off[c] && !r.lay.without[c] }

func (r *reduction) warn(code, cure, format string, a ...any) {
	r.out.Warnings = append(r.out.Warnings, wake.Warning{Code: code, Where: r.log.File, Text: fmt.Sprintf(format, a...), Cure: cure})
}

// read takes one referenced column in SI and says where units clash or lack.
func (r *reduction) read(ref string, d wake.Dimension, gaps bool) ([]float64, error) {
	c, err := r.log.find(ref)
	if err != nil {
		return nil, err
	}
	r.units(c, d)
	return r.log.numbers(c, d, gaps)
}

func (r *reduction) units(c column, d wake.Dimension) {
	name := r.log.Heading[c.field]
	if c.clash != "" {
		r.warn("unit-clash", "correct one of them", "column %q is in %s by the log and in %s by the layout; the layout's is used", name, c.clash, c.unit)
	}
	if c.unit == "" && d != wake.Dimensionless {
		r.warn("no-unit", fmt.Sprintf("write it in the log, %q, or in the layout", r.log.Name[c.field]+" ["+d.Unit()+"]"), "column %q has no unit: %s is taken", name, d.Unit())
	}
}

// readRows reads positions, clock and references, and tells wind-off rows.
func (r *reduction) readRows() error {
	l := r.lay
	r.n = r.log.Rows()
	r.datum = make([][3]float64, r.n)
	r.roll = make([]float64, r.n)
	for i := range r.datum {
		r.datum[i], r.roll[i] = l.Datum, l.Roll
	}
	for k, a := range l.traverse {
		if a.column == "" {
			continue
		}
		v, err := r.read(a.column, wake.Length, false)
		if err != nil {
			return err
		}
		for i, x := range v {
			if a.reverse {
				x = -x
			}
			r.datum[i][k] += x
			if !(math.Abs(r.datum[i][k]) <= maxPlace) {
				c, _ := r.log.find(a.column)
				return r.log.fail(r.log.line[i], c.field+1, fmt.Sprintf("the rake is at %s = %.4g m", "xyz"[k:k+1], r.datum[i][k]), "correct the row or the unit")
			}
		}
		if a.limits != nil {
			c, _ := r.log.find(a.column)
			for i := range v {
				if x := r.datum[i][k]; !(a.limits[0] <= x && x <= a.limits[1]) {
					return r.log.fail(r.log.line[i], c.field+1, fmt.Sprintf("the rake is at %s = %g m, outside %g m to %g m", "xyz"[k:k+1], x, a.limits[0], a.limits[1]), "correct the row, or the limits or the unit in the layout")
				}
			}
		}
	}
	if l.Traverse.Roll != "" {
		v, err := r.read(l.Traverse.Roll, wake.Angle, false)
		if err != nil {
			return err
		}
		for i, x := range v {
			r.roll[i] += x
		}
	}
	r.clock, r.time = "row", make([]float64, r.n)
	for i := range r.time {
		r.time[i] = float64(i + 1)
	}
	if l.Reference.Time != "" {
		v, err := r.read(l.Reference.Time, wake.Time, false)
		if err != nil {
			return err
		}
		for i := 1; i < len(v); i++ {
			if !(v[i] >= v[i-1]) {
				c, _ := r.log.find(l.Reference.Time)
				return r.log.fail(r.log.line[i], c.field+1, fmt.Sprintf("the clock goes back from %g s to %g s", v[i-1], v[i]), "sort the rows by time or leave the clock out of the layout")
			}
		}
		r.clock, r.time = "time", v
	}
	return r.references()
}

func (r *reduction) references() error {
	l := r.lay
	var err error
	if l.Reference.Pressure != "" {
		if r.ref, err = r.read(l.Reference.Pressure, wake.Pressure, false); err != nil {
			return err
		}
	}
	qColumn := l.Reference.Q
	switch {
	case l.Reference.Q != "":
		r.q, err = r.read(l.Reference.Q, wake.Pressure, false)
	case l.Reference.Total != "":
		qColumn = l.Reference.Total
		if r.q, err = r.read(l.Reference.Total, wake.Pressure, false); err == nil {
			for i := range r.q {
				r.q[i] -= r.ref[i]
			}
		}
	default:
		r.q = make([]float64, r.n)
		for i := range r.q {
			r.q[i] = math.NaN()
		}
	}
	if err != nil {
		return err
	}
	if err := r.windOff(qColumn); err != nil {
		return err
	}
	n := 0
	for i, q := range r.q {
		if !r.still[i] && !math.IsNaN(q) {
			r.qMean += q
			n++
		}
	}
	if n > 0 {
		r.qMean /= float64(n)
	} else {
		r.qMean = math.NaN()
	}
	ref := &r.out.Rows
	for i := range r.still {
		if r.still[i] {
			ref.WindOff++
		} else {
			ref.WindOn++
		}
	}
	if ref.WindOn == 0 {
		return r.log.fail(0, 0, fmt.Sprintf("all %d rows are wind-off", r.n), "check the column of q and the wind-off rule of the layout")
	}
	return nil
}

// windOff tells wind-off rows by the layout's flag, list and limit, else by a
// dynamic pressure below 5 % of the largest. A wind-on row needs a dynamic pressure.
func (r *reduction) windOff(qColumn string) error {
	l := r.lay
	r.still = make([]bool, r.n)
	top := 0.0
	for _, q := range r.q {
		top = math.Max(top, q)
	}
	if qColumn != "" && !(top > minDynamic && top <= maxPressure) {
		c, err := r.log.find(qColumn)
		if err != nil {
			return err
		}
		return r.log.fail(r.log.line[0], c.field+1, fmt.Sprintf("the largest dynamic pressure of %d rows is %.4g Pa", r.n, top), "log rows with the wind on, or name another column for q in [reference]")
	}
	limit := offShare * top
	byQ := qColumn != "" && l.WindOff.Column == "" && len(l.WindOff.Rows) == 0
	if !math.IsNaN(l.WindOff.QBelow) {
		limit, byQ = l.WindOff.QBelow, true
	}
	for i, q := range r.q {
		r.still[i] = byQ && q < limit
	}
	if l.WindOff.Column != "" {
		c, err := r.log.find(l.WindOff.Column)
		if err != nil {
			return err
		}
		for i, row := range r.log.cells {
			if strings.EqualFold(row[c.field], l.WindOff.Value) {
				r.still[i] = true
			}
		}
	}
	for _, k := range l.WindOff.Rows {
		if k > r.n {
			return &wake.InputError{File: l.File, Text: fmt.Sprintf("wind-off row %d, the log has %d rows", k, r.n), Cure: "correct rows in [wind_off]"}
		}
		r.still[k-1] = true
	}
	if qColumn == "" {
		return nil
	}
	c, err := r.log.find(qColumn)
	if err != nil {
		return err
	}
	for i, q := range r.q {
		switch {
		case !r.still[i] && !(q >= offShare*top && q > 0):
			return r.log.fail(r.log.line[i], c.field+1, fmt.Sprintf("the dynamic pressure is %g Pa in a wind-on row, %g Pa in others", q, top), "take the row out, or flag it as wind-off")
		case r.still[i] && q > 0.5*top && top > 0:
			return r.log.fail(r.log.line[i], c.field+1, fmt.Sprintf("the row is flagged wind-off and its dynamic pressure is %g Pa", q), "correct the flag")
		}
	}
	return nil
}

// readTubes reads the readings of all tubes as pressures against p_ref.
func (r *reduction) readTubes() error {
	r.reading = make([][]float64, len(r.lay.Tubes))
	for t, tube := range r.lay.Tubes {
		v, err := r.read(tube.Column, wake.Pressure, true)
		if err != nil {
			return err
		}
		missing := 0
		for i := range v {
			if math.IsNaN(v[i]) {
				missing++
			}
			if math.Abs(v[i]) > maxPressure {
				c, _ := r.log.find(tube.Column)
				return r.log.fail(r.log.line[i], c.field+1, fmt.Sprintf("tube %s reads %.4g Pa", r.tubeName(t), v[i]), "no tunnel has such a pressure; correct the cell or the unit")
			}
			if r.lay.absolute() {
				v[i] -= r.ref[i]
			}
			v[i] = tube.Factor * (v[i] - tube.Zero)
		}
		r.reading[t] = v
		r.out.Tubes = append(r.out.Tubes, TubeReport{Name: r.tubeName(t), Kind: tube.Kind, State: "good", Treated: "kept", Missing: missing})
	}
	return r.windIsOff()
}

// tubeName is the name of the tube's column, without its unit.
func (r *reduction) tubeName(t int) string {
	name, _ := splitUnit(r.lay.Tubes[t].Column)
	return name
}

// windIsOff refuses a wind-off row in which the tubes feel wind: q was lost there.
func (r *reduction) windIsOff() error {
	var zero []float64
	for t := range r.reading {
		var v []float64
		for i, x := range r.reading[t] {
			if r.still[i] && !math.IsNaN(x) {
				v = append(v, x)
			}
		}
		zero = append(zero, median(v))
	}
	for i := range r.still {
		if !r.still[i] {
			continue
		}
		var v []float64
		for t := range r.reading {
			if x := r.reading[t][i] - zero[t]; !math.IsNaN(x) {
				v = append(v, math.Abs(x))
			}
		}
		if m := median(v); m > offShare*r.qMean {
			return r.log.fail(r.log.line[i], 0, fmt.Sprintf("the row counts as wind-off (q = %g Pa) and its tubes read %.3g Pa off their zeros: the wind was on", r.q[i], m), "correct the dynamic pressure or take the row out")
		}
	}
	return nil
}

// median of v, which is sorted in place; NaN where v is empty.
func median(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}

// normalise makes coefficients: each row over its own q, or with the correction off
// over the mean q and against the mean p_ref.
func (r *reduction) normalise() {
	r.coef = make([][]float64, len(r.reading))
	meanRef := 0.0
	for i := range r.ref {
		if !r.still[i] {
			meanRef += r.ref[i] / float64(r.out.Rows.WindOn)
		}
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	refMove := 0.0
	for i := range r.q {
		if r.still[i] {
			continue
		}
		lo, hi = math.Min(lo, r.q[i]), math.Max(hi, r.q[i])
		if r.ref != nil {
			refMove = math.Max(refMove, math.Abs(r.ref[i]-meanRef))
		}
	}
	for t := range r.reading {
		r.coef[t] = make([]float64, r.n)
		for i, x := range r.reading[t] {
			switch {
			case r.still[i]:
				r.coef[t][i] = math.NaN()
			case r.on(Rows):
				r.coef[t][i] = x / r.q[i]
			case r.lay.absolute():
				r.coef[t][i] = (x + r.ref[i] - meanRef) / r.qMean
			default:
				r.coef[t][i] = x / r.qMean
			}
		}
	}
	s := Step{Name: Rows, Applied: r.on(Rows)}
	if math.IsNaN(r.qMean) {
		s.Applied, s.Text = false, "the log has no dynamic pressure"
	} else {
		s.Size, s.Unit = (hi-lo)/r.qMean, "1"
		s.Text = fmt.Sprintf("q from %.2f Pa to %.2f Pa, %.2f %% of the mean %.2f Pa", lo, hi, 100*s.Size, r.qMean)
		r.out.Reference.QLow, r.out.Reference.QHigh, r.out.Reference.QMean = &lo, &hi, &r.qMean
		if r.lay.absolute() {
			s.Text += fmt.Sprintf("; p_ref within %.2f Pa of its mean", refMove)
		}
	}
	r.step(s)
}

func (r *reduction) step(s Step) {
	s.Off = !r.on(s.Name)
	if s.Off {
		s.Applied = false
	}
	r.out.Steps = append(r.out.Steps, s)
}
