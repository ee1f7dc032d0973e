package rake

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// LineResult is what a single traverse of a two-dimensional wake holds. Lengths are in
// m; drags are per span and over the dynamic pressure q, hence lengths too.
type LineResult struct {
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
	// Cd are the three over the chord.
	Cd             *float64 `json:"cd,omitempty"`
	CdBetz         *float64 `json:"cd_betz,omitempty"`
	CdVelocityOnly *float64 `json:"cd_velocity_only,omitempty"`
	CdSquireYoung  *float64 `json:"cd_squire_young,omitempty"`
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
	// Centre is where the velocity deficit is largest, Deficit its size over u_e, and
	// HalfWidth half the distance between the points of half that deficit.
	Centre    float64  `json:"centre_m"`
	Deficit   float64  `json:"largest_deficit"`
	HalfWidth *float64 `json:"half_width_m,omitempty"`
	// Factor is Jones over ∫(1−Cpt)ds: what an integrating rake's mean loss is to be
	// multiplied by.
	Factor *float64 `json:"integrating_factor,omitempty"`
	// Invalid is the part of the line with Cpt ≤ 0 or u ≤ 0, where Jones has no meaning.
	Invalid float64 `json:"invalid_fraction"`
	// Standard is the standard uncertainty of Jones, m.
	Standard float64 `json:"standard_m"`
	Items    []Item  `json:"items"`
}

// lineGroup is the samples of one line with their coordinate along it, and the first and
// the last of them along its axis.
type lineGroup struct {
	x           float64
	axis        string
	index       []int
	at          []float64
	first, last int
}

// order sorts the numbers of v by its values, equal ones as they come.
func order(v []float64) []int {
	out := make([]int, len(v))
	floats.ArgsortStable(slices.Clone(v), out)
	return out
}

// lineGroups sorts samples into lines by x. An oblique line is measured along itself, from
// its foot at coordinate 0.
func lineGroups(samples []Sample) []lineGroup {
	x, y, z := make([]float64, len(samples)), make([]float64, len(samples)), make([]float64, len(samples))
	for i, s := range samples {
		x[i], y[i], z[i] = s.X, s.Y, s.Z
	}
	var out []lineGroup
	before := math.Inf(-1)
	for _, i := range order(x) {
		if x[i]-before > sameLength {
			out = append(out, lineGroup{x: x[i], axis: "y"})
		}
		before = x[i]
		g := &out[len(out)-1]
		g.index = append(g.index, i)
	}
	for k := range out {
		g := &out[k]
		var wide, high float64
		var bottom, top int
		g.first, g.last, wide = extremes(y, g.index)
		if bottom, top, high = extremes(z, g.index); high > wide {
			g.axis, g.first, g.last = "z", bottom, top
		}
		cy, cz := 1.0, 0.0
		dy, dz := y[g.last]-y[g.first], z[g.last]-z[g.first]
		if d := math.Hypot(dy, dz); d > 0 {
			cy, cz = dy/d, dz/d
		}
		for _, i := range g.index {
			g.at = append(g.at, y[i]*cy+z[i]*cz)
		}
	}
	return out
}

// extremes are the least and the largest of some values, and how far they are apart.
func extremes(v []float64, index []int) (first, last int, span float64) {
	some := rowsOf(v, index)
	first, last = index[floats.MinIdx(some)], index[floats.MaxIdx(some)]
	return first, last, v[last] - v[first]
}

// collinear reports whether all samples lie on one line within 1e-3 of its length.
func collinear(samples []Sample) bool {
	g := lineGroups(samples)
	if len(g) != 1 || len(samples) < 2 {
		return false
	}
	a, b := samples[g[0].first], samples[g[0].last]
	y, z := b.Y-a.Y, b.Z-a.Z
	return !slices.ContainsFunc(samples, func(s Sample) bool {
		return math.Abs(y*(s.Z-a.Z)-z*(s.Y-a.Y)) > 1e-3*sq(math.Hypot(y, z))
	})
}

