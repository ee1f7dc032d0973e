package render

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"testing"

	"wakeledger/grid"
)

func someStrips(n, rows int) StripChart {
	c := StripChart{Title: "Tubes", Subtitle: "as read", X: "row", Y: "value", Value: "tube", Around: "neighbours", ShadedName: "wind off", Shaded: make([]bool, rows)}
	for k := range n {
		s := Strip{Name: "T" + string(rune('A'+k)), Values: make([]float64, rows), Around: make([]float64, rows)}
		for i := range rows {
			s.Values[i], s.Around[i] = math.Sin(float64(i+k)/4), math.NaN()
		}
		c.Strips = append(c.Strips, s)
	}
	c.Shaded[0] = true
	return c
}

// A strip's line is where its values are: the topmost pixel of its ink in a column is
// at the height of the value there.
func TestStripFollowsValues(t *testing.T) {
	const rows, w, h = 11, 200, 100
	s := StripChart{}
	c := newCanvas(Light, 800, 0, 0)
	c.img = image.NewRGBA(image.Rect(0, 0, w, h))
	v := make([]float64, rows)
	for i := range v {
		v[i] = float64(i) / 10
	}
	s.strip(c, image.Rect(0, 0, w, h), Strip{Values: v}, -0.5, 1.5)
	for _, i := range []int{2, 5, 8} {
		x := i * w / (rows - 1)
		sum, n := 0.0, 0.0
		for y := range h {
			if p := c.img.RGBAAt(x, y); p != (color.RGBA{255, 255, 255, 255}) {
				dark := 255 - float64(p.R)
				sum += dark * (float64(y) + 0.5)
				n += dark
			}
		}
		if want := h * (1.5 - v[i]) / 2; n == 0 || math.Abs(sum/n-want) > 1 {
			t.Errorf("row %d: ink at %.2f, value at %.2f", i, sum/n, want)
		}
	}
}

// Gaps, infinities and far values neither hang nor hide the rest, and the same chart
// gives the same bytes.
func TestStripsWithHoles(t *testing.T) {
	c := someStrips(3, 20)
	c.Strips[1].Values[4], c.Strips[1].Values[5], c.Strips[1].Values[7] = math.NaN(), math.Inf(1), math.NaN()
	c.Strips[2].Around[3] = 1e300
	alarm := func() (n int, pix []byte) {
		img := must(DrawStrips(c, 900))
		for y := range img.Rect.Dy() {
			for x := range img.Rect.Dx() {
				if img.RGBAAt(x, y) == chartAlarm {
					n++
				}
			}
		}
		return n, img.Pix
	}
	a, pix := alarm()
	if _, again := alarm(); !bytes.Equal(pix, again) {
		t.Error("two runs differ")
	}
	c.Strips[0].Marked, c.Strips[0].Note = true, "blocked"
	if b, _ := alarm(); a != 0 || b < 100 {
		t.Errorf("%d pixels of alarm without a marked strip, %d with one", a, b)
	}
}

