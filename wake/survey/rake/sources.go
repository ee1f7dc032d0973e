package rake

import (
	"math"

	"wakeledger/wake"
)

// source is what makes a sample err.
type source int

const (
	byNoise source = iota
	byStaticNoise
	byZero
	byFill
	byPosition
	byShear
	byStatic
	byQ
	numSources
)

// sources says of each how it acts: on Cp or on Cpt, and on which samples alike.
var sources = [numSources]struct {
	name, kind string
	static     bool
	// alike numbers the samples that err together; nil: each errs by itself.
	alike func(s *Sample) int
}{
	byNoise:       {name: "sample noise of total pressure", kind: "random"},
	byStaticNoise: {name: "sample noise of static pressure", kind: "random", static: true},
	byZero:        {name: "zeros of the tubes", kind: "independent", alike: func(s *Sample) int { return s.tube + 1 }},
	byFill:        {name: "filled tubes", kind: "independent"},
	byPosition:    {name: "positions of the samples", kind: "random"},
	byShear:       {name: "displacement in shear", kind: "common", alike: all},
	byStatic:      {name: "static between the tubes", kind: "common", static: true, alike: all},
	byQ:           {name: "reference dynamic pressure", kind: "common", alike: all},
}

func all(*Sample) int { return 0 }

type Item struct {
	Name string `json:"name"`
	// Kind is random, common or independent.
	Kind     string  `json:"kind"`
	Standard float64 `json:"standard"`
}

// sumSquares adds in the order of v: the same sum every time.
func sumSquares(v []float64) (s float64) {
	for _, x := range v {
		s += x * x
	}
	return s
}

func rss(v ...float64) float64 { return math.Sqrt(sumSquares(v)) }

func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// sampleErrors are the errors of the samples in a stream, each source by itself. An error
// of Cpt or Cp acts on the pressures by the dynamic pressure of the stream, and on the
// speed √(Cpt−Cp), along its direction where that is known, by half of it over the speed,
// taken no nearer to zero than its noise.
func (r *Result) sampleErrors(in Stream) (out []wake.SampleError) {
	n := len(r.Samples)
	for k, by := range sources {
		e := wake.SampleError{Name: by.name + wake.FromLog, Kind: by.kind}
		for _, q := range []wake.Quantity{wake.Cpt, wake.Cp, wake.Pt, wake.P, wake.U, wake.V, wake.W} {
			e.Of[q] = make([]float64, n)
		}
		some := false
		for i := range r.Samples {
			s := &r.Samples[i]
			if by.alike != nil {
				e.Group = append(e.Group, int32(by.alike(s)))
				e.Groups = max(e.Groups, by.alike(s)+1)
			}
			cpt, cp := orZero(s.parts[k]), 0.0
			switch {
			case source(k) == byQ:
				cpt, cp = r.sigmaQ*orZero(s.Cpt), r.sigmaQ*orZero(s.Cp)
			case by.static:
				cpt, cp = 0, cpt
			}
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
		if some {
			out = append(out, e)
		}
	}
	// Samples that are velocities alone have their own scatter.
	e := wake.SampleError{Name: "sample noise of velocity" + wake.FromLog, Kind: "random"}
	e.Of[wake.U] = make([]float64, n)
	some := false
	for i := range r.Samples {
		if s := &r.Samples[i]; s.Cpt != s.Cpt && s.SigmaSpeed > 0 {
			e.Of[wake.U][i], some = in.Speed*s.SigmaSpeed, true
		}
	}
	if some {
		out = append(out, e)
	}
	return out
}
