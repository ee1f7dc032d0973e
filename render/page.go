package render

import (
	"errors"
	"fmt"
	"image"
	"math"

	"wakeledger/grid"
)

// Page is a picture of one panel, or of several that show the same part of a plane, row by
// row.
type Page struct {
	// Title says what is shown, Subtitle where and of what, Footer how: reference
	// state, method, file. All three are wrapped to the page.
	Title, Subtitle, Footer string
	View                    View
	// Panels has Columns panels a row, 0 for one; nil leaves a place free.
	Panels  []*Panel
	Columns int
	// Theme is that of the page; the zero Theme means Light.
	Theme Theme
	// Text is the least size of plain text in pixels, as a picture for print needs
	// it; 0 leaves it to the size of the page.
	Text float64
}

// Draw lays out and draws a page of the given size in pixels; with height 0 the page
// is as high as its panels need. Both axes have the same scale. Panels of one quantity share
// a colour bar: a panel alone has it on its right, several have theirs below: the first one below the first
// panel where that place is free.
//
// The plane's X runs to the right and Y up. Values that are NaN or infinite have
// the colour for missing values, those beyond the scale the colours for that;
// pixels without an element are hatched in the mesh's gaps, paper elsewhere. The view's box
// is that of the first panel where it is not set.
//
// Errors: a size that leaves no room, no panel, a field that does not fit its mesh, an empty
// box, panels that share a colour bar and not its scale.
func Draw(p Page, size image.Point) (*image.RGBA, error) {
	c, l, err := p.lay(size)
	if err != nil {
		return nil, err
	}
	defer c.release()
	c.begin(l.size, l.surround)
	seen := shown{missing: l.missing}
	for i, q := range p.Panels {
		if q == nil {
			continue
		}
		s := paintPanel(q, p.View, l.box, c.part(l.plots[i]), c)
		seen.body, seen.left = seen.body || s.body, seen.left || s.left
	}
	p.around(c, l, seen)
	return c.img, nil
}

// aside tells that the place below the first panel is free: the first bar stands there.
func (p *Page) aside() bool { return p.Columns > 1 && len(p.Panels) > p.Columns && p.free(p.Columns) }

// free tells a place that holds no panel, or lies beside or below the page.
func (p *Page) free(i int) bool { return i < 0 || i >= len(p.Panels) || p.Panels[i] == nil }

// View says how a plane is looked at.
type View struct {
	// Box is what the picture shows; the zero Box means the mesh's window.
	Box grid.Box
	// X and Y are the labels of the axes, with their units.
	X, Y string
	// From says where the eye is, such as "seen from behind, looking upstream".
	From string
	// Ground draws the ground line at Y = 0, hatched below. A window that ends less
	// than a seventh of its height above the ground is extended down to it.
	Ground bool
}

var planeViews = map[string]View{
	"x": {X: "y, m (to the vehicle's right)", Y: "z, m", From: "seen from behind, looking upstream", Ground: true},
	"y": {X: "x, m (aft)", Y: "z, m", From: "seen from the left, stream from the left", Ground: true},
	"z": {X: "x, m (aft)", Y: "y, m (to the vehicle's right)", From: "seen from above, stream from the left"},
}

// PlaneView is the usual view of a plane normal to the axis x, y or z: axes in
// the vehicle's frame, x aft, y to the right, z up. Anything else is a plain view
// of the two coordinates.
func PlaneView(normal string) View {
	if v, ok := planeViews[normal]; ok {
		return v
	}
	return View{X: "first coordinate, m", Y: "second coordinate, m"}
}

// box is the part of the plane that is shown: of the view if it is set, else the mesh's window.
func (v View) box(p *Panel) (grid.Box, error) {
	b := v.Box
	if b == (grid.Box{}) {
		b = p.Mesh.Window()
	}
	if v.Ground && b.Min.Y > 0 && b.Min.Y < b.Max.Y/7 {
		b.Min.Y = 0
	}
	if !(b.Width() > 0 && b.Height() > 0 && b.Width() <= math.MaxFloat64 && b.Height() <= math.MaxFloat64) {
		return b, fmt.Errorf("picture of the box %v: a finite box with width and height is needed", b)
	}
	return b, nil
}

// groundGrain is the part of the height by which the window may miss the ground:
// less than a pixel, and more than the rounding of printed coordinates.
const groundGrain = 1e-3

// stripWanted reports whether the ground lies at the lower border of the picture,
// so that it is hatched below the plot.
func (v View) stripWanted(box grid.Box) bool {
	return v.Ground && math.Abs(box.Min.Y) <= groundGrain*box.Height()
}

// Panel is one field with its marks. Lengths are in metres, in the mesh's
// coordinates.
type Panel struct {
	// Heading stands over the panel on a page of several.
	Heading  string
	Quantity string // what the colour bar says
	Mesh     *grid.Mesh
	// Values has one value a sample; NaN and infinite values are drawn as missing.
	Values []float64
	Scale  Scale
	// Lines draws the level lines at the scale's levels with their values.
	Lines bool

	// Whole are meshes with samples that Mesh lacks since they were left out: what they
	// cover alone has a hatch of its own.
	Whole []*grid.Mesh

	// Samplers, if not nil, is shared by pictures of several fields of one mesh.
	Samplers *Samplers

	// Doubt, if not nil, has for each sample how large a value has to be to mean
	// anything, such as the expanded uncertainty of a change: where |value| is not
	// larger, the colour is that of 0. NaN where it is not known.
	Doubt []float64
	// Vectors, if not nil, are drawn over the field.
	Vectors *Vectors

	Boxes    []NamedBox
	Markers  []Marker
	Outlines []Outline
	Arrows   []Arrow
}

// check names the first thing about a panel that cannot be drawn. Marks that cannot are left
// out.
func (p *Panel) check() error {
	switch {
	case p.Mesh == nil || len(p.Mesh.Points) == 0:
		return errors.New("map without samples: a mesh with at least one element is needed")
	case len(p.Values) != len(p.Mesh.Points):
		return fmt.Errorf("map of %d values on %d samples: one value a sample is needed", len(p.Values), len(p.Mesh.Points))
	case p.Doubt != nil && len(p.Doubt) != len(p.Values):
		return fmt.Errorf("map of %d values with %d doubts: one a value is needed", len(p.Values), len(p.Doubt))
	case p.Scale.Map == nil:
		return errors.New("colour scale without colours: choose a colour map")
	case p.Vectors != nil:
		return p.Vectors.check(len(p.Values))
	}
	return nil
}

// beyond reports whether finite values lie under and over the scale, and whether
// some are missing.
func (p *Panel) beyond() (under, over, missing bool) {
	for _, v := range p.Values {
		switch {
		case v-v != 0:
			missing = true
		case v < p.Scale.Lo:
			under = true
		case v > p.Scale.Hi:
			over = true
		}
	}
	return under, over, missing
}
