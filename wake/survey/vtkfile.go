package survey

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"wakeledger/wake"
	"wakeledger/wake/survey/vtk"
)

// readVTK reads a file of a VTK format, and the files that an index names.
//
// Arrays are matched to quantities by the rules that hold for headers. An array
// of three components is a vector, one of six or nine a tensor of which the normal
// components are used. Values on points and values on cells cannot be mixed: the
// place that holds more quantities is taken, the points where both hold as many.
func readVTK(ctx context.Context, t *text, opt *Options) *wake.Samples {
	data, err := t.all(maxBytes)
	wake.Stop(err)
	var open func(rel string) ([]byte, error)
	if t.disk {
		open = func(rel string) ([]byte, error) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			name := filepath.Join(filepath.Dir(t.name), filepath.FromSlash(rel))
			return steadily(name, func(m *text) ([]byte, error) { return m.all(maxBytes) })
		}
	}
	v := &vtkReader{name: t.name, opt: opt, passed: map[string]bool{}}
	set, err := vtk.Read(t.name, data, open, v.wants)
	wake.Stop(err)
	wake.Stop(ctx.Err())
	return v.samples(set)
}

type vtkReader struct {
	name   string
	opt    *Options
	passed map[string]bool // arrays that were not asked for
}

func (v *vtkReader) wants(array string) bool {
	if parseHeading(array).known() || vectorMeaning(array, "x").known() || vectorMeaning(array, "xx").known() {
		return true
	}
	name := parseHeading(array).name
	for _, w := range wantedNames(v.opt) {
		if begins(w, array) || name != "" && begins(w, name) {
			return true
		}
	}
	v.passed[array] = true
	return false
}

func begins(s, start string) bool {
	return len(s) >= len(start) && strings.EqualFold(s[:len(start)], start)
}

// vectorMeaning is what a component of a vector or tensor array is.
func vectorMeaning(array, component string) meaning {
	m := classify(parseHeading(array).name + "_" + component)
	if m.vector != "" {
		return unknown
	}
	return m
}

// Places that values of a data set belong to.
const (
	onPoints = iota
	onCells
)

var places = [...]string{"points", "cells"}

type vtkPart struct {
	columnar
	set      *vtk.Dataset
	at       int
	arrays   []*vtk.Array // of each column, nil for the position
	comps    []int
	centres  []float64
	warnings []wake.Warning
	found    []wake.Quantity
	err      error
}

// samples picks the place and reads what is there.
func (v *vtkReader) samples(d *vtk.Dataset) *wake.Samples {
	use, other := v.part(d, onPoints), v.part(d, onCells)
	if use.n == 0 {
		refuse(v.name, 0, 0, "there are no points", "export a plane with values")
	}
	fault := cmp.Or(use.err, other.err)
	if len(other.found) > len(use.found) {
		use, other = other, use
	}
	if len(use.found) == 0 {
		wake.Stop(fault)
	}
	var notes []wake.Warning
	warn := func(code, text, cure string) {
		notes = append(notes, wake.Warning{Code: code, Where: v.name, Text: text, Cure: cure})
	}
	for _, n := range d.Notes {
		warn("file-note", n, "check the export")
	}
	s := use.samples(v.opt)
	s.Warnings, notes = append(notes, s.Warnings...), nil
	if more := lacking(other.found, use.found); more != "" {
		warn("other-values", fmt.Sprintf("%s on %s left out, since the other values are on %s", more, places[other.at], places[use.at]), "export all values on points, or all on cells")
	} else if len(other.found) > 0 {
		warn("other-values", fmt.Sprintf("there are values on points and on cells; those on %s are used", places[use.at]), "export one kind to be sure")
	}
	s.Warnings = append(s.Warnings, notes...)
	s.Ignored = slices.Compact(slices.Sorted(slices.Values(slices.AppendSeq(s.Ignored, maps.Keys(v.passed)))))
	return s
}

func lacking(all, some []wake.Quantity) string {
	var names []string
	for _, q := range all {
		if !slices.Contains(some, q) {
			names = append(names, q.String())
		}
	}
	return strings.Join(names, " ")
}

