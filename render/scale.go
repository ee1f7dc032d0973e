package render

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"wakeledger/grid"
)

// Scale maps values to colours: Lo and Hi to the ends of the colour map. Levels
// are the borders of the bands, the places of level lines and the ticks of the
// colour bar; they increase and begin with Lo and end with Hi.
//
// One Scale serves all configurations of a quantity: that is what makes pictures
// comparable.
type Scale struct {
	Lo, Hi float64
	Levels []float64
	Map    *ColorMap
	// flat is how far above Lo the first colour reaches: to 0 for a quantity that is
	// zero in the undisturbed stream.
	flat float64
	// even gives every band the same share of the colours and of the bar.
	even bool
}

// at is how far v lies from Lo, at 0, to Hi, at 1, on the colour bar.
func (s Scale) at(v float64) float64 {
	if !s.even {
		return (v - s.Lo) / (s.Hi - s.Lo)
	}
	k, _ := slices.BinarySearch(s.Levels, v)
	k = min(max(k, 1), len(s.Levels)-1)
	return (float64(k-1) + (v-s.Levels[k-1])/(s.Levels[k]-s.Levels[k-1])) / float64(len(s.Levels)-1)
}

// Ladder is the scale with the limits of s, which are equal and opposite, and levels at 1, 2 and
// 5 times powers of ten down to a twentieth or less of them, in bands of equal widths: what is small
// beside the largest is still seen.
func (s Scale) Ladder() Scale {
	up := []float64{s.Hi}
	for len(up) < 5 {
		up = append(up, NiceAbove(up[len(up)-1]/2.51))
	}
	s.Levels, s.even = nil, true
	for _, v := range up {
		s.Levels = append(s.Levels, -v, v)
	}
	slices.Sort(s.Levels)
	return s
}

// Between is a scale with limits, and levels if there are any, that a user set: those outside
// the limits are left out; without any, they are placed at readable steps.
// The colours of a signed quantity are neutral at 0, so its limits have to be equal
// and opposite, and 0 is no level unless it is asked for.
func (p Policy) Between(lo, hi float64, levels []float64) (Scale, error) {
	switch {
	case p.Signed && lo != -hi:
		return Scale{}, fmt.Errorf("limits %g and %g of %s: its colours are neutral at 0, so equal and opposite limits are needed", lo, hi, p.Label)
	case !(hi > lo && hi-lo <= math.MaxFloat64):
		return Scale{}, fmt.Errorf("colour scale from %g to %g: finite limits in increasing order are needed", lo, hi)
	}
	s := Scale{Lo: lo, Hi: hi, Levels: []float64{lo}, Map: p.Map}
	if len(levels) == 0 {
		for _, t := range Ticks(lo, hi, 12) {
			if !p.inStream(t.At) {
				levels = append(levels, t.At)
			}
		}
	}
	for _, v := range levels {
		if v <= lo || v >= hi {
			continue
		}
		if !(v > s.Levels[len(s.Levels)-1]) {
			return Scale{}, fmt.Errorf("colour scale from %g to %g: level %g does not lie above the one before it", lo, hi, v)
		}
		s.Levels = append(s.Levels, v)
	}
	s.Levels = append(s.Levels, hi)
	return s, nil
}

// Color is the colour of v on the smooth scale. On a scale that AutoScale made for
// a loss, the first colour is for all values from Lo to 0.
func (s Scale) Color(v float64) color.RGBA {
	t := s.at(v)
	if s.flat > 0 {
		t = (v - s.Lo - s.flat) / (s.Hi - s.Lo - s.flat)
	}
	if v >= s.Lo && t < 0 {
		t = 0
	}
	if v <= s.Hi && t > 1 {
		t = 1 // rounding
	}
	return s.Map.At(t)
}

// Band is the colour of v when each band between levels has one colour, that of
// its middle. A value at a level belongs to the band above it; Hi to the last.
//
// Special cases are: v < Lo and v > Hi have the colours of the map for that, NaN
// that of missing values.
func (s Scale) Band(v float64) color.RGBA {
	c, _, _ := s.band(v)
	return c
}

// band is Band, and from where up to below where values have that colour; the same twice where
// just v is known to.
func (s Scale) band(v float64) (c color.RGBA, from, to float64) {
	last := len(s.Levels) - 2
	if v == s.Hi {
		return s.bandColor(last), v, v
	}
	if !(v >= s.Lo && v < s.Hi) {
		return s.Color(v), v, v
	}
	k := last
	for v < s.Levels[k] {
		k--
	}
	return s.bandColor(k), s.Levels[k], s.Levels[k+1]
}

// bandColor is the colour of the band between levels k and k+1.
func (s Scale) bandColor(k int) color.RGBA {
	return s.Color(s.Levels[k] + (s.Levels[k+1]-s.Levels[k])/2)
}

// text writes level k, with the decimals that the finest level needs.
func (s Scale) text(k int) string {
	decimals := 0
	for _, v := range s.Levels {
		t := number(v, 4)
		if strings.Contains(t, "e") {
			return number(s.Levels[k], 4)
		}
		_, after, _ := strings.Cut(t, ".")
		decimals = max(decimals, len(after))
	}
	t := decimal(s.Levels[k], decimals)
	if strings.Trim(t, minus+"0.") == "" {
		t = strings.TrimPrefix(t, minus)
	}
	return t
}

