package report

import (
	"fmt"
	"strings"

	"wakeledger/wake/study"
)

// Chart is a chart of the page for a picture of its own: its shapes stand in a box of
// Width × Height units, of which a line of plain text is 14 high.
type Chart struct {
	// Name is fit for a file.
	Name, Title, Caption string
	Width, Height        float64
	Shapes               []Shape
}

// Charts are those of the page, in its order, with that of each station where it has
// one.
func Charts(o *study.Outcome) []Chart {
	var out []Chart
	add := func(name string, f *figureView) {
		out = append(out, Chart{Name: name, Title: f.Title, Caption: f.Caption, Width: f.drawing.w, Height: f.drawing.h, Shapes: f.drawing.shapes})
	}
	if f := storyFigure(o); f != nil {
		add("where-the-change-is", f)
	}
	for _, f := range newFigures(o) {
		add(strings.ReplaceAll(strings.ToLower(f.Title), " ", "-"), &f)
	}
	for i, st := range o.Stations {
		if f := profileFigure(o, st); f != nil {
			f.Title += ", " + stationTitle(st)
			add(fmt.Sprintf("%02d_profiles", i+1), f)
		}
	}
	return out
}
