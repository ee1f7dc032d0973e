package render

import (
	"image/color"
	"math"
	"testing"
)

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
