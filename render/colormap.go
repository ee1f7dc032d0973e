package render

import (
	"image/color"
	"math"
	"sync"

	"github.com/lucasb-eyer/go-colorful"
)

// tableSize is the number of colours in a map: steps of 1/512 are well below
// what an eye or eight bits a channel can tell apart.
const tableSize = 512

// ColorMap gives a colour to a value that a Scale has brought to 0…1. Values
// outside, and values that are missing, have colours of their own that do not
// occur in the table.
type ColorMap struct {
	// Name says what the map is for: loss, speed or change.
	Name string
	// Table runs from the lower to the upper limit.
	Table []color.RGBA
	// Under and Over represent values beyond the limits, NoData for NaN.
	Under, Over, NoData color.RGBA
}

// At returns the colour of t.
//
// Special cases are: t < 0 is Under, t > 1 is Over, NaN is NoData.
func (c *ColorMap) At(t float64) color.RGBA {
	switch {
	case t < 0:
		return c.Under
	case t > 1:
		return c.Over
	case t != t:
		return c.NoData
	}
	return c.Table[min(int(t*float64(len(c.Table))), len(c.Table)-1)]
}

// Lightness is the CIE 1976 L* of a colour, 0 black to 100 white, for D65.
func Lightness(c color.RGBA) float64 {
	k, _ := colorful.MakeColor(c)
	l, _, _ := k.Lab()
	return 100 * l
}

func toRGBA(c colorful.Color) color.RGBA {
	r, g, b := c.Clamped().RGB255()
	return color.RGBA{R: r, G: g, B: b, A: 255}
}

// Loss is for quantities that are zero in the undisturbed stream and grow one
// way: 1−Cpt, local drag, turbulence. Paper grows dark through mint, olive and
// ochre to oxblood, so that the wake is the ink and the stream is the page.
var Loss = colorMap("loss", lch{88, 14, 265}, lch{8, 8, 330}, func(out []color.RGBA) { alongPath(lossPath, out) })

// Speed is for u/U. Reversed flow is wine, standing fluid plum, then indigo and
// slate up to a warm white at and beyond the speed of the stream.
var Speed = colorMap("speed", lch{6, 8, 60}, lch{91, 30, 125}, func(out []color.RGBA) { alongPath(speedPath, out) })

// Change is for differences and for signed quantities, on symmetric scales: a
// neutral middle, aqua to deep blue below it, apricot to garnet above it, both
// arms equally dark at equal distance.
var Change = colorMap("change", lch{12, 26, 305}, lch{12, 22, 350}, func(out []color.RGBA) {
	// Both arms share the lightness; each is as wide as half the table, and the
	// middle falls between two entries.
	n := len(out) / 2
	for i := range n {
		t := (float64(i) + 0.5) / float64(n)
		out[n-1-i], out[n+i] = toRGBA(at(changeBelow, t)), toRGBA(at(changeAbove, t))
	}
})

func colorMap(name string, under, over lch, fill func([]color.RGBA)) func() *ColorMap {
	return sync.OnceValue(func() *ColorMap {
		c := &ColorMap{Name: name, Table: make([]color.RGBA, tableSize), Under: toRGBA(under.color()), Over: toRGBA(over.color()), NoData: noData}
		fill(c.Table)
		return c
	})
}

// noData is a middle grey: no map passes through a grey of that lightness.
var noData = color.RGBA{R: 158, G: 158, B: 158, A: 255}

// lch is a colour in CIE 1976 L*C*h, hue in degrees, D65 white.
type lch struct{ L, C, H float64 }

func (c lch) color() colorful.Color { return colorful.Hcl(c.H, c.C/100, c.L/100) }

// The paths through the colour solid that the maps follow, as stops at equal
// distances of the parameter.
var (
	lossPath = []lch{
		{97.5, 3, 120}, {91, 15, 138}, {82, 27, 122}, {72, 42, 96}, {61, 52, 72}, {49, 56, 54}, {37, 50, 38}, {25, 38, 26}, {14, 22, 16},
	}
	speedPath = []lch{
		{16, 30, 375}, {21, 34, 350}, {27, 38, 322}, {35, 40, 298}, {45, 38, 280}, {56, 33, 264}, {68, 26, 248}, {80, 17, 230}, {90.5, 7, 215}, {97.5, 7, 100},
	}
	changeBelow = []lch{
		{96, 0, 200}, {86, 16, 206}, {75, 26, 222}, {63, 31, 242}, {51, 37, 262}, {39, 43, 280}, {27, 44, 292},
	}
	changeAbove = []lch{
		{96, 0, 78}, {86, 22, 76}, {75, 40, 66}, {63, 52, 54}, {51, 56, 40}, {39, 54, 28}, {27, 46, 18},
	}
)

// at interpolates the stops with a Catmull-Rom spline in L*a*b*; lightness goes
// linearly between stops, so that it stays monotone.
func at(path []lch, t float64) colorful.Color {
	n := len(path) - 1
	s := t * float64(n)
	i := min(int(s), n-1)
	s -= float64(i)
	var l, a, b [4]float64
	for k := range l {
		c := path[min(max(i+k-1, 0), n)]
		sin, cos := math.Sincos(c.H * math.Pi / 180)
		l[k], a[k], b[k] = c.L, c.C*cos, c.C*sin
	}
	spline := func(p [4]float64) float64 {
		return p[1] + s/2*(p[2]-p[0]+s*(2*p[0]-5*p[1]+4*p[2]-p[3]+s*(3*(p[1]-p[2])+p[3]-p[0])))
	}
	return colorful.Lab((l[1]+s*(l[2]-l[1]))/100, spline(a)/100, spline(b)/100)
}

// alongPath gives out colours on the path at equal distances, measured with CIEDE2000
// (CIE 142-2001) as the sum over small steps.
func alongPath(path []lch, out []color.RGBA) {
	const fine = 4096
	dist := make([]float64, fine+1)
	last := at(path, 0)
	for i := 1; i <= fine; i++ {
		c := at(path, float64(i)/fine)
		dist[i] = dist[i-1] + last.DistanceCIEDE2000(c)
		last = c
	}
	k := 0
	for i := range out {
		want := dist[fine] * float64(i) / float64(len(out)-1)
		for k+1 < fine && dist[k+1] < want {
			k++
		}
		s := 0.0
		if d := dist[k+1] - dist[k]; d > 0 {
			s = min((want-dist[k])/d, 1)
		}
		out[i] = toRGBA(at(path, (float64(k)+s)/fine))
	}
}
