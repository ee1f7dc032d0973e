package uncertainty

import (
	"fmt"
	"math"
)

// GridConvergence is what results on refined meshes say about the result on an
// endlessly fine one.
type GridConvergence struct {
	// Order is the observed order of convergence, 0 where it is not computable; Used that which
	// Extrapolated and Standard were formed with.
	Order float64 `json:"observed_order,omitempty"`
	Used  float64 `json:"order_used"`
	// Extrapolated is the value for an endlessly fine mesh.
	Extrapolated float64 `json:"extrapolated_m2"`
	// Factor is the factor of safety, Index the grid convergence index (GCI) in per cent of the
	// finest result, 100·Factor·|ε₂₁/f₁|/(r₂₁^p − 1), nil where that is 0, and Standard half of the
	// index times that result: the index read as an expanded uncertainty with k = 2.
	Factor   float64  `json:"safety_factor"`
	Index    *float64 `json:"gci_percent,omitempty"`
	Standard float64  `json:"standard_m2"`
	// Oscillatory: the two differences have opposite signs.
	Oscillatory bool `json:"oscillatory"`
	// Fallback says why Used is not Order and Factor 3, Doubt that the spacings are close; empty otherwise.
	Fallback string `json:"fallback,omitempty"`
	Doubt    string `json:"doubt,omitempty"`
}

// The limits of a plausible observed order, the order taken without one, and the least ratio of
// spacings that the source advises.
const (
	leastOrder, mostOrder = 0.5, 3.0
	assumedOrder          = 2
	leastRatio            = 1.3
)

// NewGridConvergence takes results f on meshes with the representative spacings h,
// the finest first. With three it solves for the observed order p,
//
//	p = |ln|ε₃₂/ε₂₁| + q(p)| / ln r₂₁,  q = ln[(r₂₁^p − s)/(r₃₂^p − s)],  s = sign(ε₃₂/ε₂₁)
//
// and takes a factor of safety of 1.25. With two meshes, with differences that
// do not get smaller, or with an order outside 0.5 to 3 it takes a factor of 3
// and an order of 2 (or 0.5, 3 where the observed one is beyond these), and says
// so. Further meshes are not looked at. Errors say what is wrong with the input.
//
// Sources: Celik et al. 2008 (J. Fluids Eng. 130, 078001); factor of 3: Roache 1994
// (J. Fluids Eng. 116, 405; from memory).
func NewGridConvergence(h, f []float64) (GridConvergence, error) {
	var g GridConvergence
	if len(h) != len(f) || len(f) < 2 {
		return g, fmt.Errorf("%d spacings and %d results; two or three of each are expected", len(h), len(f))
	}
	n := min(3, len(f))
	for i := range n {
		if !(h[i] > 0) || math.IsInf(h[i], 0) || math.IsNaN(f[i]-f[i]) {
			return g, fmt.Errorf("mesh %d has the spacing %g and the result %g; a positive and a finite number are expected", i+1, h[i], f[i])
		}
		if i > 0 && !(h[i] > h[i-1]) {
			return g, fmt.Errorf("mesh %d has the spacing %g after %g; the finest mesh comes first", i+1, h[i], h[i-1])
		}
		if i > 0 && h[i]/h[i-1] < leastRatio {
			g.Doubt = fmt.Sprintf("spacings closer than %g tell no order well", leastRatio)
		}
	}
	r21, e21 := h[1]/h[0], f[1]-f[0]
	g.Used, g.Factor = assumedOrder, 3
	if n == 3 && e21 != 0 {
		e32 := f[2] - f[1]
		g.Oscillatory = e32/e21 < 0
		if p := observedOrder(r21, h[2]/h[1], e32/e21); !math.IsNaN(p) {
			g.Order, g.Used = p, math.Min(math.Max(p, leastOrder), mostOrder)
		}
	}
	switch {
	case g.Order == 0:
		g.Fallback = "no order observed"
	case g.Used != g.Order:
		g.Fallback = fmt.Sprintf("the observed order %.2g is not within %g to %g", g.Order, leastOrder, mostOrder)
	default:
		g.Factor = 1.25
	}
	if g.Fallback != "" {
		g.Fallback += fmt.Sprintf(": %g and a factor of %g are taken", g.Used, g.Factor)
	}
	k := math.Pow(r21, g.Used)
	g.Extrapolated = (k*f[0] - f[1]) / (k - 1)
	g.Standard = g.Factor * math.Abs(e21) / (k - 1) / 2
	if f[0] != 0 {
		g.Index = new(200 * g.Standard / math.Abs(f[0]))
	}
	return g, nil
}

// observedOrder solves p·ln r₂₁ = ln|ratio| + q(p) for the least p, or returns NaN:
// where the differences do not shrink there is none (the source's absolute value
// would make an order of it). The fixed-point iteration of the source does not settle where r₃₂ is well
// above r₂₁, so the root is bracketed.
func observedOrder(r21, r32, ratio float64) float64 {
	if ratio == 0 {
		return math.NaN()
	}
	s := math.Copysign(1, ratio)
	miss := func(p float64) float64 {
		q := 0.0
		if r21 != r32 {
			q = math.Log((math.Pow(r21, p) - s) / (math.Pow(r32, p) - s))
		}
		return p*math.Log(r21) - math.Log(math.Abs(ratio)) - q
	}
	const step, most = 0.01, 20
	lo := step / 10
	for hi := lo + step; hi < most; lo, hi = hi, hi+step {
		if !(miss(lo) <= 0 && miss(hi) > 0 || miss(lo) >= 0 && miss(hi) < 0) {
			continue
		}
		up := miss(hi) > 0
		a, b := bisect(lo, hi, 60, func(p float64) bool { return (miss(p) > 0) != up })
		return (a + b) / 2
	}
	return math.NaN()
}
