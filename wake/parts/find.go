package parts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Options configure Find. The zero value of a field means its default.
type Options struct {
	Criterion string // ByWeight or ByVorticity; default ByWeight
	// Threshold is the level of the criterion that bounds a structure. For the weight
	// it is a number such as 0.1 (default); for vorticity it is in 1/s, and 0 means a tenth
	// of the largest magnitude.
	Threshold float64
	// Prominence is the part of its own height by which a peak must rise above the
	// saddle to a higher one to be a structure of its own; default 0.05.
	Prominence float64
	// Regions give their names to the structures that they hold most of.
	Regions []measure.Box
}

// DefaultThreshold is the level of the weight that bounds a part where none is given.
const DefaultThreshold = 0.1

const (
	defaultProminence = 0.05
	// leastCells: below sixteen squares of the sample distance a structure is not four
	// samples across.
	leastCells = 16
	// vortexPart is the default threshold of vorticity, as a part of the largest magnitude.
	vortexPart = 0.1
)

// Structure is a part of the wake found in the field; see measure.Structure.
type Structure = measure.Structure

// Set is what Find found, highest peak first, with the rules that it depends on.
type Set struct {
	measure.StructureRule
	Structures []Structure
	// Warnings are doubts about the structures.
	Warnings []wake.Warning

	field *Field
	// label is the structure of each sample of the nodal mesh, or −1.
	mesh  *grid.Mesh
	label []int32
	// labels are those of rasters (Labels).
	labels *sync.Map
}

// Field is the field that the structures were found in.
func (s *Set) Field() *Field { return s.field }

// Index finds a structure by name; −1 for none.
func (s *Set) Index(name string) int {
	return slices.IndexFunc(s.Structures, func(t Structure) bool { return t.Name == name })
}

// Find returns the structures of a field: the connected parts where the criterion
// is above the threshold (in magnitude, and each sign for itself, for vorticity), divided at
// saddles that lie deep enough below both peaks.
//
// The rule: a peak of height p that meets a higher one at a saddle of height s is
// a structure of its own when p − s is at least Prominence·p; otherwise it is joined to
// what lies across the saddle. One that meets none is held to the same with s the
// threshold. Parts smaller than 16 squares of the sample distance are joined or dropped
// likewise.
//
// Without structures the set is empty and a warning says so. The field must have the criterion.
func Find(f *Field, opt Options) *Set {
	v, signs := opt.fill(f)
	out := &Set{field: f, Structures: []Structure{}, labels: &sync.Map{}, StructureRule: measure.StructureRule{
		Criterion: opt.Criterion, Threshold: opt.Threshold, Level: f.Level,
		Text: fmt.Sprintf("%s >= %.4g; a peak p splits from a higher one at a saddle s when p-s >= %.3g p; at least %.3g m2",
			opt.Criterion, opt.Threshold, opt.Prominence, leastArea(f)),
	}}
	if f.Note != "" {
		out.Text += "; " + f.Note
	}
	if opt.Criterion == ByWeight {
		out.Weight = f.WeightName
	}
	var found []*decomposition
	if opt.Threshold > 0 {
		for _, sign := range signs {
			found = append(found, decompose(f, v, sign, opt))
		}
		out.gather(found)
	}
	if f.Local != nil {
		rest := f.total(f.Local)
		for _, s := range out.Structures {
			rest -= *s.DragArea
		}
		out.Rest = &rest
	}
	h, w := f.Mesh.Spacing(), f.Mesh.Window()
	if step := grid.RasterStep(w, h); step > h {
		out.Warnings = append(out.Warnings, wake.Warning{
			Code: "coarse-raster", Where: f.Name, Text: fmt.Sprintf("parts, their mirror images and moves are compared at places %.3g m apart, since at the samples' %.3g m the window %v would have more than %d", step, h, w, grid.MostPlaces),
			Cure: "cut the plane to the wake, or leave out samples that stray",
		})
	}
	if len(out.Structures) == 0 {
		out.Warnings = append(out.Warnings, wake.Warning{
			Code: "no-structures", Where: f.Name, Text: fmt.Sprintf("no part of the plane has %s at or above %.4g", opt.Criterion, opt.Threshold),
			Cure: "lower the threshold",
		})
	}
	out.name(opt.Regions)
	out.mirrors(opt.Prominence)
	return out
}