func TestBadStrips(t *testing.T) {
	empty := someStrips(1, 5)
	for i := range empty.Strips[0].Values {
		empty.Strips[0].Values[i] = math.NaN()
	}
	for name, c := range map[string]struct {
		chart StripChart
		width int
	}{"none": {StripChart{}, 900}, "narrow": {someStrips(1, 5), 100}, "no value": {empty, 900}, "one row": {someStrips(1, 1), 900}, "many": {someStrips(501, 2), 900}} {
		if _, err := DrawStrips(c.chart, c.width); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// Both axes have one scale: spots a metre apart are as far apart in x as in y.
func TestSpotsKeepScale(t *testing.T) {
	m := single{Page{Title: "Positions", View: View{X: "y, m", Y: "z, m", Box: boxOf(-1, -1, 3, 2)}}, Panel{}}
	centre := func(p grid.Point) (x, y float64) {
		m.Spots = []Spots{{At: []grid.Point{p}}}
		img := must(Draw(m.page(), image.Pt(900, 700)))
		// The legend has a spot too, below the plot: the upper half is enough.
		n := 0.0
		for j := range 560 {
			for i := range 900 {
				if img.RGBAAt(i, j) == spotInks[0] {
					x, y, n = x+float64(i), y+float64(j), n+1
				}
			}
		}
		if n == 0 {
			t.Fatalf("no spot at %v", p)
		}
		return x / n, y / n
	}
	x0, y0 := centre(grid.Point{X: 0, Y: 0})
	x1, y1 := centre(grid.Point{X: 1, Y: 1})
	if dx, dy := x1-x0, y0-y1; !(dx > 50 && math.Abs(dx-dy) < 1.5) {
		t.Errorf("a metre is %.2f pixels across and %.2f up", dx, dy)
	}
}

func TestBadSpots(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		at   []grid.Point
		size image.Point
		good bool
	}{
		"one": {[]grid.Point{{}}, image.Pt(900, 0), true}, "none": {nil, image.Pt(900, 0), false}, "tiny page": {[]grid.Point{{}}, image.Pt(100, 100), false},
		"not finite": {[]grid.Point{{X: nan}, {X: inf}}, image.Pt(900, 0), false},
	} {
		if _, err := Draw(single{Panel: Panel{Spots: []Spots{{At: c.at}}}}.page(), c.size); (err == nil) != c.good {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestFigurePlaces: items stand where their units say, later ones on top, texts by
// their anchors, all within the page.
func TestFigurePlaces(t *testing.T) {
	red, blue := color.RGBA{200, 0, 0, 255}, color.RGBA{0, 0, 200, 255}
	f := Figure{Title: "a title", Footer: "a footer", Width: 100, Height: 50, Size: 4, Items: []FigureItem{
		{Points: [][2]float64{{0, 0}, {50, 0}, {50, 50}, {0, 50}}, Fill: red},
		{Points: [][2]float64{{25, 25}}, R: 10, Fill: blue},
		{Points: [][2]float64{{60, 25}, {100, 25}}, Stroke: blue, Width: 4},
		{Points: [][2]float64{{100, 45}}, Text: "end", Anchor: "end"},
	}}
	img := must(DrawFigure(f, 1000))
	c := newCanvas(Light, 1000, 0, 0.95*4*10)
	mg := float64(c.margin())
	scale := (1000 - 2*mg) / 100
	around := c.surround(1000, "a title", "", nil)
	top := float64(around.top(c))
	for _, k := range []struct {
		x, y float64
		want color.RGBA
	}{{5, 5, red}, {25, 25, blue}, {25, 18, blue}, {25, 12, red}, {80, 25, blue}, {80, 30, Light.Paper}, {55, 25, Light.Paper}} {
		if got := img.RGBAAt(int(mg+k.x*scale), int(top+k.y*scale)); got != k.want {
			t.Errorf("at (%g, %g): %v, want %v", k.x, k.y, got, k.want)
		}
	}
	// Ink of the text ends at the right border of the box and begins left of it.
	last := 0
	for y := int(top + 40*scale); y < int(top+46*scale); y++ {
		for x := range 1000 {
			if c := img.RGBAAt(x, y); int(c.R)+int(c.G)+int(c.B) < 300 && x > int(mg+52*scale) {
				last = max(last, x)
			}
		}
	}
	if want := mg + 100*scale; math.Abs(float64(last)-want) > 4 {
		t.Errorf("a text that ends at %g reaches %d", want, last)
	}
}

func TestFigureRefuses(t *testing.T) {
	good := Figure{Title: "t", Width: 10, Height: 10, Size: 1, Items: []FigureItem{{Points: [][2]float64{{1, 1}, {2, 2}}, Stroke: color.RGBA{A: 255}, Width: 1}}}
	must(DrawFigure(good, 600))
	for name, change := range map[string]func(*Figure){
		"no width":  func(f *Figure) { f.Width = 0 },
		"NaN":       func(f *Figure) { f.Height = math.NaN() },
		"too high":  func(f *Figure) { f.Height = 1000 },
		"NaN point": func(f *Figure) { f.Items = []FigureItem{{Points: [][2]float64{{math.NaN(), 0}}}} },
		"far point": func(f *Figure) { f.Items = []FigureItem{{Points: [][2]float64{{1e300, 0}}}} },
		"no text":   func(f *Figure) { f.Size = 0 },
	} {
		f := good
		change(&f)
		if _, err := DrawFigure(f, 600); err == nil {
			t.Errorf("%s: drawn", name)
		}
	}
	if _, err := DrawFigure(good, 100); err == nil {
		t.Error("a width of 100 is drawn")
	}
}
