package render

import "image/color"

// Theme has the colours of the page. What is drawn on the map itself keeps its
// own colours, since the map's do not change with the page.
type Theme struct {
	Paper, Ink, Faint color.RGBA
}

// Light is a page for print and for reports, Dark one for screens.
var (
	Light = Theme{Paper: color.RGBA{253, 252, 249, 255}, Ink: color.RGBA{30, 33, 38, 255}, Faint: color.RGBA{98, 103, 110, 255}}
	Dark  = Theme{Paper: color.RGBA{25, 27, 32, 255}, Ink: color.RGBA{235, 234, 229, 255}, Faint: color.RGBA{158, 162, 168, 255}}
)

// Colours of marks on the map.
var (
	markInk  = color.RGBA{22, 24, 28, 255}
	markHalo = color.RGBA{255, 255, 252, 255}
	bodyFill = color.RGBA{206, 205, 200, 255}
	leftFill = color.RGBA{236, 235, 231, 255}
	bodyLine = color.RGBA{120, 119, 115, 255}
	bodyEdge = color.RGBA{58, 58, 58, 255}
)

// over mixes c with part a over d.
func over(d, c color.RGBA, a float64) color.RGBA {
	mix := func(d, c uint8) uint8 { return uint8(float64(d) + a*(float64(c)-float64(d)) + 0.5) }
	return color.RGBA{mix(d.R, c.R), mix(d.G, c.G), mix(d.B, c.B), 255}
}
