package structure

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Options steer Find. The zero value of a field means its default.
type Options struct {
	Criterion Criterion
	// Threshold is the level of the criterion that bounds a structure. For the weight
	// it is a number such as 0.1 (default); for vorticity and swirl it is in 1/s, and 0
	// means a tenth of the largest magnitude.
	Threshold float64
	// Prominence is the part of its own height by which a peak must rise above the
	// saddle to a higher one to be a structure of its own; default 0.05.
	Prominence float64
	// Noise is the standard deviation of the criterion's sample noise: a peak must also
	// rise above its saddle by noiseProminence times that.
	Noise float64
	// LeastArea is the least area of a structure, m²; 0 means that of leastCells
	// squares of the sample distance.
	LeastArea float64
	// HalfWidth and Height are the vehicle's, m, for names; 0 takes the extent of all
	// structures together.
	HalfWidth, Height float64
	// Regions give their names to the structures that they hold most of.
	Regions []measure.Box
}

// DefaultThreshold is the level of the weight that bounds a part where none is given.
const DefaultThreshold = 0.1

const (
	defaultProminence = 0.05
	// noiseProminence: a maximum of white noise among its neighbours stands above
	// them by two to three standard deviations; four are hardly met.
	noiseProminence = 4
	// leastCells: below sixteen squares of the sample distance a structure is not four
	// samples across.
	leastCells = 16
	// vortexPart is the default threshold of vorticity and swirl, as a part of the
	// largest magnitude.
	vortexPart = 0.1
)

// Structure is a part of the wake found in the field; see measure.Structure.
type Structure = measure.Structure

// Set is what Find found, highest peak first, with the rules that it hangs on.
type Set struct {
	Criterion string  `json:"criterion"`
	Weight    string  `json:"weight,omitempty"`
	Threshold float64 `json:"threshold"`
	// Level is what the weight was counted from.
	Level      float64     `json:"level"`
	Rule       string      `json:"rule"`
	Structures []Structure `json:"structures"`
	// Rest is the local drag outside all structures and Total that of the plane, m².
	Rest  *float64 `json:"rest_m2,omitempty"`
	Total *float64 `json:"total_m2,omitempty"`
	// Warnings are doubts about the structures.
	Warnings []wake.Warning `json:"-"`

	field *Field
	// label is the structure of each sample of the nodal mesh, or −1.
	mesh  *grid.Mesh
	label []int32
	// into is, for each structure, the one across its saddle, or −1.
	into []int32
	// joined are peaks that were nearly structures of their own.
	joined []joinedPeak
}

// joinedPeak is a peak that the rule did not make a structure of its own: it rises by
// the part prominence of its height above the saddle across which lies the structure
// that it was joined to.
type joinedPeak struct {
	into              int32
	at                grid.Point
	value, prominence float64
}

// Field is the field that the structures were found in.
func (s *Set) Field() *Field { return s.field }

// Index finds a structure by name; −1 for none.
func (s *Set) Index(name string) int {
	return slices.IndexFunc(s.Structures, func(t Structure) bool { return t.Name == name })
}

// check refuses options that nothing can be found with.
func (o *Options) check(name string) error {
	bad := func(what string, v float64, cure string) error {
		return &wake.InputError{File: name, Text: fmt.Sprintf("%s is %g", what, v), Cure: cure}
	}
	for _, c := range []struct {
		what   string
		v      float64
		lo, hi float64
		cure   string
	}{
		{"the threshold of structures", o.Threshold, 0, math.MaxFloat64, "give a positive number, or 0 for the default"},
		{"the prominence", o.Prominence, 0, 0.999, "give a part between 0 and 1"},
		{"the noise", o.Noise, 0, math.MaxFloat64, "give a standard deviation, or 0"},
		{"the least area of a structure", o.LeastArea, 0, math.MaxFloat64, "give an area in m2, or 0"},
		{"the vehicle's half width", o.HalfWidth, 0, math.MaxFloat64, "give a length in m, or 0"},
		{"the vehicle's height", o.Height, 0, math.MaxFloat64, "give a length in m, or 0"},
	} {
		if !(c.lo <= c.v && c.v <= c.hi) {
			return bad(c.what, c.v, c.cure)
		}
	}
	return nil
}

