package rake

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"wakeledger/wake"
)

// Options steer Reduce.
type Options struct {
	// Without lists corrections to leave out, beside those of the layout.
	Without []Correction
	// Worth asks for what each correction changes, by a further run without it.
	Worth bool
	// Speed, m/s, and Density, kg/m³, stand in for what the layout does not state; 0 is
	// none.
	Speed, Density float64
}

// Reduce takes a log, or several of one plane which one rake took, to a survey by a
// layout: each log has its own zeros, references and tests of tubes, then the samples go
// on together. Positions that more than one log has are averaged, and how far the logs
// disagree there is part of the uncertainty. Errors are *wake.InputError.
func Reduce(ctx context.Context, logs []*Log, lay *Layout, opt Options) (*Result, error) {
	off := maps.Clone(lay.without)
	for _, c := range opt.Without {
		off[c] = true
	}
	stated := *lay
	if ref := &stated.Reference; math.IsNaN(ref.Speed) && opt.Speed > 0 {
		ref.Speed = opt.Speed
	}
	if ref := &stated.Reference; math.IsNaN(ref.Density) && opt.Density > 0 {
		ref.Density = opt.Density
	}
	out, err := reduce(logs, &stated, off)
	if err != nil || !opt.Worth {
		return out, err
	}
	return out, worth(ctx, logs, &stated, off, out)
}

// ofLog are the corrections of a log in their order, after what is read; each says what it
// did by r.step, and leaves its error in the parts of the samples.
var ofLog = []func(*reduction){
	(*reduction).zeros,          // zero, drift: p − p₀(t)
	(*reduction).normalise,      // rows: p/q of the row
	(*reduction).judge,          // tubes: three tests
	(*reduction).fill,           // fill: between the tubes on both sides
	(*reduction).group,          // repeats: rows at one position
	(*reduction).tubeSamples,    //
	(*reduction).probeSamples,   //
	(*reduction).overlaps,       // repeats: tubes at one position
	(*reduction).staticPressure, // static: between the static tubes
}

// ofSamples are the corrections that need neighbouring samples, of all logs together, and
// what follows from the corrected ones.
var ofSamples = []func(*reduction){
	(*reduction).linePressure,
	(*reduction).shear, // displacement: Cpt − δ|∇Cpt|
	(*reduction).wall,  // wall: u/(1+Δu/u)
	(*reduction).settle,
	(*reduction).lines,
	(*reduction).geometry,
}

func reduce(logs []*Log, lay *Layout, off map[Correction]bool) (*Result, error) {
	parts := make([]*reduction, len(logs))
	for k, log := range logs {
		r := &reduction{log: log, lay: lay, off: off, number: k, out: &Result{Log: log.File, Layout: lay.File, Title: lay.Title, Kind: "plane", sigmaQ: lay.Uncertainty.Q}}
		if err := wake.Attempt(r.readLog); err != nil {
			return nil, err
		}
		for _, correct := range ofLog {
			correct(r)
		}
		if n := r.out.Counts; len(r.out.Samples) == 0 {
			return nil, log.fail(0, 0, fmt.Sprintf("no sample is left: %d readings missing or of tubes at fault, %d outside the acceptance of a probe", n.Missing, n.Outside), "switch the correction tubes off to see the readings, and check columns, frame and acceptance")
		}
		parts[k] = r
	}
	r := parts[0]
	if len(parts) > 1 {
		r = joined(parts)
	}
	if lay.Line != nil || collinear(r.out.Samples) {
		r.out.Kind = "line"
	}
	for _, correct := range ofSamples {
		correct(r)
	}
	return r.out, nil
}

func (r *reduction) readLog() {
	r.readRows()
	r.readTubes()
	r.nominal()
	r.readProbes()
}