// linePressure gives the samples of lines their Cp where the layout has a rule:
// ambient is 0; edges takes Bernoulli's law at the two ends of each line,
// Cp = 1 − u_e², and u_e² linear between them.
func (r *reduction) linePressure() {
	samples := r.out.Samples
	if r.out.Kind != "line" || r.lay.Line == nil {
		return
	}
	switch r.lay.Line.Pressure {
	case "ambient":
		for i := range samples {
			p := &samples[i]
			p.Cp = 0
			if p.tube < 0 && !math.IsNaN(p.Speed) && math.IsNaN(p.Cpt) {
				p.Cpt = p.Speed * p.Speed
			}
		}
	case "edges":
		for _, g := range lineGroups(samples) {
			first, last := floats.MinIdx(g.at), floats.MaxIdx(g.at)
			a, b := samples[g.index[first]], samples[g.index[last]]
			if a.tube >= 0 || b.tube >= 0 || !(g.at[last] > g.at[first]) {
				r.warn("edges-need-velocity", "use pressure = \"measured\" or \"ambient\" in [line]", "the pressure rule edges needs velocities at the ends of the line at x = %.4g m", g.x)
				continue
			}
			for k, i := range g.index {
				f := (g.at[k] - g.at[first]) / (g.at[last] - g.at[first])
				p := &samples[i]
				p.Cp = 1 - ((1-f)*a.Speed*a.Speed + f*b.Speed*b.Speed)
				p.Cpt = p.Cp + p.Speed*p.Speed
			}
		}
	}
}

// lines integrates every line.
func (r *reduction) lines() {
	rule := lineLayout{Chord: nan, Pressure: "measured", Threshold: 0.01}
	if r.lay.Line != nil {
		rule = *r.lay.Line
	}
	bare := slices.ContainsFunc(r.out.Samples, func(s Sample) bool { return math.IsNaN(s.Cpt) })
	if r.out.Velocity == "components" && rule.Pressure == "measured" && bare {
		r.warn("no-pressure", "add pressure = \"edges\" or \"ambient\" to [line], or a static column", "velocities without any pressure: the drag needs one")
		return
	}
	for _, g := range lineGroups(r.out.Samples) {
		if l := r.line(g, rule); l != nil {
			r.out.Lines = append(r.out.Lines, *l)
		}
	}
}

// linePoint is a sample on a line, samples at one place averaged: outer is the local
// outer velocity, jones the integrand, sound whether it has a meaning.
type linePoint struct {
	at, cpt, cp, u, outer, jones float64
	sound                        bool
	s                            *Sample
}

func (r *reduction) points(g lineGroup) []linePoint {
	var out []linePoint
	many := 1.0
	for _, k := range order(g.at) {
		s := &r.out.Samples[g.index[k]]
		if math.IsNaN(s.Cpt) {
			continue
		}
		p := linePoint{at: g.at[k], cpt: s.Cpt, cp: orZero(s.Cp), u: s.axial(), s: s}
		if n := len(out); n > 0 && p.at-out[n-1].at <= 1e-9 {
			o := &out[n-1]
			o.cpt, o.cp, o.u = (many*o.cpt+p.cpt)/(many+1), (many*o.cp+p.cp)/(many+1), (many*o.u+p.u)/(many+1)
			many++
			continue
		}
		many = 1
		out = append(out, p)
	}
	for k := range out {
		p := &out[k]
		p.outer = math.Sqrt(math.Max(1-p.cp, 0))
		p.jones, p.sound = jones(p.cpt, p.u)
	}
	return out
}

// trapezoid gives the weights of the trapezoidal rule.
func trapezoid(p []linePoint) []float64 {
	w := make([]float64, len(p))
	for k := 1; k < len(p); k++ {
		h := (p[k].at - p[k-1].at) / 2
		w[k-1] += h
		w[k] += h
	}
	return w
}

