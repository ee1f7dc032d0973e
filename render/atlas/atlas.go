// Package atlas draws the pictures of surveys: in go measurements and
// comparisons, out come named PNG files. It chooses fields, scales and marks and
// leaves the drawing to package render. No number is measured here.
//
// One scale holds for a quantity over everything that is drawn in one call, so
// that pictures can be laid side by side.
package atlas

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"slices"
	"strings"
	"sync"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// Options choose what is drawn.
type Options struct {
	// Quantities are names that measure.Measurement.Field knows; nil means
	// measure.DefaultMaps, empty none.
	Quantities []string
	// Levels and Limits are those that a user set for a quantity, by its name.
	Levels map[string][]float64
	Limits map[string][2]float64
	// ChangeLimits are the ends of the scales of changes, from −c to c.
	ChangeLimits map[string]float64
	// Size in pixels; the zero size means 1600 × 900.
	Size image.Point
	// DPI, if not 0, is the pixels to an inch in print: the texts are then large
	// enough to be read there.
	DPI float64
	// Theme is the page's; the zero Theme is light.
	Theme render.Theme
	// Vectors draws the cross-flow over the maps.
	Vectors bool
	// Single draws, in a study, a map of each survey too where a sheet shows it.
	Single bool
	// Silhouette is the vehicle's outline in y and z, drawn on planes normal to x.
	Silhouette []isoline.Line
	// Window is the part of the planes that is shown, by the axes x, y and z in
	// m; along an axis without one it is the wake and the body, or with WholeWindow all.
	Window      map[string][2]float64
	WholeWindow bool

	shared *shared
	// magnify is how much longer than true the arrows of moves are drawn.
	magnify int
	// station is the name of the station that is drawn, with what parts it from its
	// place; both are empty outside a study.
	station, place string
	// samplers are those of the meshes of a station.
	samplers *render.Samplers
}

// shared is what the pictures of one call have in common.
type shared struct {
	// outlines are those of measurements, weights those of meshes, each found once.
	outlines, weights sync.Map
	// changes are the scales of changes that were drawn, by comparison and quantity.
	changes sync.Map
	// scales, if not nil, are those that hold for a whole study, by quantity.
	scales map[string]*scales
	// full, if not 0, is the cross-flow at full length.
	full float64
	// windows are the parts of the planes that are shown, by their normals.
	windows map[wake.Axis]grid.Box
}

// sharing is what pictures of these measurements share.
func (o Options) sharing(ms []*measure.Measurement) (*shared, error) {
	windows, err := o.windows(ms)
	return &shared{full: o.fullVector(ms), windows: windows}, err
}

func (o Options) quantities() []string {
	if o.Quantities == nil {
		return measure.DefaultMaps
	}
	return o.Quantities
}

func (o Options) size() image.Point { return cmp.Or(o.Size, image.Pt(1600, 900)) }

// printText is the least size of text in print, in points of 1/72 inch, on a map and
// on a sheet of several (common practice, no source).
const printText, printTextSheet = 7, 6

// text is the least size of text in pixels.
func (o Options) text(points float64) float64 { return points / 72 * o.DPI }

// File is a finished picture with its name, without ending.
type File struct {
	Name string
	report.Picture
	// shows has the configurations on a sheet.
	shows []string
}

// field is one quantity at the samples of one measurement, nil where the plane lacks it.
type field struct {
	mesh   *grid.Mesh
	values []float64
}

func fieldOf(m *measure.Measurement, quantity string) (field, error) {
	v, _, err := m.Field(quantity)
	return field{m.Plane.Mesh, v}, err
}

// boxes are the regions as marks.
func boxes(r *measure.Result) []render.NamedBox {
	var out []render.NamedBox
	for _, g := range r.Regions {
		b := grid.Box{Min: grid.Point{X: g.Box.Y[0], Y: g.Box.Z[0]}, Max: grid.Point{X: g.Box.Y[1], Y: g.Box.Z[1]}}
		out = append(out, render.NamedBox{Name: g.Name, Box: b})
	}
	return out
}

// outlineAt is the threshold at which the wake's outline is drawn: the middle of
// those that areas are given for.
func outlineAt(r *measure.Result) (threshold float64, ok bool) {
	if r.Wake == nil || len(r.Wake.Areas) == 0 {
		return 0, false
	}
	return r.Wake.Areas[len(r.Wake.Areas)/2].Threshold, true
}

