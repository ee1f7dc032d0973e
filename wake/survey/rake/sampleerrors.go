package rake

import (
	"math"

	"wakeledger/wake"
)

// sampleErrors are the errors of the samples in a stream, as the log tells them: each
// part of a sample's standard uncertainties by itself, with the samples that it acts on
// alike (as in standard). A part of Cpt or Cp acts on the pressures by the dynamic
// pressure of the stream, and on the speed √(Cpt−Cp), along its direction where that is
// known, by half of it over the speed, taken no nearer to nought than its noise.
func (r *Result) sampleErrors(in Stream) []wake.SampleError {
	n := len(r.Samples)
	var out []wake.SampleError
	// add takes what a source does to Cpt and Cp of a sample, and the group of the sample.
	add := func(name, kind string, of func(s *Sample) (cpt, cp float64), group func(s *Sample) int32) {
		e := wake.SampleError{Name: name + wake.FromLog, Kind: kind}
		for _, q := range []wake.Quantity{wake.Cpt, wake.Cp, wake.Pt, wake.P, wake.U, wake.V, wake.W} {
			e.Of[q] = make([]float64, n)
		}
		some := false
		for i := range r.Samples {
			s := &r.Samples[i]
			cpt, cp := of(s)
			cpt, cp = orZero(cpt), orZero(cp)
			some = some || cpt != 0 || cp != 0
			e.Of[wake.Cpt][i], e.Of[wake.Cp][i] = cpt, cp
			e.Of[wake.Pt][i], e.Of[wake.P][i] = orZero(in.Dynamic)*cpt, orZero(in.Dynamic)*cp
			v := math.Max(s.Speed, math.Sqrt(math.Hypot(s.SigmaCpt, s.SigmaCp)))
			if s.Cpt != s.Cpt || !(v > 0) {
				continue
			}
			speed := in.Speed * (cpt - cp) / (2 * v)
			e.Of[wake.U][i] = speed
			if d := s.Velocity; d[0] == d[0] {
				e.Of[wake.U][i], e.Of[wake.V][i], e.Of[wake.W][i] = speed*d[0]/v, speed*orZero(d[1])/v, speed*orZero(d[2])/v
			}
		}
		if !some {
			return
		}
		if group != nil {
			e.Group = make([]int32, n)
			for i := range r.Samples {
				e.Group[i] = group(&r.Samples[i])
				e.Groups = max(e.Groups, int(e.Group[i])+1)
			}
		}
		out = append(out, e)
	}
	tubes := int32(0)
	for i := range r.Samples {
		tubes = max(tubes, int32(r.Samples[i].tube)+2)
	}
	all := func(*Sample) int32 { return 0 }
	add("sample noise of total pressure", "random", func(s *Sample) (float64, float64) { return s.parts.noise, 0 }, nil)
	add("sample noise of static pressure", "random", func(s *Sample) (float64, float64) { return 0, s.parts.cpNoise }, nil)
	add("zeros of the tubes", "independent", func(s *Sample) (float64, float64) { return s.parts.zero, 0 },
		func(s *Sample) int32 { return int32(s.log)*tubes + int32(s.tube) + 1 })
	add("filled tubes", "independent", func(s *Sample) (float64, float64) { return s.parts.fill, 0 }, nil)
	add("positions of the samples", "random", func(s *Sample) (float64, float64) { return s.parts.position, 0 }, nil)
	add("disagreement of the logs", "independent", func(s *Sample) (float64, float64) { return s.parts.logs, 0 },
		func(s *Sample) int32 { return int32(s.log) })
	add("displacement in shear", "common", func(s *Sample) (float64, float64) { return s.parts.shear, 0 }, all)
	add("static between the tubes", "common", func(s *Sample) (float64, float64) { return 0, s.parts.static }, all)
	add("reference dynamic pressure", "common", func(s *Sample) (float64, float64) { return r.sigmaQ * s.Cpt, r.sigmaQ * s.Cp }, all)
	return append(out, r.velocityErrors(in)...)
}

// velocityErrors is the scatter of samples that are velocities alone.
func (r *Result) velocityErrors(in Stream) []wake.SampleError {
	e := wake.SampleError{Name: "sample noise of velocity" + wake.FromLog, Kind: "random"}
	e.Of[wake.U] = make([]float64, len(r.Samples))
	some := false
	for i := range r.Samples {
		if s := &r.Samples[i]; s.Cpt != s.Cpt && s.SigmaSpeed > 0 {
			e.Of[wake.U][i], some = in.Speed*s.SigmaSpeed, true
		}
	}
	if !some {
		return nil
	}
	return []wake.SampleError{e}
}