// fill sets what was left at zero and returns the field of the criterion with the signs to look for.
func (o *Options) fill(f *Field) (v, signs []float64) {
	o.Prominence = cmp.Or(o.Prominence, defaultProminence)
	if o.Criterion = cmp.Or(o.Criterion, ByWeight); o.Criterion == ByWeight {
		o.Threshold = cmp.Or(o.Threshold, DefaultThreshold)
		return f.Weight, []float64{1}
	}
	if o.Threshold == 0 {
		for _, x := range f.Vorticity {
			if a := math.Abs(x); a > o.Threshold && !math.IsInf(a, 0) {
				o.Threshold = a
			}
		}
		o.Threshold *= vortexPart
	}
	return f.Vorticity, []float64{1, -1}
}

func leastArea(f *Field) float64 { return leastCells * f.Mesh.Spacing() * f.Mesh.Spacing() }

// decomposition is a field of one sign divided into parts.
type decomposition struct {
	sign  float64
	nodal *grid.Mesh
	mesh  *simplex
	peaks *peaks
	parts []part
	// place is where each part stands among those of all signs.
	place []int32
}

// decompose divides a field, taken with a sign, and measures the parts.
func decompose(f *Field, v []float64, sign float64, opt Options) *decomposition {
	if sign < 0 {
		v = slices.Clone(v)
		floats.Scale(-1, v)
	}
	m, g := f.Mesh.Nodal(v)
	d := &decomposition{sign: sign, nodal: m}
	nodal := func(a []float64) []float64 {
		if a == nil {
			return nil
		}
		_, b := f.Mesh.Nodal(a)
		return b
	}
	d.mesh = newSimplex(m, g, opt.Threshold)
	values, local, vorticity := d.mesh.values(g), d.mesh.values(nodal(f.Local)), d.mesh.values(nodal(f.Vorticity))
	tree := findPeaks(d.mesh, values, opt.Threshold, opt.Prominence)
	measure := func() (area []float64) {
		d.peaks = tree.number()
		d.parts = integrate(d.mesh, values, d.peaks.label, len(d.peaks.peak), opt.Threshold, local, vorticity)
		for k := range d.parts {
			area = append(area, d.parts[k].area())
		}
		return area
	}
	if tree.dropSmall(measure(), leastArea(f)) {
		measure()
	}
	d.place = make([]int32, len(d.parts))
	return d
}

// gather sets the parts of all signs together, by the height of their peaks.
func (out *Set) gather(found []*decomposition) {
	type one struct {
		d *decomposition
		k int
	}
	var all []one
	for _, d := range found {
		for k := range d.parts {
			all = append(all, one{d, k})
		}
	}
	slices.SortStableFunc(all, func(a, b one) int { return cmp.Compare(b.d.peaks.peak[b.k].value, a.d.peaks.peak[a.k].value) })
	for i, o := range all {
		o.d.place[o.k] = int32(i)
		out.Structures = append(out.Structures, o.d.structure(o.k, out.field))
	}
	out.mesh = found[0].nodal
	out.label = slices.Repeat([]int32{-1}, len(out.mesh.Points))
	for _, d := range found {
		for i, v := range d.mesh.vertex {
			if v >= 0 && d.peaks.label[v] >= 0 {
				out.label[i] = d.place[d.peaks.label[v]]
			}
		}
	}
}

// structure is what was measured of part k.
func (d *decomposition) structure(k int, f *Field) Structure {
	p, q := d.peaks.peak[k], &d.parts[k]
	c, at := q.centroid(q.origin), d.mesh.pts[p.vertex]
	s := Structure{
		Area: f.Scale * q.area(), Centroid: [2]float64{c.X, c.Y}, Spread: q.spread(),
		Integral: d.sign * f.Scale * q.f(), Peak: d.sign * p.value, PeakAt: [2]float64{at.X, at.Y},
		Persistence: (p.value - p.saddle) / p.value, Saddle: d.sign * p.saddle, Box: q.box,
	}
	if f.Local != nil {
		drag := f.Scale * q.drag()
		s.DragArea = &drag
	}
	if f.Vorticity != nil {
		g := q.vorticity()
		s.Circulation = &g
	}
	return s
}
