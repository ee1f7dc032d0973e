package render

import (
	"errors"
	"fmt"
	"image"
	"slices"

	"wakeledger/grid/isoline"
)

// Row is one comparison: what was changed from, what it was changed to, and the
// change, variant minus baseline.
type Row struct{ Baseline, Variant, Difference Panel }

// Compare adds to the variant's panel what shows the change: the baseline's wake
// outline, dashed, the centroids and an arrow from the baseline's to the variant's.
// Without centroids there is no arrow; bare leaves it out beside them.
func (r *Row) Compare(outline []isoline.Line, centroids *Arrow, bare bool) {
	if len(outline) > 0 {
		r.Variant.Outlines = append(slices.Clone(r.Variant.Outlines), Outline{Lines: outline, Name: "wake outline of the baseline", Dashed: true})
	}
	if centroids == nil {
		return
	}
	r.Baseline.Markers = append(slices.Clone(r.Baseline.Markers), Marker{At: centroids.From, Name: "centroid, baseline", Open: true})
	r.Variant.Markers = append(slices.Clone(r.Variant.Markers),
		Marker{At: centroids.From, Name: "centroid, baseline", Open: true}, Marker{At: centroids.To, Name: "centroid, variant"})
	if !bare {
		r.Variant.Arrows = append(slices.Clone(r.Variant.Arrows), *centroids)
	}
}

// Sheet shows comparisons, one a row: baseline, variant, difference. The first
// two columns share one scale and colour bar, the third has its own. All panels
// show the same part of the plane.
type Sheet struct {
	Title, Subtitle, Footer string
	Quantity, Difference    Quantity
	View                    View
	Rows                    []Row
	Theme                   Theme
	// Text is the least size of plain text in pixels, as a picture for print needs
	// it; 0 leaves it to the size of the page.
	Text float64
	// Painted, if not nil, is shared by sheets that show some panels alike.
	Painted *Painted
}

func (s *Sheet) panels() []*Panel {
	var out []*Panel
	for i := range s.Rows {
		r := &s.Rows[i]
		out = append(out, &r.Baseline, &r.Variant, &r.Difference)
	}
	return out
}

// check names the first thing that cannot be drawn, and where it is.
func (s *Sheet) check() error {
	if len(s.Rows) == 0 {
		return errors.New("sheet without rows: at least one comparison is needed")
	}
	for i, p := range s.panels() {
		name := fmt.Sprintf("row %d, column %d", i/3+1, i%3+1)
		if err := p.check(); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		first := &s.Rows[0].Baseline
		if i%3 == 2 {
			first = &s.Rows[0].Difference
		}
		if !slices.Equal(p.Scale.Levels, first.Scale.Levels) || p.Scale.Map.Name != first.Scale.Map.Name {
			return fmt.Errorf("%s: scale %g…%g differs from %g…%g in the first row: panels that share a colour bar need one scale",
				name, p.Scale.Lo, p.Scale.Hi, first.Scale.Lo, first.Scale.Hi)
		}
	}
	return nil
}

// DrawSheet lays out and draws a sheet; size is as for Draw. The view's box is that
// of the first baseline where it is not set.
func DrawSheet(s Sheet, size image.Point) (*image.RGBA, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	// The arrows' factors are set here and not in the caller's panels.
	s.Rows = slices.Clone(s.Rows)
	for _, p := range s.panels() {
		p.Arrows = slices.Clone(p.Arrows)
	}
	if s.Painted == nil {
		s.Painted = &Painted{} // the baseline's is in every row
	}
	return s.page().draw(size)
}

func (s *Sheet) page() *page {
	return &page{
		Title: s.Title, Subtitle: s.Subtitle, Footer: s.Footer, View: s.View, Theme: s.Theme, Text: s.Text,
		panels: s.panels(), cols: 3, painted: s.Painted, quantities: []Quantity{s.Quantity, s.Difference},
	}
}
