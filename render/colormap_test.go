package render

import (
	"image/color"
	"math"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
)

// Full protanopia, deuteranopia and tritanopia in linear RGB: Machado, Oliveira &
// Fernandes, IEEE TVCG 15(6) 1291 (2009), severity 1.0 [mem].
var deficiency = []struct {
	name string
	m    [9]float64
}{
	{"protan", [9]float64{0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998}},
	{"deutan", [9]float64{0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881}},
	{"tritan", [9]float64{1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900}},
}

func simulate(c color.RGBA, k int) color.RGBA {
	r, g, b := toColorful(c).LinearRgb()
	m := deficiency[k].m
	return toRGBA(colorful.LinearRgb(m[0]*r+m[1]*g+m[2]*b, m[3]*r+m[4]*g+m[5]*b, m[6]*r+m[7]*g+m[8]*b))
}

// deltaE is CIEDE2000 on the usual scale, where 1 is just noticeable.
func deltaE(a, b color.RGBA) float64 { return 100 * toColorful(a).DistanceCIEDE2000(toColorful(b)) }

func TestPathsStayInGamut(t *testing.T) {
	for name, p := range map[string][]lch{"loss": lossPath, "speed": speedPath, "below": changeBelow, "above": changeAbove} {
		for i := range 1001 {
			c := at(p, float64(i)/1000)
			// Half a step of eight bits may be clipped without being seen.
			for _, v := range []float64{c.R, c.G, c.B} {
				if !(v > -0.002 && v < 1.002) {
					t.Fatalf("%s at %.3f: %v is outside sRGB", name, float64(i)/1000, c)
				}
			}
		}
	}
}

func TestLightness(t *testing.T) {
	const quantum = 0.35 // the most that rounding to eight bits moves L*
	for _, m := range []*ColorMap{Loss(), Speed(), Change()} {
		if len(m.Table) != tableSize {
			t.Fatalf("%s: %d entries", m.Name, len(m.Table))
		}
		sign := 1.0
		if Lightness(m.Table[0]) > Lightness(m.Table[tableSize-1]) {
			sign = -1
		}
		from := 0
		if m == Change() {
			sign, from = -1, tableSize/2
			for i := range tableSize / 2 {
				a, b := Lightness(m.Table[i]), Lightness(m.Table[tableSize-1-i])
				if math.Abs(a-b) > 2*quantum {
					t.Errorf("%s: arms at %d have L* %g and %g", m.Name, i, a, b)
				}
			}
			mid := toColorful(m.Table[from])
			if _, c, _ := mid.Hcl(); c > 0.01 {
				t.Errorf("%s: the middle has chroma %g", m.Name, 100*c)
			}
		}
		for i := from + 8; i < tableSize; i++ {
			// Over eight steps the lightness must move by more than the rounding.
			if d := sign * (Lightness(m.Table[i]) - Lightness(m.Table[i-8])); !(d > 0) {
				t.Errorf("%s: L* goes back by %g before entry %d", m.Name, -d, i)
			}
		}
		if span := math.Abs(Lightness(m.Table[from]) - Lightness(m.Table[tableSize-1])); span < 65 {
			t.Errorf("%s: lightness spans %g only", m.Name, span)
		}
	}
}

// Equal steps of the value look equally large, for the usual eye within a factor
// of 1.5 (2.2 on the diverging map, whose arms share their lightness instead),
// and stay apart for the three deficient ones.
func TestStepsAreEvenAndDistinct(t *testing.T) {
	const steps = 32
	for _, m := range []*ColorMap{Loss(), Speed(), Change()} {
		step := func(see func(color.RGBA) color.RGBA) (lo, hi float64) {
			lo = math.Inf(1)
			for i := range steps {
				a := m.Table[i*(tableSize-1)/steps]
				b := m.Table[(i+1)*(tableSize-1)/steps]
				d := deltaE(see(a), see(b))
				lo, hi = min(lo, d), max(hi, d)
			}
			return lo, hi
		}
		limit := 1.5
		if m == Change() {
			limit = 2.2
		}
		lo, hi := step(func(c color.RGBA) color.RGBA { return c })
		t.Logf("%s: 1/%d of the range is %.2f … %.2f CIEDE2000", m.Name, steps, lo, hi)
		if !(hi/lo < limit && lo > 2) {
			t.Errorf("%s: steps from %.2f to %.2f", m.Name, lo, hi)
		}
		for k, d := range deficiency {
			lo, hi := step(func(c color.RGBA) color.RGBA { return simulate(c, k) })
			t.Logf("%s, %s: %.2f … %.2f", m.Name, d.name, lo, hi)
			if !(lo > 1) {
				t.Errorf("%s for a %s eye: a step of %.2f", m.Name, d.name, lo)
			}
		}
	}
}

// The two arms of the diverging map are told apart by every eye from one tenth of
// the scale on.
func TestArmsAreDistinct(t *testing.T) {
	m := Change()
	for i := range tableSize * 9 / 20 {
		a, b := m.Table[i], m.Table[tableSize-1-i]
		for k, d := range deficiency {
			if e := deltaE(simulate(a, k), simulate(b, k)); !(e > 5) {
				t.Errorf("%s: arms at %d differ by %.1f", d.name, i, e)
			}
		}
	}
}

// Under, over and missing values look like nothing in the table, nor like each
// other, whatever the eye.
func TestSpecialColoursStandApart(t *testing.T) {
	for _, m := range []*ColorMap{Loss(), Speed(), Change()} {
		special := map[string]color.RGBA{"under": m.Under, "over": m.Over, "no data": m.NoData}
		for name, c := range special {
			near := math.Inf(1)
			for _, e := range m.Table {
				near = min(near, deltaE(c, e))
			}
			if !(near > 4) {
				t.Errorf("%s: %s is %.1f from the table", m.Name, name, near)
			}
			for k, d := range deficiency {
				for other, o := range special {
					if e := deltaE(simulate(c, k), simulate(o, k)); other != name && !(e > 4) {
						t.Errorf("%s, %s: %s and %s differ by %.1f", m.Name, d.name, name, other, e)
					}
				}
			}
		}
	}
}

func TestAt(t *testing.T) {
	m := Loss()
	for _, c := range []struct {
		t    float64
		want color.RGBA
	}{
		{0, m.Table[0]}, {1, m.Table[tableSize-1]}, {0.5, m.Table[tableSize/2]}, {-1e-9, m.Under}, {1 + 1e-9, m.Over},
		{math.NaN(), m.NoData}, {math.Inf(1), m.Over}, {math.Inf(-1), m.Under},
	} {
		if got := m.At(c.t); got != c.want {
			t.Errorf("At(%g) = %v, want %v", c.t, got, c.want)
		}
	}
}

func toColorful(c color.RGBA) colorful.Color {
	k, _ := colorful.MakeColor(c)
	return k
}
