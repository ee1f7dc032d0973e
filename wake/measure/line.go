package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake"
)

// Line is what a single traverse of a two-dimensional wake holds. Lengths are in
// m; drags are per span and over the dynamic pressure q, hence lengths too.
type Line struct {
	// Position is the place of the line along x, Axis its direction, y or z.
	Position float64 `json:"position_m"`
	Axis     string  `json:"axis"`
	Points   int     `json:"points"`
	From     float64 `json:"from_m"`
	To       float64 `json:"to_m"`
	// Pressure says where Cp comes from: measured, ambient (0) or edges.
	Pressure string   `json:"pressure"`
	Chord    *float64 `json:"chord_m,omitempty"`
	// Jones is 2∫(u/U)(1−√Cpt)ds, Betz the wake integral with the artificial velocity,
	// VelocityOnly 2∫(u/U)(1−u/U)ds, which is no drag where Cp is not 0.
	Jones        float64 `json:"jones_m"`
	Betz         float64 `json:"betz_m"`
	VelocityOnly float64 `json:"velocity_only_m"`
	// Gain is the part of Jones where Cpt > 1 (below 0): what the outer flow's
	// scatter takes away.
	Gain float64 `json:"gain_m"`
	// Cd is Jones over the chord.
	Cd *float64 `json:"cd,omitempty"`
	// Momentum and Displacement are thicknesses against the local outer velocity
	// u_e = U√(1−Cp): θ = ∫(u/u_e)(1−u/u_e)ds, δ* = ∫(1−u/u_e)ds, Shape H = δ*/θ.
	Momentum     float64  `json:"momentum_thickness_m"`
	Displacement float64  `json:"displacement_thickness_m"`
	Shape        *float64 `json:"shape_factor,omitempty"`
	// SquireYoung is 2θ(u_e/U)^((H+5)/2), a check.
	SquireYoung *float64 `json:"squire_young_m,omitempty"`
	// Edges are where the loss 1−Cpt first exceeds Threshold three samples running,
	// from outside; absent where the traverse does not reach out of the wake.
	Edges     *[2]float64 `json:"edges_m,omitempty"`
	Threshold float64     `json:"threshold"`
	// HalfWidth is half the distance between the places of half the largest deficit 1−u/u_e; absent
	// where the traverse ends before one of them.
	HalfWidth *float64 `json:"half_width_m,omitempty"`
	// Factor is Jones over ∫(1−Cpt)ds: what an integrating rake's mean loss is to be
	// multiplied by.
	Factor *float64 `json:"integrating_factor,omitempty"`
	// Invalid is the part of the line with Cpt ≤ 0 or u ≤ 0, where Jones has no meaning.
	Invalid float64 `json:"invalid_fraction"`
	// Sampling is the standard uncertainty of Jones by the distance of the points.
	Sampling float64 `json:"-"`
}

// LinePoint is a sample of a line at a place along it, m: Cpt, Cp and u/U, and the standard
// uncertainty of Cpt by its scatter.
type LinePoint struct{ At, Cpt, Cp, U, Noise float64 }

// outer is the local outer velocity √(1−Cp), over U.
func (p *LinePoint) outer() float64 { return math.Sqrt(math.Max(1-p.Cp, 0)) }

// trapezoid gives the weights of the trapezoidal rule.
func trapezoid(p []LinePoint) []float64 {
	w := make([]float64, len(p))
	for k := 1; k < len(p); k++ {
		h := (p[k].At - p[k-1].At) / 2
		w[k-1] += h
		w[k] += h
	}
	return w
}