// part lists the columns of a data set: the position, and each component of each
// array.
func (v *vtkReader) part(d *vtk.Dataset, at int) *vtkPart {
	p := &vtkPart{set: d, at: at, columnar: columnar{name: v.name, n: d.NumPoints(), word: "point", hidden: d.HiddenPoints, missing: true}}
	arrays := d.PointArrays
	if at == onCells {
		p.n, p.word, p.hidden, arrays = d.Cells.Len(), "cell", d.HiddenCells, d.CellArrays
	}
	p.col = p.column
	for a, letter := range []string{"x", "y", "z"} {
		p.add(heading{raw: letter, name: letter, meaning: meaning{q: wake.X + wake.Quantity(a)}, also: []string{"Points:" + strconv.Itoa(a), "Points_" + letter}}, nil, a)
	}
	for i := range arrays {
		v.array(p, &arrays[i])
	}
	if p.n > 0 {
		p.found, p.err = p.quantities(v.opt)
	}
	return p
}

func (p *vtkPart) add(h heading, a *vtk.Array, comp int) {
	// Positions come from the points; an array that looks like one is used when it
	// is asked for by name.
	if a != nil && h.q <= wake.Z {
		h.meaning = unknown
	}
	p.heads, p.arrays, p.comps = append(p.heads, h), append(p.arrays, a), append(p.comps, comp)
	p.fields = len(p.heads)
}

// tensors are the names of the components of arrays that have so many, and which of them
// are normal.
var tensors = map[int]struct {
	letters []string
	normal  [3]int
}{
	3: {[]string{"x", "y", "z"}, [3]int{-1, -1, -1}},
	6: {[]string{"xx", "yy", "zz", "xy", "yz", "xz"}, [3]int{0, 1, 2}},
	9: {[]string{"xx", "xy", "xz", "yx", "yy", "yz", "zx", "zy", "zz"}, [3]int{0, 4, 8}},
}

func (v *vtkReader) array(p *vtkPart, a *vtk.Array) {
	base := parseHeading(a.Name)
	if a.Components == 1 {
		base.also = []string{a.Name + ":0"}
		p.add(base, a, 0)
		return
	}
	tensor, known := tensors[a.Components]
	if a.Components == 6 {
		tensor.normal = v.symmetric(p, a)
	}
	for c := range a.Components {
		letter, own := strconv.Itoa(c), ""
		if known {
			letter = tensor.letters[c]
		}
		if c < len(a.ComponentNames) {
			own = strings.TrimSpace(a.ComponentNames[c])
		}
		m := unknown
		switch {
		case own != "" && vectorMeaning(a.Name, own).known():
			m = vectorMeaning(a.Name, own)
		case own != "" && !known && classify(own).vector == "":
			m = classify(own)
		case a.Components == 3:
			m = vectorMeaning(a.Name, letter)
		case known && slices.Contains(tensor.normal[:], c):
			m = vectorMeaning(a.Name, []string{"xx", "yy", "zz"}[slices.Index(tensor.normal[:], c)])
		}
		p.add(componentHead(a.Name, c, letter, own, m), a, c)
	}
}

// componentHead is the heading of component c of a vector or tensor, whose letter may be
// its number, and which the file may call own.
func componentHead(array string, c int, letter, own string, m meaning) heading {
	base, n := parseHeading(array), strconv.Itoa(c)
	h := heading{raw: array + ":" + n, name: base.name + "_" + letter, unit: base.unit, odd: base.odd, meaning: m}
	for _, name := range []string{array, base.name} {
		h.also = append(h.also, name+":"+n, name+":"+letter, name+"_"+letter, name+"["+n+"]")
		if own != "" {
			h.also = append(h.also, name+":"+own, name+"_"+own)
		}
	}
	h.also = slices.Compact(h.also)
	return h
}

// symmetric is where the normal components of a tensor of six are whose components have no
// names: the library's order is xx yy zz xy yz xz. Other writers have others, and a normal
// stress is nowhere negative.
func (v *vtkReader) symmetric(p *vtkPart, a *vtk.Array) [3]int {
	none, order := [3]int{-1, -1, -1}, [3]int{0, 1, 2}
	if !vectorMeaning(a.Name, "xx").known() || slices.ContainsFunc(a.ComponentNames, func(s string) bool { return vectorMeaning(a.Name, s).known() }) {
		return none
	}
	text := "the order xx yy zz xy yz xz is taken"
	for i, x := range a.Values {
		if i%6 < 3 && x < 0 {
			order, text = none, "one of the first three is negative somewhere, so these are no normal stresses, and all are left out"
		}
	}
	p.warnings = append(p.warnings, wake.Warning{Code: "tensor-order", Where: v.name, Text: fmt.Sprintf("the tensor %q names no components: %s", a.Name, text),
		Cure: "check the order, or name components with --column uu=\"" + a.Name + ":0\""})
	return order
}

