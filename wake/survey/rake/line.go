package rake

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

type LineResult struct {
	measure.Line
	// Standard is the standard uncertainty of Jones, m.
	Standard float64 `json:"standard_m"`
	Items    []Item  `json:"items"`
}

// lineGroup is the samples of one line in their order along it, with their coordinate.
type lineGroup struct {
	x     float64
	axis  string
	index []int
	at    []float64
}

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
		extremes := func(v []float64) (first, last int) {
			some := wake.At(v, g.index)
			return g.index[floats.MinIdx(some)], g.index[floats.MaxIdx(some)]
		}
		first, last := extremes(y)
		if bottom, top := extremes(z); z[top]-z[bottom] > y[last]-y[first] {
			g.axis, first, last = "z", bottom, top
		}
		cy, cz := 1.0, 0.0
		dy, dz := y[last]-y[first], z[last]-z[first]
		if d := math.Hypot(dy, dz); d > 0 {
			cy, cz = dy/d, dz/d
		}
		for _, i := range g.index {
			g.at = append(g.at, y[i]*cy+z[i]*cz)
		}
		along := order(g.at)
		g.index, g.at = wake.At(g.index, along), wake.At(g.at, along)
	}
	return out
}

// collinear reports whether all samples lie on one line within 1e-3 of its length.
func collinear(samples []Sample) bool {
	g := lineGroups(samples)
	if len(g) != 1 || len(samples) < 2 {
		return false
	}
	a, b := samples[g[0].index[0]], samples[g[0].index[len(samples)-1]]
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
	if r.lay.Line != nil || collinear(samples) {
		r.out.Kind = "line"
	}
	if r.lay.Line == nil {
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
			last := len(g.at) - 1
			a, b := samples[g.index[0]], samples[g.index[last]]
			if a.tube >= 0 || b.tube >= 0 || !(g.at[last] > g.at[0]) {
				r.warn("edges-need-velocity", "use pressure = \"measured\" or \"ambient\" in [line]", "the pressure rule edges needs velocities at the ends of the line at x = %.4g m", g.x)
				continue
			}
			for k, i := range g.index {
				f := (g.at[k] - g.at[0]) / (g.at[last] - g.at[0])
				p := &samples[i]
				p.Cp = 1 - ((1-f)*a.Speed*a.Speed + f*b.Speed*b.Speed)
				p.Cpt = p.Cp + p.Speed*p.Speed
			}
		}
	}
}

func (r *reduction) lines() {
	if r.out.Kind != "line" {
		return
	}
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

// points are the samples of a line, one at each place, and which they are.
func (r *reduction) points(g lineGroup) (out []measure.LinePoint, of []int) {
	for k, i := range g.index {
		s := &r.out.Samples[i]
		if n := len(out); math.IsNaN(s.Cpt) || n > 0 && g.at[k]-out[n-1].At <= 1e-9 {
			continue
		}
		out, of = append(out, measure.LinePoint{At: g.at[k], Cpt: s.Cpt, Cp: orZero(s.Cp), U: s.axial(), Noise: s.parts[byNoise]}), append(of, i)
	}
	return out, of
}

func (r *reduction) line(g lineGroup, rule lineLayout) *LineResult {
	p, of := r.points(g)
	if len(p) < 3 {
		r.warn("short-line", "measure more points", "the line at x = %.4g m has %d positions: nothing is integrated", g.x, len(p))
		return nil
	}
	line, weights := measure.NewLine(p, rule.Chord, rule.Threshold)
	line.Position, line.Axis, line.Pressure = g.x, g.axis, rule.Pressure
	if line.Invalid > wake.SoundJones {
		r.warn("jones-invalid", "traverse further downstream", "Jones's method has no meaning on %.1f %% of the line at x = %.4g m (Cpt <= 0 or u <= 0)", 100*line.Invalid, g.x)
	}
	if line.Edges == nil {
		r.warn("wake-not-held", "traverse until the total pressure is that of the stream", "the line at x = %.4g m does not reach out of the wake on both sides (loss above %.3g)", g.x, line.Threshold)
	}
	items := append(r.out.standard(of, weights), Item{"sampling distance", "random", line.Sampling})
	all := grid.Fill(len(items), func(k int) float64 { return items[k].Standard })
	return &LineResult{line, rss(all...), items}
}

// jonesSlopes are the derivatives of 2u(1−√Cpt) by Cpt and by Cp for u = √(Cpt−Cp). Near u = 0 and
// Cpt = 0 they have no limit: both are taken no nearer than the sample's noise.
func jonesSlopes(s *Sample) (byCpt, byCp float64) {
	noise := math.Sqrt(math.Hypot(s.SigmaCpt, s.SigmaCp))
	v := math.Max(s.Speed, noise)
	root := math.Sqrt(math.Max(s.Cpt, 0))
	if v == 0 {
		return 0, 0
	}
	byCp = -(1 - root) / v
	return -byCp - v/math.Max(root, noise), byCp
}

// standard gives the standard uncertainties of Jones's integral over samples with these weights,
// one for each source of their errors: the root of the sum of squares over what errs by itself.
func (r *Result) standard(index []int, weights []float64) []Item {
	var items []Item
	for _, e := range r.sampleErrors(Stream{Speed: 1, Dynamic: 1}) {
		groups := make([]float64, max(e.Groups, len(index)))
		for k, i := range index {
			byCpt, byCp := jonesSlopes(&r.Samples[i])
			g := k
			if e.Group != nil {
				g = int(e.Group[i])
			}
			if of := e.Of[wake.Cpt]; of != nil {
				groups[g] += weights[k] * (byCpt*of[i] + byCp*e.Of[wake.Cp][i])
			}
		}
		items = append(items, Item{strings.TrimSuffix(e.Name, wake.FromLog), e.Kind, rss(groups...)})
	}
	return items
}