func (r *reduction) settle() {
	r.out.Velocity = "components"
	c := &r.out.Counts
	c.Kept = len(r.out.Samples)
	for i := range r.out.Samples {
		p := &r.out.Samples[i]
		r.budget(p)
		if math.IsNaN(p.Velocity[0]) {
			r.out.Velocity = "speed"
		}
		switch p.State {
		case "reversed":
			c.Reversed++
		case "filled":
			c.Filled++
		}
	}
	if r.out.Velocity == "speed" {
		r.warn("speed-not-u", "measure the flow angles, or keep to stations where they are small", "the velocity is |V| from total and static pressure, not its axial component u: it reads high by (v²+w²)/2u² of u")
	}
	if c.Reversed > 0 {
		r.warn("reversed", "survey further downstream, or with a probe that accepts reversed flow", "%d of %d samples have Cpt below Cp within their noise: the flow is reversed or across the tube, the speed is set to 0 there", c.Reversed, c.Kept)
	}
	if c.Outside > 0 {
		r.warn("outside-acceptance", "align the probe with the flow or use one with a wider cone", "%d readings are outside the probe's acceptance and were left out", c.Outside)
	}
}

// nominal fixes the stream that velocities and pressures are given for: the layout's
// speed; else from its density and the mean q.
func (r *reduction) nominal() {
	l, ref := r.lay.Reference, &r.out.Reference
	ref.Speed, ref.Density = l.Speed, finite(l.Density)
	switch {
	case !math.IsNaN(l.Speed) && !math.IsNaN(l.Density):
		ref.Dynamic = finite(l.Density * l.Speed * l.Speed / 2)
		if q := *ref.Dynamic; math.Abs(r.qMean/q-1) > 0.1 {
			r.warn("nominal-off", "check speed and density in the layout and the unit of q", "the nominal dynamic pressure is %.4g Pa and the rows have %.4g Pa on average", q, r.qMean)
		}
	case !math.IsNaN(l.Speed):
		ref.Dynamic = finite(r.qMean)
	case !math.IsNaN(l.Density) && !math.IsNaN(r.qMean):
		ref.Speed, ref.Dynamic = math.Sqrt(2*r.qMean/l.Density), finite(r.qMean)
	default:
		wake.Stop(&wake.InputError{File: r.lay.File, Text: "neither the speed nor the density of the stream is known", Cure: "add speed = \"25 m/s\" and density = \"1.2 kg/m3\" to [reference]"})
	}
}

// sample is one of tube t, −1 for a probe, at a place, for which x, y and z are on the rake.
func (r *reduction) sample(place, t int, name string, x, y, z float64) Sample {
	at := r.lay.place(r.places[place].pose, x, y, z)
	origin := r.number*(len(r.lay.Tubes)+1) + t + 1
	return Sample{X: at[0], Y: at[1], Z: at[2], Tube: name, Cp: nan, Velocity: noVector, tube: t, origin: origin, place: place, log: r.number}
}

func (r *reduction) tubeSamples() {
	for p, pl := range r.places {
		for t, tube := range r.lay.Tubes {
			if tube.Kind != Total {
				continue
			}
			cpt, n := r.meanAt(t, pl)
			if n == 0 || r.bad[t] && r.fillSigma[t] == nil {
				r.out.Counts.Missing++
				continue
			}
			s := r.sample(p, t, r.tubeName(t), tube.X, tube.Y, tube.Z)
			s.Cpt, s.Readings = cpt, int(n)
			s.parts[byNoise] = r.noise[Total] / math.Sqrt(n)
			s.parts[byZero] = r.sigmaZero[t] / r.qMean
			if f := r.fillSigma[t]; f != nil {
				s.State, s.parts[byFill] = "filled", slices.Max(wake.At(f, pl.rows))
			}
			r.out.Samples = append(r.out.Samples, s)
		}
	}
}

