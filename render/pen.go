package render

import (
	"image/color"

	"github.com/fogleman/gg"
)

// stroke draws lines in one stroke, so that they do not show through each other.
func stroke(g *gg.Context, c color.Color, width float64, dash []float64, lines ...[]pt) {
	for _, l := range lines {
		trace(g, l)
	}
	g.SetColor(c)
	g.SetLineWidth(width)
	g.SetDash(dash...)
	g.Stroke()
}

// outline draws a line that closes, with its ends joined.
func outline(g *gg.Context, c color.Color, width float64, corners []pt) {
	trace(g, corners)
	g.ClosePath()
	stroke(g, c, width, nil)
}

func area(g *gg.Context, c color.Color, corners []pt) {
	trace(g, corners)
	g.ClosePath()
	g.SetColor(c)
	g.Fill()
}

func disc(g *gg.Context, c color.Color, p pt, r float64) {
	g.DrawCircle(p.x, p.y, r)
	g.SetColor(c)
	g.Fill()
}

// trace makes a polyline the path of g.
func trace(g *gg.Context, line []pt) {
	for i, p := range line {
		if i == 0 {
			g.MoveTo(p.x, p.y)
		} else {
			g.LineTo(p.x, p.y)
		}
	}
}
