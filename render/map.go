package render

import "image"

// Map is one picture of one field.
type Map struct {
	// Title says what is shown, Subtitle where and of what, Footer how: reference
	// state, method, file. All three are wrapped to the page.
	Title, Subtitle, Footer string
	Quantity                Quantity
	View                    View
	Panel
	// Theme is that of the page; the zero Theme means Light.
	Theme Theme
	// Text is the least size of plain text in pixels, as a picture for print needs
	// it; 0 leaves it to the size of the page.
	Text float64
}

// Draw lays out and draws a map of the given size in pixels; with height 0 the
// page is as high as the map needs. Both axes have the same scale.
//
// The plane's X runs to the right and Y up. Values that are NaN or infinite have
// the colour for missing values, those beyond the scale the colours for that;
// pixels without an element are paper, or hatched where View.Body says so.
//
// Errors: a size that leaves no room, a field that does not fit the mesh, an empty
// box, a scale or a mark that is not finite.
func Draw(m Map, size image.Point) (*image.RGBA, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	return m.page().draw(size)
}

func (m *Map) page() *page {
	p := &page{Title: m.Title, Subtitle: m.Subtitle, Footer: m.Footer, View: m.View, Theme: m.Theme, Text: m.Text, panels: []*Panel{&m.Panel}, cols: 1}
	if m.Mesh != nil {
		p.quantities = []Quantity{m.Quantity}
	}
	return p
}