func (p *vtkPart) column(field int) []float64 {
	step, values := 3, p.set.Points
	if a := p.arrays[field]; a != nil {
		step, values = a.Components, a.Values
	} else if p.at == onCells {
		if p.centres == nil {
			p.centres = cellCentres(p.set)
		}
		values = p.centres
	}
	out := make([]float64, p.n)
	for i := range out {
		out[i] = values[i*step+p.comps[field]]
	}
	return out
}

// cellCentres gives the centre of area of each polygon: triangles of the fan from
// the first corner, weighted with their areas along the polygon's own normal.
func cellCentres(d *vtk.Dataset) []float64 {
	out := make([]float64, 0, 3*d.Cells.Len())
	at := func(id int32) r3.Vec {
		p := d.Points[3*int(id):]
		return r3.Vec{X: p[0], Y: p[1], Z: p[2]}
	}
	for e := range d.Cells.Len() {
		ids := d.Cells.Corners(e)
		o := at(ids[0])
		fan := func(do func(area, sides r3.Vec)) {
			for k := 2; k < len(ids); k++ {
				p, q := r3.Sub(at(ids[k-1]), o), r3.Sub(at(ids[k]), o)
				do(r3.Cross(p, q), r3.Add(p, q))
			}
		}
		var normal, s r3.Vec
		fan(func(area, _ r3.Vec) { normal = r3.Add(normal, area) })
		sum := 0.0
		fan(func(area, sides r3.Vec) {
			w := r3.Dot(area, normal)
			sum += w
			c := r3.Scale(w, sides)
			s = r3.Add(s, r3.Vec{X: c.X / 3, Y: c.Y / 3, Z: c.Z / 3})
		})
		if !(sum > 0) {
			sum, s = float64(len(ids)), r3.Vec{}
			for _, id := range ids {
				s = r3.Add(s, r3.Sub(at(id), o))
			}
		}
		out = append(out, o.X+s.X/sum, o.Y+s.Y/sum, o.Z+s.Z/sum)
	}
	return out
}

// samples reads the part and gives it its polygons.
func (p *vtkPart) samples(opt *Options) *wake.Samples {
	s, keep, l := p.columnar.samples(opt)
	s.Warnings = append(p.warnings, s.Warnings...)
	d := p.set
	if d.Cells.Len() == 0 {
		return s
	}
	s.Elements = &wake.Elements{Start: d.Cells.Start, Index: d.Cells.Index}
	if s.CellValues = p.at == onCells; s.CellValues {
		if keep != nil {
			s.Elements = pickCells(s.Elements, keep)
		}
		s.Elements.Corner = p.corners(l)
		return s
	}
	if d.HiddenCells != nil {
		var shown []int32
		for k, hidden := range d.HiddenCells {
			if !hidden {
				shown = append(shown, int32(k))
			}
		}
		s.Elements = pickCells(s.Elements, shown)
	}
	if keep != nil {
		open := 0
		if s.Elements, open = renumber(s.Elements, inverse(keep, d.NumPoints())); open > 0 {
			s.Warnings = append(s.Warnings, wake.Warning{Code: "polygons-without-values", Where: p.name,
				Text: fmt.Sprintf("%d of %d polygons are left out, as a value is missing at a corner", open, d.Cells.Len()), Cure: "export values at all points"})
		}
	}
	return s
}

// corners takes the points to SI and into the program's frame, as the position columns
// say.
func (p *vtkPart) corners(l *layout) [][3]float64 {
	out := make([][3]float64, p.set.NumPoints())
	for a, c := range l.cols[:3] {
		if c.field >= 0 && p.arrays[c.field] != nil {
			refuse(p.name, 0, 0, fmt.Sprintf("--column %s takes the position of cells from the array %q, but their corners are points of the file", wake.Quantity(a), p.arrays[c.field].Name),
				"leave the option out, or export values on points")
		}
		for i := range out {
			if out[i][a] = c.value; c.field >= 0 {
				out[i][a] = wake.Scale(p.set.Points[3*i+p.comps[c.field]], c.factor)
			}
		}
	}
	for i, v := range out {
		out[i] = l.opt.Frame.Vector(v)
	}
	return out
}