func (r *reduction) line(g lineGroup, rule lineLayout) *LineResult {
	p := r.points(g)
	n := len(p)
	if n < 3 {
		r.warn("short-line", "measure more points", "the line at x = %.4g m has %d positions: nothing is integrated", g.x, n)
		return nil
	}
	l := &LineResult{Position: g.x, Axis: g.axis, Points: n, From: p[0].at, To: p[n-1].at, Pressure: rule.Pressure, Chord: finite(rule.Chord)}
	list := make([]weighted, n)
	var loss, outer float64
	for k, w := range trapezoid(p) {
		x := &p[k]
		list[k] = weighted{x.s, w, k}
		l.Jones += w * x.jones
		if x.cpt > 1 {
			l.Gain += w * x.jones
		}
		if x.cpt < 1 {
			l.Betz += w * measure.BetzDensity(1-x.cpt, 1, x.u)
		}
		l.VelocityOnly += w * 2 * x.u * (1 - x.u)
		loss += w * (1 - x.cpt)
		if x.outer > 0 {
			v := x.u / x.outer
			l.Momentum += w * v * (1 - v)
			l.Displacement += w * (1 - v)
		}
		outer += w * x.outer
		if !x.sound {
			l.Invalid += w
		}
	}
	length := l.To - l.From
	l.Invalid /= length
	if l.Invalid > wake.SoundJones {
		r.warn("jones-invalid", "traverse further downstream", "Jones's method has no meaning on %.1f %% of the line at x = %.4g m (Cpt <= 0 or u <= 0)", 100*l.Invalid, g.x)
	}
	squireYoung := nan
	if l.Momentum > 1e-6*length {
		h := l.Displacement / l.Momentum
		squireYoung = 2 * l.Momentum * math.Pow(outer/length, (h+5)/2)
		l.Shape, l.SquireYoung = finite(h), finite(squireYoung)
	}
	if math.Abs(loss) > 1e-6*length {
		l.Factor = finite(l.Jones / loss)
	}
	if c := rule.Chord; c > 0 {
		l.Cd, l.CdBetz, l.CdVelocityOnly, l.CdSquireYoung = finite(l.Jones/c), finite(l.Betz/c), finite(l.VelocityOnly/c), finite(squireYoung/c)
	}
	r.lineShape(l, p, rule.Threshold)
	l.Items = append(standard(list, r.lay.Uncertainty.Q, jonesSlopes), Item{"sampling distance", "random", everyOther(p)})
	l.Standard = total(l.Items)
	return l
}

// everyOther is the standard uncertainty of sampling: the trapezoid from either half
// of the points, kept to the ends; half the difference over √3.
func everyOther(p []linePoint) float64 {
	var v [2]float64
	for odd := range v {
		var half []linePoint
		for k, x := range p {
			if k%2 == odd || k == 0 || k == len(p)-1 {
				half = append(half, x)
			}
		}
		for k, w := range trapezoid(half) {
			v[odd] += w * half[k].jones
		}
	}
	return math.Abs(v[1]-v[0]) / 2 / math.Sqrt(3)
}

// edgeRun is how many samples have to exceed the threshold in a row to make an edge.
const edgeRun = 3

// lineShape finds edges, centre and half-width.
func (r *reduction) lineShape(l *LineResult, p []linePoint, threshold float64) {
	n := len(p)
	deficit := make([]float64, n)
	l.Threshold = threshold
	for k, x := range p {
		l.Threshold = math.Max(l.Threshold, 3*x.s.parts[byNoise])
		if x.outer > 0 {
			deficit[k] = 1 - x.u/x.outer
		}
	}
	a, okA := edge(p, 0, 1, l.Threshold)
	b, okB := edge(p, n-1, -1, l.Threshold)
	if okA && okB && a < b {
		l.Edges = &[2]float64{a, b}
	} else {
		r.warn("wake-not-held", "traverse until the total pressure is that of the stream", "the line at x = %.4g m does not reach out of the wake on both sides (loss above %.3g)", l.Position, l.Threshold)
	}
	top := floats.MaxIdx(deficit)
	l.Centre, l.Deficit = p[top].at, deficit[top]
	half := func(step int) float64 {
		for k := top; l.Deficit > 0 && k+step >= 0 && k+step < n; k += step {
			if deficit[k+step] <= l.Deficit/2 {
				f := (deficit[k] - l.Deficit/2) / (deficit[k] - deficit[k+step])
				return p[k].at + f*(p[k+step].at-p[k].at)
			}
		}
		return nan
	}
	l.HalfWidth = finite((half(1) - half(-1)) / 2)
}

// edge goes along a line until the loss exceeds the threshold edgeRun samples running.
func edge(p []linePoint, from, step int, threshold float64) (at float64, ok bool) {
	run := 0
	for k := from; k >= 0 && k < len(p); k += step {
		if !(1-p[k].cpt > threshold) {
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
		a, b := 1-p[o].cpt, 1-p[i].cpt
		return p[o].at + (threshold-a)/(b-a)*(p[i].at-p[o].at), true
	}
	return 0, false
}