// NewLine integrates two points or more, at rising places, by the trapezoidal rule, whose
// weights it returns too. The coefficients are over the chord, m, where there is one; the
// threshold is raised to three times the scatter.
func NewLine(p []LinePoint, chord, threshold float64) (l Line, weights []float64) {
	n := len(p)
	l = Line{Points: n, From: p[0].At, To: p[n-1].At, Chord: wake.Finite(chord)}
	weights = trapezoid(p)
	var loss, outer float64
	for k, w := range weights {
		x := &p[k]
		jones, sound := JonesDensity(x.Cpt, 1, x.U)
		l.Jones += w * jones
		if x.Cpt > 1 {
			l.Gain += w * jones
		}
		if x.Cpt < 1 {
			l.Betz += w * ArtificialDensity(1-x.Cpt, 1, x.U, 0)
		}
		l.VelocityOnly += w * 2 * x.U * (1 - x.U)
		loss += w * (1 - x.Cpt)
		if e := x.outer(); e > 0 {
			v := x.U / e
			l.Momentum += w * v * (1 - v)
			l.Displacement += w * (1 - v)
		}
		outer += w * x.outer()
		if !sound {
			l.Invalid += w
		}
	}
	length := l.To - l.From
	l.Invalid /= length
	if l.Momentum > 1e-6*length {
		h := l.Displacement / l.Momentum
		l.Shape, l.SquireYoung = wake.Finite(h), wake.Finite(2*l.Momentum*math.Pow(outer/length, (h+5)/2))
	}
	if math.Abs(loss) > 1e-6*length {
		l.Factor = wake.Finite(l.Jones / loss)
	}
	if chord > 0 {
		l.Cd = wake.Finite(l.Jones / chord)
	}
	l.Threshold = threshold
	for k := range p {
		l.Threshold = math.Max(l.Threshold, 3*p[k].Noise)
	}
	a, okA := lineEdge(p, 0, 1, l.Threshold)
	b, okB := lineEdge(p, n-1, -1, l.Threshold)
	if okA && okB && a < b {
		l.Edges = &[2]float64{a, b}
	}
	l.HalfWidth, l.Sampling = wake.Finite(halfWidth(p)), everyOther(p)
	return l, weights
}

// halfWidth is that of a Line, or NaN.
func halfWidth(p []LinePoint) float64 {
	deficit := make([]float64, len(p))
	for k := range p {
		if e := p[k].outer(); e > 0 {
			deficit[k] = 1 - p[k].U/e
		}
	}
	top := floats.MaxIdx(deficit)
	half := deficit[top] / 2
	place := func(step int) float64 {
		for k := top; half > 0 && k+step >= 0 && k+step < len(p); k += step {
			if a, b := deficit[k], deficit[k+step]; b <= half {
				return p[k].At + (a-half)/(a-b)*(p[k+step].At-p[k].At)
			}
		}
		return math.NaN()
	}
	return (place(1) - place(-1)) / 2
}

// everyOther is the standard uncertainty of sampling: the trapezoid from either half
// of the points, kept to the ends; half the difference over √3.
func everyOther(p []LinePoint) float64 {
	var v [2]float64
	for odd := range v {
		var half []LinePoint
		for k, x := range p {
			if k%2 == odd || k == 0 || k == len(p)-1 {
				half = append(half, x)
			}
		}
		for k, w := range trapezoid(half) {
			jones, _ := JonesDensity(half[k].Cpt, 1, half[k].U)
			v[odd] += w * jones
		}
	}
	return math.Abs(v[1]-v[0]) / 2 / math.Sqrt(3)
}

// edgeRun is how many samples have to exceed the threshold in a row to make an edge.
const edgeRun = 3

// lineEdge goes along a line until the loss exceeds the threshold edgeRun samples running.
func lineEdge(p []LinePoint, from, step int, threshold float64) (at float64, ok bool) {
	run := 0
	for k := from; k >= 0 && k < len(p); k += step {
		if !(1-p[k].Cpt > threshold) {
			run = 0
			continue
		}
		if run++; run < edgeRun {
			continue
		}
		i := k - step*(edgeRun-1) // the first of the run
		o := i - step
		if o < 0 || o >= len(p) {
			return 0, false
		}
		a, b := 1-p[o].Cpt, 1-p[i].Cpt
		return p[o].At + (threshold-a)/(b-a)*(p[i].At-p[o].At), true
	}
	return 0, false
}
