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
	byLogs // how far joined logs disagree beyond the rest
	byShear
	byStatic
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
	byZero:        {name: "zeros of the tubes", kind: "independent", alike: func(s *Sample) int { return s.origin }},
	byFill:        {name: "filled tubes", kind: "independent"},
	byPosition:    {name: "positions of the samples", kind: "random"},
	byLogs:        {name: "disagreement of the logs", kind: "independent", alike: func(s *Sample) int { return s.log }},
	byShear:       {name: "displacement in shear", kind: "common", alike: all},
	byStatic:      {name: "static between the tubes", kind: "common", static: true, alike: all},
}

func all(*Sample) int { return 0 }

type Item struct {
	Name string `json:"name"`
	// Kind is random, common or independent.
	Kind     string  `json:"kind"`
	Standard float64 `json:"standard"`
}

// budget lists the items of an integral's uncertainty; the later ones are named only
// where there is such an error.
var budget = []struct {
	name   string
	of     []source
	always bool
}{
	{"scatter of readings", []source{byNoise, byStaticNoise}, true},
	{"zeros of the tubes", []source{byZero}, true},
	{"displacement in shear", []source{byShear}, true},
	{"static between the tubes", []source{byStatic}, true},
	{"filled tubes", []source{byFill}, false},
	{"positions", []source{byPosition}, false},
	{"disagreement of the logs", []source{byLogs}, false},
}

// weighted pairs a sample with its share of a quadrature.
type weighted struct {
	s *Sample
	w float64
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

// standard gives the standard uncertainties of Jones's integral over a line: the root of the sum of squares of what acts on samples, or
// groups of them, by themselves; the sum of magnitudes of what acts on all alike, whose
// sign is not known; and the change of all coefficients with the dynamic pressure.
func standard(list []weighted, sigmaQ float64) []Item {
	var items []Item
	for _, it := range budget {
		kind, alike := sources[it.of[0]].kind, sources[it.of[0]].alike
		var sum float64
		var groups []float64
		for _, x := range list {
			a, b := jonesSlopes(x.s)
			var squares float64
			for _, k := range it.of {
				slope := a
				if sources[k].static {
					slope = b
				}
				e := x.w * slope * x.s.parts[k]
				switch {
				case kind == "common":
					sum += math.Abs(e)
				case alike == nil:
					squares += e * e
				default:
					g := alike(x.s)
					for len(groups) <= g {
						groups = append(groups, 0)
					}
					groups[g] += e
				}
			}
			sum += squares
		}
		if alike != nil && kind != "common" {
			sum = sumSquares(groups)
		}
		if kind != "common" {
			sum = math.Sqrt(sum)
		}
		if it.always || sum > 0 {
			items = append(items, Item{it.name, kind, sum})
		}
	}
	if sigmaQ > 0 {
		var scale float64
		for _, x := range list {
			a, b := jonesSlopes(x.s)
			scale += x.w * (a*x.s.Cpt + b*orZero(x.s.Cp)) * sigmaQ
		}
		items = append(items, Item{"dynamic pressure", "common", math.Abs(scale)})
	}
	return items
}

// sumSquares adds in the order of v: the same sum every time.
func sumSquares(v []float64) (s float64) {
	for _, x := range v {
		s += x * x
	}
	return s
}

func rss(v ...float64) float64 { return math.Sqrt(sumSquares(v)) }

func total(items []Item) float64 {
	v := make([]float64, len(items))
	for k, it := range items {
		v[k] = it.Standard
	}
	return rss(v...)
}

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
func (r *Result) sampleErrors(in Stream) []wake.SampleError {
	var out []wake.SampleError
	for k, by := range sources {
		out = r.addError(out, in, by.name, by.kind, by.alike, func(s *Sample) (cpt, cp float64) {
			if by.static {
				return 0, s.parts[k]
			}
			return s.parts[k], 0
		})
	}
	out = r.addError(out, in, "reference dynamic pressure", "common", all, func(s *Sample) (cpt, cp float64) { return r.sigmaQ * s.Cpt, r.sigmaQ * s.Cp })
	// Samples that are velocities alone have their own scatter.
	e := wake.SampleError{Name: "sample noise of velocity" + wake.FromLog, Kind: "random"}
	e.Of[wake.U] = make([]float64, len(r.Samples))
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

func (r *Result) addError(out []wake.SampleError, in Stream, name, kind string, alike func(s *Sample) int, of func(s *Sample) (cpt, cp float64)) []wake.SampleError {
	e := wake.SampleError{Name: name + wake.FromLog, Kind: kind}
	for _, q := range []wake.Quantity{wake.Cpt, wake.Cp, wake.Pt, wake.P, wake.U, wake.V, wake.W} {
		e.Of[q] = make([]float64, len(r.Samples))
	}
	if alike != nil {
		e.Group = make([]int32, len(r.Samples))
	}
	some := false
	for i := range r.Samples {
		s := &r.Samples[i]
		if alike != nil {
			e.Group[i] = int32(alike(s))
			e.Groups = max(e.Groups, int(e.Group[i])+1)
		}
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
		return out
	}
	return append(out, e)
}
