package render

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"

	"github.com/fogleman/gg"
)

// Strip is one channel of a strip chart: its values, row by row, and what the
// channels around it read, both NaN where there is nothing.
type Strip struct {
	Name string
	// Note stands beside the name, such as "blocked"; Marked draws the strip in the
	// colour of warnings.
	Note           string
	Values, Around []float64
	Marked         bool
}

func (t *Strip) ink(plain color.RGBA) color.RGBA {
	if t.Marked {
		return chartAlarm
	}
	return plain
}

// StripChart shows channels one below the other over a common count of rows, all on
// one scale, each against its neighbours.
type StripChart struct {
	Title, Subtitle, Footer string
	// X and Y label the axes.
	X, Y   string
	Strips []Strip
	// Shaded marks rows that do not count, in all strips; ShadedName is their legend.
	Shaded     []bool
	ShadedName string
	// Value and Around name the two lines in the legend.
	Value, Around string
}

// Colours of charts.
var (
	chartLine   = color.RGBA{32, 82, 122, 255}
	chartAround = color.RGBA{150, 154, 160, 255}
	chartAlarm  = color.RGBA{184, 58, 36, 255}
	chartShade  = color.RGBA{226, 222, 211, 255}
)

// limitsOf gives the least and the greatest finite value of the strips with a small
// margin; ok is false where there is none.
func (s *StripChart) limitsOf() (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, t := range s.Strips {
		for _, v := range t.Values {
			if v-v == 0 {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	pad := (hi - lo) * 0.05
	if !(pad > 1e-9*max(math.Abs(lo), math.Abs(hi))) {
		pad = max(math.Abs(lo)*0.05, 1e-9)
	}
	return lo - pad, hi + pad, lo <= hi && hi-lo <= math.MaxFloat64/4
}

// DrawStrips draws a strip chart of the given width, whose strips are of one length; its height
// follows from their number. Values that are NaN or infinite break a line. Errors: a width
// that leaves no room, strips that are too many, less than two rows or no finite value.
func DrawStrips(s StripChart, width int) (*image.RGBA, error) {
	if err := checkSize(image.Pt(width, 0)); err != nil {
		return nil, err
	}
	lo, hi, ok := s.limitsOf()
	if !ok || len(s.Strips[0].Values) < 2 {
		return nil, fmt.Errorf("strip chart of %d strips: two rows and a finite value are needed", len(s.Strips))
	}
	rows := float64(len(s.Strips[0].Values))
	c := newCanvas(Light, width, 0, 0)
	defer c.release()
	legend := s.legend()
	around := c.surround(width, s.Title, s.Footer, legend, s.Subtitle)
	high, gap := 5*c.em, c.em*3/5
	names := 0
	for _, t := range s.Strips {
		names = max(names, c.bold.width(t.Name), c.small.width(t.Note))
	}
	ticks := Ticks(lo, hi, 2)
	left := c.margin() + c.text.line + c.widest(ticks) + c.tick() + c.em
	right := width - c.margin() - names - c.em
	top := around.top(c)
	bottom := top + len(s.Strips)*(high+gap) - gap
	legendY := bottom + c.xAxisHeight([]string{s.X}) + c.em
	h := legendY + around.under
	if right-left < 12*c.em || h > maxSide {
		return nil, fmt.Errorf("strip chart of %d strips, %d pixels wide: %d pixels remain for their width, and %d of %d are needed for the height", len(s.Strips), width, right-left, h, maxSide)
	}
	c.begin(image.Pt(width, h), around)
	a := axes{y: ticks}
	for k, t := range s.Strips {
		y := top + k*(high+gap)
		plot := image.Rect(left, y, right, y+high)
		s.strip(c, plot, t, lo, hi)
		if k == len(s.Strips)-1 {
			a.x = c.xTicks(1, rows, right-left)
		}
		c.drawAxes(plot, [4]float64{1, rows, lo, hi}, a, 0, true, true)
		c.say(c.bold, t.Name, right+c.em, y+high/2, t.ink(c.theme.Ink))
		c.say(c.small, t.Note, right+c.em, y+high/2+c.text.line, t.ink(c.theme.Ink))
	}
	c.centred([]string{s.X}, image.Rect(left, top, right, bottom), bottom+c.xAxisHeight(nil))
	c.writeUpward([]string{s.Y}, c.margin(), top, bottom)
	c.legend(legend, around.width, legendY)
	return c.img, nil
}

func (s *StripChart) legend() []entry {
	var out []entry
	for _, e := range []struct {
		has   func(t Strip) bool
		name  string
		k     color.RGBA
		width float64
	}{
		{func(t Strip) bool { return !t.Marked }, s.Value, chartLine, 0.14},
		{func(t Strip) bool { return t.Marked }, s.Value + ", at fault or doubtful", chartAlarm, 0.14},
		{func(t Strip) bool { return t.Around != nil }, s.Around, chartAround, 0.1},
	} {
		if slices.ContainsFunc(s.Strips, e.has) {
			out = append(out, entry{e.name, onLine(func(g *gg.Context, p, q pt, em float64) { ink{c: e.k, width: e.width * em}.line(g, p, q) })})
		}
	}
	if slices.Contains(s.Shaded, true) {
		out = append(out, entry{s.ShadedName, func(c *canvas, r image.Rectangle) {
			c.fill(r, chartShade)
			c.border(r.Inset(c.hair()), chartAround)
		}})
	}
	return out
}

// strip draws the lines of one strip into its plot.
func (s *StripChart) strip(c *canvas, plot image.Rectangle, t Strip, lo, hi float64) {
	img := c.part(plot)
	draw.Draw(img, img.Rect, image.White, image.Point{}, draw.Src)
	n := len(t.Values)
	at := func(i float64) float64 { return i / float64(n-1) * float64(plot.Dx()) }
	for i, b := range s.Shaded {
		if b {
			x0, x1 := int(at(float64(i)-0.5)), int(math.Ceil(at(float64(i)+0.5)))
			draw.Draw(img, image.Rect(x0, 0, x1, plot.Dy()), image.NewUniform(chartShade), image.Point{}, draw.Src)
		}
	}
	g := gg.NewContextForRGBA(img)
	line := func(v []float64, k color.RGBA, width float64) {
		var run []pt
		for i := range len(v) + 1 {
			if i < len(v) && v[i]-v[i] == 0 {
				// A value beyond the plot is held just outside it.
				h := float64(plot.Dy())
				run = append(run, pt{at(float64(i)), min(max(h*(hi-v[i])/(hi-lo), -h), 2*h)})
				continue
			}
			if len(run) == 1 { // a value alone
				disc(g, k, run[0], max(1, 0.12*float64(c.em)))
			} else if len(run) > 1 {
				stroke(g, k, max(1, width*float64(c.em)), nil, run)
			}
			run = nil
		}
	}
	line(t.Around, chartAround, 0.1)
	line(t.Values, t.ink(chartLine), 0.14)
}
