package measure

import (
	"math"
	"testing"
)

// The velocity-area quadratures of ISO 3966:2020: places r/R, and X/L of rectangular
// ducts (log-Tchebycheff circular from memory), with the means that equal weights give
// for v = (1−r/R)^{1/7}, and for (1−|2X/L|)^{1/7} both ways.
var iso3966 = []struct {
	name   string
	places []float64
	square bool
	mean   float64
}{
	{"log-linear 3", []float64{.3586, .7302, .9358}, false, .814460},
	{"log-linear 5", []float64{.2776, .5658, .6950, .8470, .9622}, false, .815460},
	{"log-Tchebycheff 3", []float64{.3754, .7252, .9358}, false, .814002},
	{"log-Tchebycheff 4", []float64{.3314, .6124, .8000, .9524}, false, .814838},
	{"log-Tchebycheff 5", []float64{.2866, .5700, .6892, .8472, .9622}, false, .815298},
	{"rectangular 5", []float64{.074, .288, .5, .712, .926}, true, .764128},
	{"rectangular 6", []float64{.061, .235, .437, .563, .765, .939}, true, .762199},
	{"rectangular 7", []float64{.053, .203, .366, .5, .634, .797, .947}, true, .765019},
}

// The published rules and this package's quadrature integrate one duct profile: the
// rules give their tabulated means, the trapezoid on points that crowd at the wall the
// exact one, and they agree within what the tables say of the rules.
func TestISO3966(t *testing.T) {
	v := func(wall float64) float64 { return math.Pow(math.Max(wall, 0), 1.0/7) }
	// Wall distance s = w⁷ on even steps of w makes the profile linear there.
	var s []LinePoint
	for k := range 2001 {
		s = append(s, LinePoint{At: math.Pow(float64(k)/2000, 7)})
	}
	var circle, half float64
	for k, w := range trapezoid(s) {
		circle += w * 2 * (1 - s[k].At) * v(s[k].At) // ∫2(r/R)v d(r/R)
		half += w * v(s[k].At)
	}
	square := half * half
	if !(math.Abs(circle-.81666667) < 1e-6 && math.Abs(square-.765625) < 1e-6) {
		t.Errorf("trapezoid: %.8f and %.8f, exact .81666667 and .765625", circle, square)
	}
	for _, c := range iso3966 {
		var mean float64
		for _, p := range c.places {
			wall := 1 - p
			if c.square {
				wall = 1 - math.Abs(2*p-1)
			}
			mean += v(wall) / float64(len(c.places))
		}
		exact := circle
		if c.square {
			mean, exact = mean*mean, square
		}
		if !(math.Abs(mean-c.mean) <= 1e-6) {
			t.Errorf("%s: %.6f, want %.6f", c.name, mean, c.mean)
		}
		if d := mean/exact - 1; !(-0.005 < d && d < 0) {
			t.Errorf("%s: %.3f %% off the trapezoid", c.name, 100*d)
		}
	}
}