// Weighted is a field with the area that each value represents; nil Weights are
// all equal.
type Weighted struct{ Values, Weights []float64 }

// AutoScale finds limits for all the fields together.
//
// The limits are the area-weighted quantiles that the policy states, moved
// outward to a step of 1, 2 or 5 times a power of ten, so that there are six to
// sixteen bands. Where the policy is signed the scale is symmetric about 0 and
// the quantile is that of |v|. What the undisturbed stream has, 1 of u/U and Cpt and 0 of signed
// and one-signed quantities, is no level: its noise falls in one band.
//
// Values that are not finite, and values whose weight is not positive and finite,
// are passed over. Without any value left there is an error.
func AutoScale(p Policy, fields ...Weighted) (Scale, error) {
	q, ok := Quantiles(fields, p.Signed, p.Tail, 1-p.Tail)
	if !ok {
		return Scale{}, fmt.Errorf("no scale for %s: no finite value among %d fields", p.Label, len(fields))
	}
	lo, hi := min(q[0], 0), max(q[1], p.Stream)
	if p.Signed {
		lo = -hi
	}
	return p.rounded(lo, hi), nil
}

// inStream tells a level at what the undisturbed stream has.
func (p Policy) inStream(v float64) bool {
	if p.Stream != 0 {
		return math.Abs(v-p.Stream) < 1e-9*math.Abs(p.Stream)
	}
	return v == 0 && (p.Signed || p.Loss)
}

// rounded moves the limits outward to readable steps.
func (p Policy) rounded(lo, hi float64) Scale {
	if !(hi-lo > 1e-9*max(math.Abs(lo), math.Abs(hi))) {
		// One value only: any scale that holds it in its middle will do.
		d := max(math.Abs(lo)/10, 1e-6)
		lo, hi = lo-d, hi+d
	}
	const bands = 16
	step := niceAbove((hi - lo) / bands)
	s := step.times(1)
	k0, k1 := int(math.Floor(lo/s+1e-6)), int(math.Ceil(hi/s-1e-6))
	if p.Signed {
		k1 = max(k1, 2)
		k0 = -k1
	}
	if p.Loss {
		// The band of the undisturbed stream reaches one step to either side of 0, and
		// what lies below it is shown as beyond the scale: a gain is no loss.
		k0, k1 = -1, max(k1, 2)
	}
	out := Scale{Lo: step.times(k0), Hi: step.times(k1), Map: p.Map}
	if p.Loss {
		out.flat = -out.Lo
	}
	for k := k0; k <= k1; k++ {
		switch v := step.times(k); {
		case p.Stream != 0 && p.inStream(v):
			// Half a step to either side, so that a weak wake is still seen.
			out.Levels = append(out.Levels, v-s/2, v+s/2)
			if out.Hi = max(out.Hi, v+s/2); hi <= v+s/2 {
				out.Hi = v + s/2
				return out
			}
			continue
		case p.inStream(v) && k > k0 && k < k1:
			continue
		}
		out.Levels = append(out.Levels, step.times(k))
	}
	return out
}

// bins is the number of bins of a histogram that is narrowed.
const bins = 1 << 15

// Quantiles returns the weighted quantiles of v, or with size of |v|, over all fields, and whether
// there is any value. It narrows a
// histogram twice instead of sorting: the result is within a 10⁻⁹ part of the range, far
// less than the rounding to steps that follows. It is one function, as its parts share all they hold.
func Quantiles(fields []Weighted, size bool, qs ...float64) ([]float64, bool) {
	each := func(do func(v, w float64)) {
		for _, f := range fields {
			for i, v := range f.Values {
				w := 1.0
				if f.Weights != nil {
					w = f.Weights[i]
				}
				if v-v != 0 || !(w > 0 && w <= math.MaxFloat64) {
					continue
				}
				if size {
					v = math.Abs(v)
				}
				do(v, w)
			}
		}
	}
	lo, hi, total := math.Inf(1), math.Inf(-1), 0.0
	each(func(v, w float64) { lo, hi, total = min(lo, v), max(hi, v), total+w })
	// The range a…b holds a quantile, with the weight below it. All are narrowed in one pass.
	ns := make([]struct {
		a, b, width, below float64
		hist               [bins]float64
	}, len(qs))
	for k := range ns {
		ns[k].a, ns[k].b = lo, hi
	}
	for range 2 {
		for k := range ns {
			n := &ns[k]
			n.width = n.b/bins - n.a/bins // divided first: b−a may overflow
			clear(n.hist[:])
		}
		each(func(v, w float64) {
			for k := range ns {
				if n := &ns[k]; v >= n.a && v <= n.b && n.width > 0 {
					n.hist[min(int((v-n.a)/n.width), bins-1)] += w
				}
			}
		})
		for k := range ns {
			n := &ns[k]
			if !(n.width > 0) {
				continue
			}
			i := 0
			for ; i < bins-1 && n.below+n.hist[i] < qs[k]*total; i++ {
				n.below += n.hist[i]
			}
			n.a, n.b = n.a+float64(i)*n.width, min(n.a+float64(i+1)*n.width, n.b)
		}
	}
	return grid.Fill(len(qs), func(k int) float64 { return ns[k].a + (ns[k].b-ns[k].a)/2 }), total > 0
}
