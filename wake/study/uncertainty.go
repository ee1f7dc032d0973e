package study

import "wakeledger/wake/measure"

// uncertainty turns the study's words into the inputs of the budgets. The
// reference has to be known: relative values are of it.
func (r *runner) uncertainty() {
	c, ref, u := &r.c.Uncertainty, &r.opt.Reference, &r.opt.Uncertainty
	absolute := func(b *Band, whole float64) float64 {
		switch {
		case b == nil:
			return 0
		case b.Relative:
			return b.Value * whole
		}
		return b.Value
	}
	*u = measure.Inputs{
		Speed:         absolute(c.Speed, ref.Speed),
		Density:       absolute(c.Density, ref.Density),
		Pressure:      absolute(c.Pressure, ref.Dynamic()),
		TotalPressure: absolute(c.TotalPressure, ref.Dynamic()),
		Steady:        c.Steady,
		Independent:   c.Independent,
		Trials:        c.Trials,
	}
	if b := c.Solution; b != nil {
		u.Solution = &b.Value
	}
	if p := c.Position; p != nil && p.Relative {
		u.Scale = p.Value
	} else if p != nil {
		u.Position = p.Value
	}
	if c.EffectiveSamples != nil {
		u.EffectiveSamples = *c.EffectiveSamples
	}
	if c.CorrelationLength != nil {
		u.CorrelationLength = *c.CorrelationLength
	}
}