func (r *reduction) budget(p *Sample) {
	a, q := p.parts, r.lay.Uncertainty.Q
	if p.tube < 0 && !math.IsNaN(p.Speed) && math.IsNaN(p.Cpt) {
		return // a velocity alone, with its own scatter
	}
	p.SigmaCpt = rss(a[byNoise], a[byZero], a[byFill], a[byShear], a[byPosition], a[byLogs], q*p.Cpt)
	p.SigmaCp = rss(a[byStaticNoise], a[byStatic], q*orZero(p.Cp))
	if p.tube < 0 && !math.IsNaN(p.Velocity[0]) {
		return // the probe's own velocity stands
	}
	v2 := p.Cpt - orZero(p.Cp)
	s2 := math.Hypot(p.SigmaCpt, p.SigmaCp)
	if !(v2 > s2) {
		// Within its noise of zero, or below.
		p.Speed = 0
		p.SigmaSpeed = math.Sqrt(math.Max(s2, math.Abs(v2)))
		if p.State == "" {
			p.State = "reversed"
		}
		return
	}
	p.Speed = math.Sqrt(v2)
	p.SigmaSpeed = s2 / (2 * p.Speed)
}

func (r *reduction) overlaps() {
	samples := r.out.Samples
	groups := positions(samples)
	var ss, pairs float64
	for _, group := range groups {
		for _, i := range group[1:] {
			if a, b := &samples[group[0]], &samples[i]; a.tube != b.tube && !math.IsNaN(a.Cpt+b.Cpt) {
				ss += sq(b.Cpt-a.Cpt) / 2
				pairs++
			}
		}
	}
	if pairs == 0 {
		return
	}
	step := &r.out.Steps[slices.IndexFunc(r.out.Steps, func(s Step) bool { return s.Name == Repeats })]
	step.Text += fmt.Sprintf("; %g pairs of tubes met at one point and agree within %.4f q", pairs, math.Sqrt(ss/pairs))
	step.Applied = r.on(Repeats)
	if !r.on(Repeats) {
		return
	}
	r.merge(groups)
}

// keepStrips keeps the coefficients as read, for charts.
func (r *reduction) keepStrips() {
	r.out.quiet = r.still
	for t := range r.coef {
		s := Strip{Name: r.tubeName(t), Values: slices.Clone(r.coef[t]), Around: make([]float64, r.n)}
		near := r.neighbours(t)
		for i := range s.Around {
			s.Around[i], _ = r.around(near, i)
		}
		r.out.strips = append(r.out.strips, s)
	}
}

// geometry doubts the traverse: steps of a tenth of the tubes' distance or less that
// would fit it in inches are probably inches labelled otherwise.
func (r *reduction) geometry() {
	for t := range r.out.strips {
		r.out.strips[t].State = "good"
		// Joined logs have a verdict each.
		for k := t; k < len(r.out.Tubes); k += len(r.out.strips) {
			if s := r.out.Tubes[k].State; s != "good" {
				r.out.strips[t].State = s
			}
		}
	}
	pitch := math.Inf(1)
	for a := range r.lay.Tubes {
		for b := range a {
			if d := r.apart(a, b); d > 0 && r.lay.Tubes[a].Kind == Total && r.lay.Tubes[b].Kind == Total {
				pitch = math.Min(pitch, d)
			}
		}
	}
	var steps []float64
	for p := 1; p < len(r.places); p++ {
		a, b := r.places[p-1].pose, r.places[p].pose
		if d := rss(b[0]-a[0], b[1]-a[1], b[2]-a[2]); d > 0 {
			steps = append(steps, d)
		}
	}
	step := median(steps)
	if math.IsInf(pitch, 0) || math.IsNaN(step) {
		return
	}
	if inches := 25.4 * step; step > 8*pitch || step < pitch/8 && inches > pitch/4 && inches < pitch*4 {
		r.warn("traverse-unit", "check the unit of the traverse; set y_limits in [traverse] to have it refused", "the traverse steps by %.3g mm between tubes %.3g mm apart; were the column in inches, it would step by %.3g mm", 1000*step, 1000*pitch, 1000*inches)
	}
}
