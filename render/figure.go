package render

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"github.com/fogleman/gg"
)

// Figure is a drawing of lines, areas and texts, such as a chart, in units of its own
// that are scaled to the page's width. What is drawn later lies on top.
type Figure struct {
	Title, Footer string
	// Width and Height of the box that the items stand in, Size the height of plain
	// text in it.
	Width, Height, Size float64
	Items               []FigureItem
	Theme               Theme
}

// FigureItem is a line through Points, an area if it has a Fill, a disc of radius R
// about one point, or a text at one point.
type FigureItem struct {
	Points       [][2]float64
	R            float64
	Stroke, Fill color.RGBA // none where A is 0
	Width        float64    // of the stroke
	Dash         []float64
	Text         string
	// Anchor is start, middle or end.
	Anchor string
	Bold   bool
}

// DrawFigure draws a figure of the given width in pixels; its height follows. Errors:
// a width that leaves no room, a box that is not finite or empty, a figure that would
// be more than 16000 pixels high, a point that is not finite.
func DrawFigure(f Figure, width int) (*image.RGBA, error) {
	if err := checkSize(image.Pt(width, 0)); err != nil {
		return nil, err
	}
	if !(f.Width > 0 && f.Height > 0 && f.Width <= math.MaxFloat64 && f.Height <= math.MaxFloat64 && f.Size > 0) {
		return nil, fmt.Errorf("figure %q of %g × %g units with text of %g: positive and finite numbers are needed", f.Title, f.Width, f.Height, f.Size)
	}
	// Title and footer go with the texts inside.
	c := newCanvas(f.Theme, width, 0, 0.95*f.Size*float64(width)/f.Width)
	defer c.release()
	around := c.surround(width, f.Title, f.Footer, nil)
	scale := float64(around.width) / f.Width
	// The texts inside have the size that the figure asks for, so that they stand
	// where it put them.
	px := max(1, int(f.Size*scale+0.5))
	regular, bold := fontFiles()
	plain, strong := newFace(regular, px), newFace(bold, px)
	defer plain.release()
	defer strong.release()
	top := around.top(c)
	h := top + int(f.Height*scale+0.5) + around.under
	if h > maxSide {
		return nil, fmt.Errorf("figure %q is %d pixels high, %d are possible", f.Title, h, maxSide)
	}
	c.begin(image.Pt(width, h), around)
	d := drawnFigure{c, gg.NewContextForRGBA(c.img), [2]*face{plain, strong}, pt{float64(c.margin()), float64(top)}, scale}
	for _, it := range f.Items {
		if err := d.item(it); err != nil {
			return nil, fmt.Errorf("figure %q %w", f.Title, err)
		}
	}
	return c.img, nil
}

// drawnFigure is a figure at work: its faces, plain and bold, and where its box is in the picture.
type drawnFigure struct {
	*canvas
	g     *gg.Context
	faces [2]*face
	from  pt
	scale float64
}

func (d *drawnFigure) item(it FigureItem) error {
	line := make([]pt, len(it.Points))
	for i, p := range it.Points {
		line[i] = pt{d.from.x + p[0]*d.scale, d.from.y + p[1]*d.scale}
		if !(math.Abs(line[i].x) <= 1e6 && math.Abs(line[i].y) <= 1e6) {
			return fmt.Errorf("has a point at (%g, %g): one near its box is needed", p[0], p[1])
		}
	}
	switch {
	case len(line) == 0:
		return nil
	case it.Text != "":
		d.text(it, line[0])
		return nil
	}
	path := func() {
		if it.R > 0 {
			d.g.DrawCircle(line[0].x, line[0].y, it.R*d.scale)
			return
		}
		if trace(d.g, line); it.Fill.A > 0 {
			d.g.ClosePath()
		}
	}
	if it.Fill.A > 0 {
		path()
		d.g.SetColor(it.Fill)
		d.g.Fill()
	}
	if it.Stroke.A > 0 && it.Width > 0 {
		path()
		var dash []float64
		for _, l := range it.Dash {
			dash = append(dash, l*d.scale)
		}
		stroke(d.g, it.Stroke, it.Width*d.scale, dash)
	}
	return nil
}

func (d *drawnFigure) text(it FigureItem, p pt) {
	face, ink := d.faces[0], it.Fill
	if it.Bold {
		face = d.faces[1]
	}
	if ink.A == 0 {
		ink = d.theme.Ink
	}
	x := int(math.Round(p.x))
	switch w := face.width(it.Text); it.Anchor {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	d.say(face, it.Text, x, int(math.Round(p.y)), ink)
}
