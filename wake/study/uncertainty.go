package study

import "wakeledger/wake/measure"

// uncertainty turns the study's words into the inputs of the budgets. The
// reference has to be known: relative values are of it. What the reference's plane told
// of speed and pressure stays where nothing is stated.
func (r *runner) uncertainty(opt *measure.Options) {
	c, ref, u := &r.c.Uncertainty, &opt.Reference, &opt.Uncertainty
	absolute := func(b *Band, whole, found float64) float64 {
		switch {
		case b == nil:
			return found
		case b.Relative:
			return b.Value * whole
		}
		return b.Value
	}
	*u = measure.Inputs{
		Speed:         absolute(c.Speed, ref.Speed, u.Speed),
		Density:       absolute(c.Density, ref.Density, 0),
		Pressure:      absolute(c.Pressure, ref.Dynamic(), u.Pressure),
		TotalPressure: absolute(c.TotalPressure, ref.Dynamic(), 0),
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