// Find returns the structures of a field: the connected parts where the criterion
// is above the threshold (in magnitude, and each sign for itself, for vorticity and
// swirl), divided at saddles that lie deep enough below both peaks.
//
// The rule: a peak of height p that meets a higher one at a saddle of height s is
// a structure of its own when p − s is at least Prominence·p and at least four
// standard deviations of the noise; otherwise it is joined to what lies across the
// saddle. One that meets none is held to the same with s the threshold. Parts
// smaller than LeastArea are joined or dropped likewise.
//
// Without structures the set is empty and a warning says so.
func Find(f *Field, opt Options) (*Set, error) {
	if err := opt.check(f.Name); err != nil {
		return nil, err
	}
	v, err := f.values(opt.Criterion)
	if err != nil {
		return nil, err
	}
	if opt.Prominence == 0 {
		opt.Prominence = defaultProminence
	}
	if opt.LeastArea == 0 {
		h := f.Mesh.Spacing()
		opt.LeastArea = leastCells * h * h
	}
	signs := []float64{1}
	if opt.Criterion == ByWeight {
		if opt.Threshold == 0 {
			opt.Threshold = DefaultThreshold
		}
	} else {
		signs = []float64{1, -1}
		if opt.Threshold == 0 {
			for _, x := range v {
				if a := math.Abs(x); a > opt.Threshold && !math.IsInf(a, 0) {
					opt.Threshold = a
				}
			}
			opt.Threshold *= vortexPart
		}
	}
	out := &Set{
		Criterion: opt.Criterion.String(), Threshold: opt.Threshold, Level: f.Level, field: f, Structures: []Structure{},
		Rule: fmt.Sprintf("%s >= %.4g; a peak p is divided from a higher one at a saddle s when p-s >= %.3g p and p-s >= %.3g; at least %.3g m2",
			opt.Criterion, opt.Threshold, opt.Prominence, noiseProminence*opt.Noise, opt.LeastArea),
	}
	if f.Note != "" {
		out.Rule += "; " + f.Note
	}
	if opt.Criterion == ByWeight {
		out.Weight = f.WeightName
	}
	if opt.Threshold > 0 {
		for _, sign := range signs {
			out.add(v, sign, opt)
		}
	}
	if f.Local != nil {
		total := f.total(f.Local)
		out.Total = &total
		if out.Rest == nil || len(signs) > 1 || f.Mesh.SampleArea != nil {
			// The parts of two signs are integrated one after the other, each with a rest of
			// its own, and elements need not have the areas that are stated for the samples:
			// what no part holds is then the difference.
			rest := total
			for _, s := range out.Structures {
				rest -= *s.DragArea
			}
			out.Rest = &rest
		}
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
	out.order()
	out.name(opt)
	out.mirrors(opt)
	return out, nil
}

// add finds the structures of one sign.
func (out *Set) add(v []float64, sign float64, opt Options) {
	f := out.field
	if sign < 0 {
		v = slices.Clone(v)
		for i := range v {
			v[i] = -v[i]
		}
	}
	m, g := f.Mesh.Nodal(v)
	if out.label == nil {
		out.mesh, out.label = m, make([]int32, len(m.Points))
		for i := range out.label {
			out.label[i] = -1
		}
	}
	d := decompose(f, m, g, opt)
	base := int32(len(out.Structures))
	for k, p := range d.peaks.peak {
		q := &d.parts[k]
		c := q.centroid(q.origin)
		at := d.mesh.pts[p.vertex]
		s := Structure{
			Area: f.Scale * q.area.Value(), Centroid: [2]float64{c.X, c.Y}, Spread: q.spread(),
			Integral: sign * f.Scale * q.f.Value(), Peak: sign * p.value, PeakAt: [2]float64{at.X, at.Y},
			Persistence: (p.value - p.saddle) / p.value, Saddle: sign * p.saddle, Box: q.box,
		}
		into := int32(-1)
		if p.into >= 0 {
			into = base + p.into
		}
		if f.Local != nil {
			drag := f.Scale * q.drag.Value()
			s.DragArea = &drag
		}
		if f.Vorticity != nil {
			g := q.vorticity.Value()
			s.Circulation = &g
		}
		out.Structures, out.into = append(out.Structures, s), append(out.into, into)
	}
	for _, p := range d.peaks.joined {
		out.joined = append(out.joined, joinedPeak{base + p.into, d.mesh.pts[p.vertex], sign * p.value, (p.value - p.saddle) / p.value})
	}
	if f.Local != nil {
		_, g := f.Mesh.Nodal(f.Local)
		rest := f.Scale * (d.rest.drag.Value() + d.mesh.wholeIntegral(g))
		out.Rest = &rest
	}
	for i, v := range d.mesh.vertex {
		if v >= 0 && d.peaks.label[v] >= 0 {
			out.label[i] = base + d.peaks.label[v]
		}
	}
}

// decomposition is a field divided into parts.
type decomposition struct {
	mesh  *simplex
	f     []float64
	peaks *peaks
	parts []part
	rest  sums
}

// decompose divides the nodal field g of one sign and measures the parts.
func decompose(f *Field, m *grid.Mesh, g []float64, opt Options) *decomposition {
	d := &decomposition{mesh: newSimplex(m, g, opt.Threshold)}
	d.f = d.mesh.values(g)
	d.peaks = findPeaks(d.mesh, d.f, opt.Threshold, rule{opt.Prominence, noiseProminence * opt.Noise})
	nodal := func(a []float64) []float64 {
		if a == nil {
			return nil
		}
		_, b := f.Mesh.Nodal(a)
		return d.mesh.values(b)
	}
	local, vorticity := nodal(f.Local), nodal(f.Vorticity)
	d.parts, d.rest = integrate(d.mesh, d.f, d.peaks.label, len(d.peaks.peak), opt.Threshold, local, vorticity)
	if d.dropSmall(opt.LeastArea) {
		d.parts, d.rest = integrate(d.mesh, d.f, d.peaks.label, len(d.peaks.peak), opt.Threshold, local, vorticity)
	}
	return d
}

// dropSmall joins the parts below the least area, the smallest first, to those
// across their saddles, or drops those that meet none, and reports whether there
// were any. A part that grows in the course of this may thereby stay.
func (d *decomposition) dropSmall(least float64) bool {
	n := len(d.parts)
	area := make([]float64, n)
	for k := range d.parts {
		area[k] = d.parts[k].area.Value()
	}
	// gone[k] is what part k was joined to, −1 for nothing; parts that stay are own.
	const own = -2
	gone := make([]int32, n)
	for k := range gone {
		gone[k] = own
	}
	end := func(k int32) int32 {
		for k >= 0 && gone[k] != own {
			k = gone[k]
		}
		return k
	}
	dropped := false
	for {
		small := int32(-1)
		for k := range area {
			if gone[k] == own && area[k] < least && (small < 0 || area[k] < area[small]) {
				small = int32(k)
			}
		}
		if small < 0 {
			break
		}
		dropped = true
		into := end(d.peaks.peak[small].into)
		if into == small {
			into = -1
		}
		if gone[small] = into; into >= 0 {
			area[into] += area[small]
		}
	}
	if !dropped {
		return false
	}
	place := make([]int32, n)
	var stay []peak
	for k, p := range d.peaks.peak {
		if gone[k] == own {
			place[k] = int32(len(stay))
			stay = append(stay, p)
		}
	}
	number := func(k int32) int32 {
		if k = end(k); k >= 0 {
			k = place[k]
		}
		return k
	}
	for k := range stay {
		if stay[k].into = number(stay[k].into); stay[k].into == int32(k) {
			// What it met was joined to itself.
			stay[k].into = -1
		}
	}
	for v, l := range d.peaks.label {
		d.peaks.label[v] = number(l)
	}
	d.peaks.peak = stay
	for k := range d.peaks.joined {
		d.peaks.joined[k].into = number(d.peaks.joined[k].into)
	}
	d.peaks.joined = slices.DeleteFunc(d.peaks.joined, func(p peak) bool { return p.into < 0 })
	return true
}

// order sorts the structures by the magnitude of their peak, so that those of both
// signs stand together.
func (out *Set) order() {
	n := len(out.Structures)
	by := make([]int, n)
	for i := range by {
		by[i] = i
	}
	slices.SortStableFunc(by, func(a, b int) int {
		pa, pb := math.Abs(out.Structures[a].Peak), math.Abs(out.Structures[b].Peak)
		switch {
		case pa > pb:
			return -1
		case pa < pb:
			return 1
		}
		return 0
	})
	place := make([]int32, n)
	sorted, into := make([]Structure, n), make([]int32, n)
	for k, i := range by {
		place[i] = int32(k)
		sorted[k] = out.Structures[i]
	}
	for k, i := range by {
		if into[k] = out.into[i]; into[k] >= 0 {
			into[k] = place[into[k]]
		}
	}
	out.Structures, out.into = sorted, into
	for k := range out.joined {
		out.joined[k].into = place[out.joined[k].into]
	}
	for i, l := range out.label {
		if l >= 0 {
			out.label[i] = place[l]
		}
	}
}