// outline is the line where the weight reaches the outline's threshold.
func (o Options) outline(m *measure.Measurement) ([]isoline.Line, string) {
	t, ok := outlineAt(m.Result)
	if !ok || m.Weight == nil {
		return nil, ""
	}
	lines, _ := o.shared.outlines.LoadOrStore(m, sync.OnceValue(func() []isoline.Line { return offBody(m.Plane.Mesh, isoline.Lines(m.Plane.Mesh, m.Weight, t)) }))
	return lines.(func() []isoline.Line)(), fmt.Sprintf("wake outline, %s = %g", weightFormula(m.Result), t)
}

const offBodyLeast = 8

// offBody leaves out of a wake's outline what runs along a body within two samples of it: a layer
// that they do not resolve; and pieces between two such that are no longer than offBodyLeast samples.
func offBody(m *grid.Mesh, lines []isoline.Line) (out []isoline.Line) {
	if !m.CutsBody() {
		return lines
	}
	near := render.NearBody(m, 2*m.Spacing())
	for _, l := range lines {
		if !slices.ContainsFunc(l.Points, near) {
			out = append(out, l)
			continue
		}
		p := l.Points
		if l.Closed {
			p = append(slices.Clip(p), p[0])
		}
		for len(p) > 0 {
			n := slices.IndexFunc(p, near)
			if n < 0 {
				n = len(p)
			}
			if piece := (isoline.Line{Points: p[:n]}); piece.Length() > offBodyLeast*m.Spacing() {
				out = append(out, piece)
			}
			p = p[min(n+1, len(p)):]
		}
	}
	return out
}

func weightFormula(r *measure.Result) string {
	w, err := measure.ParseWeight(r.Wake.Weight)
	if err != nil {
		return r.Wake.Weight
	}
	return w.Formula()
}

// footer states what a picture depends on.
func footer(r *measure.Result) string {
	ref := r.Reference
	s := fmt.Sprintf("U = %g m/s, ρ = %g kg/m³, p∞ = %g Pa, pt∞ = %.4g Pa", ref.Speed, ref.Density, ref.Pressure, ref.TotalPressure)
	if ref.Anchor.Kind == "edge" {
		s += " (anchored on the edge, " + uncertainty.Signed(ref.Anchor.ShiftPa, 2) + " Pa)"
	}
	return s + fmt.Sprintf(" · %s samples, %s of %s, spacing %.3g m", report.Thousands(r.Samples), r.Mesh.Kind, r.Mesh.Support, r.Mesh.Spacing)
}

// formula is that of a quantity whose name does not say it.
func formula(p render.Policy) string {
	if p.Label == "local drag" {
		return " · local drag = (pt∞−pt)/q − (1−u/U)² + (v²+w²)/U², less 2<u'u'>/U² where the stress is used"
	}
	return ""
}

// where is the place of the station, or without one of the plane.
func (o Options) where(r *measure.Result) string {
	return cmp.Or(o.place, report.Place(r.Station.Normal, r.Station.Position))
}

// finish draws a page and puts the PNG into the file, with what it shows in its text fields:
// r is the survey shown or the baseline of those shown.
func (o Options) finish(p render.Page, size image.Point, r *measure.Result, scale string, f File) (*File, error) {
	p.Theme = o.Theme
	title := p.Title + ", " + p.Subtitle
	img, err := render.Draw(p, size)
	if err != nil {
		return nil, fmt.Errorf("picture %q of %s: %w", title, r.File, err)
	}
	f.PNG, err = o.encode(img, title, r.File, "Method", p.Footer, "Scale", scale)
	return &f, err
}

// encode makes a PNG of a picture, which ends with it, with notes in it, of which more are keys and
// values.
func (o Options) encode(img *image.RGBA, title, source string, more ...string) ([]byte, error) {
	notes := []render.Text{{Key: "Title", Value: title}, {Key: "Source", Value: source}}
	for pair := range slices.Chunk(more, 2) {
		notes = append(notes, render.Text{Key: pair[0], Value: pair[1]})
	}
	var buf bytes.Buffer
	err := render.EncodePNG(&buf, img, notes, o.DPI)
	render.Done.Put(img)
	return buf.Bytes(), err
}

// limitsOf says between what a scale runs.
func limitsOf(s render.Scale) string { return fmt.Sprintf("%g to %g", s.Lo, s.Hi) }

// slug is a quantity's name for files.
func slug(quantity string) string {
	return strings.NewReplacer("/", "-over-", " ", "-").Replace(strings.ToLower(quantity))
}
