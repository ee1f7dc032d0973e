package render

import (
	"errors"
	"fmt"
	"image/color"
	"math"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

// Panel is one field with its marks. Lengths are in metres, in the mesh's
// coordinates.
type Panel struct {
	// Heading stands over the panel in a Sheet.
	Heading string
	Mesh    *grid.Mesh
	// Values has one value a sample; NaN and infinite values are drawn as missing.
	Values []float64
	Scale  Scale
	// Lines draws the level lines at the scale's levels with their values.
	Lines bool

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
	Ellipses []Ellipse
	Outlines []Outline
	Arrows   []Arrow

	// Spots show where samples lie, without a field: then Mesh is nil. Kinds name the
	// marks that they have.
	Spots []Spot
	Kinds []string
}

// NamedBox is a region. Limits beyond the picture, infinite ones too, are cut.
type NamedBox struct {
	Name string
	Box  grid.Box
}

// Marker is a point such as a centroid: a disc, or a ring when Open. Name goes to
// the legend, once for all markers that share it.
type Marker struct {
	At   grid.Point
	Name string
	Open bool
}

// Ellipse shows a spread: Semi are its half axes, the first turned by Tilt
// degrees from X toward Y.
type Ellipse struct {
	Centre grid.Point
	Semi   [2]float64
	Tilt   float64
	Name   string
}

// Outline is a set of lines such as the border of a wake, in the ink of marks or
// in Color, full or dashed.
type Outline struct {
	Lines  []isoline.Line
	Name   string
	Color  color.RGBA
	Dashed bool
}

// Arrow shows a shift. Its text is the true length in mm or m and Label, such as
// "24 mm inboard". A shift of a few pixels could not be seen: then the arrow is
// drawn longer by a round factor, and the text says so. Magnify sets the factor;
// 0 leaves it to the picture.
type Arrow struct {
	From, To grid.Point
	Label    string
	Magnify  int
	// Open draws the shaft broken and the head hollow: a shift that is not resolved.
	Open bool
	// told is set where the legend tells the factor.
	told bool
}

// name is the arrow's in the legend, empty where it needs none.
func (a Arrow) name() string {
	s := "shift"
	if a.Open {
		s = "shift that is not resolved"
	}
	switch {
	case a.told && a.Magnify > 1:
		return fmt.Sprintf("%s, the arrow ×%d", s, a.Magnify)
	case a.Open:
		return s
	}
	return ""
}

// text is what stands beside the arrow.
func (a Arrow) text(factor int) string {
	s := Length(math.Hypot(a.To.X-a.From.X, a.To.Y-a.From.Y))
	if a.Label != "" {
		s += " " + a.Label
	}
	if factor > 1 && !a.told {
		s += fmt.Sprintf(" (arrow ×%d)", factor)
	}
	return s
}

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
	// Body hatches what lies inside the window's hull and is covered by no element.
	Body bool
}

// PlaneView is the usual view of a plane normal to the axis x, y or z: axes in
// the vehicle's frame, x aft, y to the right, z up. Anything else is a plain view
// of the two coordinates.
func PlaneView(normal string) View {
	switch normal {
	case "x":
		return View{X: "y, m (to the vehicle's right)", Y: "z, m", From: "seen from behind, looking upstream", Ground: true, Body: true}
	case "y":
		return View{X: "x, m (aft)", Y: "z, m", From: "seen from the left, stream from the left", Ground: true, Body: true}
	case "z":
		return View{X: "x, m (aft)", Y: "y, m (to the vehicle's right)", From: "seen from above, stream from the left", Body: true}
	}
	return View{X: "first coordinate, m", Y: "second coordinate, m", Body: true}
}

// box is the part of the plane that is shown: of the view if it is set, else of
// the mesh or of the spots.
func (v View) box(p *Panel) (grid.Box, error) {
	b := v.Box
	switch {
	case b != (grid.Box{}):
	case p.Mesh != nil:
		b = p.Mesh.Window()
	default:
		b = spotsBox(p.Spots, v.Ground)
	}
	if !(b.Width() > 0 && b.Height() > 0 && b.Width() <= math.MaxFloat64 && b.Height() <= math.MaxFloat64) {
		return b, fmt.Errorf("map of the box %v: a finite box with width and height is needed", b)
	}
	if v.Ground && b.Min.Y > 0 && b.Min.Y < b.Max.Y/7 {
		b.Min.Y = 0
	}
	return b, nil
}

func finitePoint(p grid.Point) bool { return p.X-p.X == 0 && p.Y-p.Y == 0 }

// check names the first thing about a panel that cannot be drawn.
func (p *Panel) check() error {
	if len(p.Kinds) > 0 {
		return checkSpots(p.Spots, p.Kinds)
	}
	if p.Mesh == nil || len(p.Mesh.Points) == 0 {
		return errors.New("map without samples: a mesh with at least one element is needed")
	}
	if len(p.Values) != len(p.Mesh.Points) {
		return fmt.Errorf("map of %d values on %d samples: one value a sample is needed", len(p.Values), len(p.Mesh.Points))
	}
	if p.Doubt != nil && len(p.Doubt) != len(p.Values) {
		return fmt.Errorf("map of %d values with %d doubts: one a value is needed", len(p.Values), len(p.Doubt))
	}
	if p.Vectors != nil {
		if err := p.Vectors.check(len(p.Values)); err != nil {
			return err
		}
	}
	if err := p.Scale.check(); err != nil {
		return err
	}
	for _, b := range p.Boxes {
		if b.Box.Empty() {
			return fmt.Errorf("region %q with the box %v: limits in increasing order are needed", b.Name, b.Box)
		}
	}
	for _, m := range p.Markers {
		if !finitePoint(m.At) {
			return fmt.Errorf("marker %q at (%g, %g): a finite point is needed", m.Name, m.At.X, m.At.Y)
		}
	}
	for _, e := range p.Ellipses {
		if !finitePoint(e.Centre) || !(e.Semi[0] >= 0 && e.Semi[1] >= 0 && e.Semi[0]+e.Semi[1] <= math.MaxFloat64) || e.Tilt-e.Tilt != 0 {
			return fmt.Errorf("ellipse %q at (%g, %g) with half axes %g: finite values are needed", e.Name, e.Centre.X, e.Centre.Y, e.Semi)
		}
	}
	for _, a := range p.Arrows {
		if !finitePoint(a.From) || !finitePoint(a.To) {
			return fmt.Errorf("arrow %q from (%g, %g) to (%g, %g): finite points are needed", a.Label, a.From.X, a.From.Y, a.To.X, a.To.Y)
		}
		if a.Magnify < 0 {
			return fmt.Errorf("arrow %q drawn ×%d: a factor of 1 or more is needed, or 0 for a fitting one", a.Label, a.Magnify)
		}
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

// mayHaveBody reports whether some of the window may lie under no element.
func (p *Panel) mayHaveBody() bool {
	if p.Mesh == nil {
		return false
	}
	if l := p.Mesh.Lattice; l != nil {
		return len(p.Mesh.Points) < len(l.Index)
	}
	return len(p.Mesh.Gaps) > 0 || p.Mesh.DroppedArea > 0
}
