package atlas

import (
	"image/color"
	"slices"
	"strconv"
	"strings"

	"wakeledger/render"
	"wakeledger/render/report"
)

// chartText is the height of text in a chart's units, as in the page's style.
const chartText = 14

// chartPixels is the width of a chart's picture where no size in print is asked for.
const chartPixels = 1400

// tallest is the height in pixels that a chart may take, without its title and caption.
const tallest = 15000

// chartInks are the page's colours by the names in its style, on light and on dark;
// a test holds them together.
var chartInks = map[string][2]string{
	"paper": {"fdfcf9", "191b20"}, "ink": {"1b2126", "e4e6e3"}, "soft": {"5a646c", "9aa5ab"}, "hair": {"e9e6dd", "2a3136"},
	"s0": {"3b4248", "c9cdd0"}, "s1": {"14708a", "62bdd6"}, "s2": {"b4531f", "ee9a63"}, "s3": {"6b4c9a", "b79ce6"}, "s4": {"5d7a1f", "a8c766"}, "s5": {"a03a63", "e68fb3"},
}

// chartDashes are those of the curves of the configurations.
var chartDashes = map[string][]float64{"s1": {9, 3}, "s2": {3, 2.5}, "s3": {10, 3, 2, 3}, "s4": {14, 4}, "s5": {2, 4}}

func (o Options) chartInk(name string) color.RGBA {
	k := 0
	if o.Theme == render.Dark {
		k = 1
	}
	c, _ := strconv.ParseUint(chartInks[name][k], 16, 32)
	return color.RGBA{uint8(c >> 16), uint8(c >> 8), uint8(c), 255}
}

// looks are those of the classes of the page's style, the first of which all words are a
// shape's: the ink and the width of its stroke and the ink inside; * is that of its series.
var looks = []struct {
	words, stroke string
	width         float64
	fill          string
}{
	{"tick", "hair", 1, ""}, {"zero", "ink", 1, ""}, {"bar least", "*", 2, ""}, {"open-end", "*", 2, ""}, {"dot", "", 0, "*"},
	{"curve", "*", 2, ""}, {"bar", "*", 2, ""}, {"around", "soft", 1, ""}, {"shade", "", 0, "hair"},
	{"mark open", "*", 1.6, "paper"}, {"mark", "*", 1.6, "*"},
}

// chartItem gives a shape the look that the page's style gives its class.
func (o Options) chartItem(s report.Shape) render.FigureItem {
	it := render.FigureItem{Points: s.Points, R: s.R, Text: s.Text, Anchor: s.Anchor}
	words := strings.Fields(s.Class)
	has := func(w string) bool { return slices.Contains(words, w) }
	if s.Text != "" {
		it.Bold = has("head")
		if has("tick-label") {
			it.Fill = o.chartInk("soft")
		}
		return it
	}
	series := ""
	for _, w := range words {
		if _, ok := chartInks[w]; ok {
			series = w
		}
	}
	ink := func(name string) color.RGBA {
		if name == "*" {
			name = series
		}
		return o.chartInk(name)
	}
	for _, l := range looks {
		if slices.ContainsFunc(strings.Fields(l.words), func(w string) bool { return !has(w) }) {
			continue
		}
		if l.width > 0 {
			it.Stroke, it.Width = ink(l.stroke), l.width
		}
		if l.fill != "" {
			it.Fill = ink(l.fill)
		}
		break
	}
	if has("curve") && !has("solid") {
		it.Dash = chartDashes[series]
	}
	if has("least") {
		it.Dash = []float64{3, 3}
	}
	return it
}

// Chart draws a chart of the page as a PNG.
func Chart(c *report.Chart, source string, o Options) ([]byte, error) {
	f := render.Figure{Title: c.Title, Footer: c.Caption, Width: c.Width, Height: c.Height, Size: chartText, Theme: o.Theme}
	for _, s := range c.Shapes {
		f.Items = append(f.Items, o.chartItem(s))
	}
	width := chartPixels
	if o.DPI > 0 {
		width = o.size().X
	}
	// A study of very many stations makes a chart that is higher than a picture can be.
	width = min(width, int(tallest*c.Width/c.Height))
	img, err := render.DrawFigure(f, width)
	if err != nil {
		return nil, err
	}
	return o.encode(img, c.Title, source, "Description", c.Caption)
}
