package rake

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
)

// Options configure Reduce.
type Options struct {
	// Worth asks for what each correction changes, by a further run without it.
	Worth bool
	// Speed, m/s, and Density, kg/m³, stand in for what the layout does not state; 0 is
	// none.
	Speed, Density float64
}

// Reduce takes a log to a survey by a layout. Errors are *wake.InputError.
func Reduce(ctx context.Context, log *Log, lay *Layout, opt Options) (*Result, error) {
	stated := *lay
	for to, x := range map[*float64]float64{&stated.Reference.Speed: opt.Speed, &stated.Reference.Density: opt.Density} {
		if math.IsNaN(*to) && x > 0 {
			*to = x
		}
	}
	out, err := reduce(log, &stated, lay.without)
	if err != nil || !opt.Worth {
		return out, err
	}
	return out, worth(ctx, log, &stated, out)
}

// steps read a log and correct it, in this order; each correction says what it did by r.step, and
// leaves its error in the parts of the samples.
var steps = []func(*reduction){
	(*reduction).readRows,
	(*reduction).readTubes,
	(*reduction).nominal,
	(*reduction).readProbes,
	(*reduction).zeros,     // zero, drift: p − p₀(t)
	(*reduction).normalise, // rows: p/q of the row
	(*reduction).judge,     // tubes: three tests
	(*reduction).fill,      // fill: between the tubes on both sides
	(*reduction).group,     // repeats: rows at one position
	(*reduction).tubeSamples,
	(*reduction).probeSamples,
	(*reduction).overlaps,       // repeats: tubes at one position
	(*reduction).staticPressure, // static: between the static tubes
	(*reduction).linePressure,
	(*reduction).shear, // displacement: Cpt − δ|∇Cpt|
	(*reduction).wall,  // wall: u/(1+Δu/u)
	(*reduction).settle,
	(*reduction).lines,
	(*reduction).geometry,
}

func reduce(log *Log, lay *Layout, off map[Correction]bool) (*Result, error) {
	var logs []string
	for i, l := range log.of {
		if i == 0 || log.begins(i) {
			logs = append(logs, l.File)
		}
	}
	r := &reduction{log: log, lay: lay, off: off, out: &Result{Log: strings.Join(logs, "+"), Logs: logs, Layout: lay.File, Title: lay.Title, Kind: "plane", sigmaQ: lay.Uncertainty.Q}}
	err := wake.Attempt(func() {
		for _, step := range steps {
			step(r)
		}
	})
	return r.out, err
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
	ref.Speed, ref.Density = l.Speed, wake.Finite(l.Density)
	switch {
	case !math.IsNaN(l.Speed) && !math.IsNaN(l.Density):
		ref.Dynamic = wake.Finite(l.Density * l.Speed * l.Speed / 2)
		if q := *ref.Dynamic; math.Abs(r.qMean/q-1) > 0.1 {
			r.warn("nominal-off", "check speed and density in the layout and the unit of q", "the nominal dynamic pressure is %.4g Pa and the rows have %.4g Pa on average", q, r.qMean)
		}
	case !math.IsNaN(l.Speed):
		ref.Dynamic = wake.Finite(r.qMean)
	case !math.IsNaN(l.Density) && !math.IsNaN(r.qMean):
		ref.Speed, ref.Dynamic = math.Sqrt(2*r.qMean/l.Density), wake.Finite(r.qMean)
	default:
		wake.Stop(&wake.InputError{File: r.lay.File, Text: "neither the speed nor the density of the stream is known", Cure: "add speed = \"25 m/s\" and density = \"1.2 kg/m3\" to [reference]"})
	}
}

// sample is one of tube t, −1 for a probe, at a place, for which x, y and z are on the rake.
func (r *reduction) sample(place, t int, name string, x, y, z float64) Sample {
	at := r.lay.place(r.places[place].pose, x, y, z)
	return Sample{X: at[0], Y: at[1], Z: at[2], Tube: name, Cp: nan, Velocity: noVector, tube: t, place: place}
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
	p.SigmaCpt = rss(a[byNoise], a[byZero], a[byFill], a[byShear], a[byPosition], q*p.Cpt)
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
		p.State = cmp.Or(p.State, "reversed")
		return
	}
	p.Speed = math.Sqrt(v2)
	p.SigmaSpeed = s2 / (2 * p.Speed)
}

// geometry doubts the traverse: steps of a tenth of the tubes' distance or less that
// would fit it in inches are probably inches labelled otherwise.
func (r *reduction) geometry() {
	pitch := math.Inf(1)
	for t, tube := range r.lay.Tubes {
		for _, k := range r.neighbours(t) {
			if d := r.apart(t, k); tube.Kind == Total && d > 0 {
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
	if inches := 25.4 * step; step > 8*pitch || step < pitch/8 && inches > pitch/4 && inches < pitch*4 {
		r.warn("traverse-unit", "check the unit of the traverse; set y_limits in [traverse] to have it refused", "the traverse steps by %.3g mm between tubes %.3g mm apart; were the column in inches, it would step by %.3g mm", 1000*step, 1000*pitch, 1000*inches)
	}
}
