package survey

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"wakeledger/grid"
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

// Places that values of a data set belong to.
const (
	onPoints = iota
	onCells
)

var places = [...]string{"points", "cells"}

type vtkPart struct {
	columnar
	set   *vtk.Dataset
	at    int
	found []wake.Quantity // besides the positions
	err   error           // of columns that cannot be settled
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
	if len(other.found) > 0 {
		warn("other-values", fmt.Sprintf("there are values on points and on cells; those on %s are used, %v on %s left out", places[use.at], other.found, places[other.at]), "export all values on points, or all on cells")
	}
	s.Warnings = append(s.Warnings, notes...)
	s.Ignored = slices.Compact(slices.Sorted(slices.Values(slices.AppendSeq(s.Ignored, maps.Keys(v.passed)))))
	return s
}

// part lists the columns of a data set: the position, and each component of each
// array.
func (v *vtkReader) part(d *vtk.Dataset, at int) *vtkPart {
	p := &vtkPart{set: d, at: at, columnar: columnar{name: v.name, n: d.NumPoints(), word: "point", missing: true}}
	arrays, places := d.PointArrays, func() []float64 { return d.Points }
	if at == onCells {
		p.n, p.word, arrays = d.Cells.Len(), "cell", d.CellArrays
		places = sync.OnceValue(func() []float64 { return cellCentres(d) })
	}
	if p.n == 0 {
		return p
	}
	for a, letter := range []string{"x", "y", "z"} {
		p.add(heading{raw: letter, name: letter, meaning: meaning{q: wake.X + wake.Quantity(a)}},
			func() []float64 { return every(places()[a:], 3) })
	}
	for _, a := range arrays {
		p.addArray(array{a.Name, a.Components, a.ComponentNames, func(c int) []float64 { return every(a.Values[c:], a.Components) }})
	}
	// Positions come from the points; an array that looks like one is used when it is
	// asked for by name.
	for k := range p.heads[3:] {
		if h := &p.heads[3+k]; h.q <= wake.Z {
			h.meaning = unknown
		}
	}
	p.err = wake.Attempt(func() {
		for _, q := range p.layout(v.opt).quantity {
			if q > wake.Z {
				p.found = append(p.found, q)
			}
		}
	})
	return p
}

// every takes one value of so many.
func every(v []float64, step int) []float64 {
	return grid.Fill((len(v)+step-1)/step, func(i int) float64 { return v[i*step] })
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
		var normal, s r3.Vec
		sum := 0.0
		for k := 2; k < len(ids); k++ {
			normal = r3.Add(normal, r3.Cross(r3.Sub(at(ids[k-1]), o), r3.Sub(at(ids[k]), o)))
		}
		for k := 2; k < len(ids); k++ {
			p, q := r3.Sub(at(ids[k-1]), o), r3.Sub(at(ids[k]), o)
			w := r3.Dot(r3.Cross(p, q), normal)
			sum += w
			c := r3.Scale(w, r3.Add(p, q))
			s = r3.Add(s, r3.Vec{X: c.X / 3, Y: c.Y / 3, Z: c.Z / 3})
		}
		if !(sum > 0) {
			s, sum = r3.Vec{}, 1 // no area: the corner
		}
		out = append(out, o.X+s.X/sum, o.Y+s.Y/sum, o.Z+s.Z/sum)
	}
	return out
}

// samples reads the part and gives it its polygons.
func (p *vtkPart) samples(opt *Options) *wake.Samples {
	s, keep, l := p.columnar.samples(opt)
	d := p.set
	if d.Cells.Len() == 0 {
		return s
	}
	open := 0
	s.CellValues, s.Elements = p.at == onCells, &wake.Elements{Start: d.Cells.Start, Index: d.Cells.Index}
	if keep != nil {
		s.Elements, open = choose(s.Elements, s.CellValues, keep, d.NumPoints())
	}
	if s.CellValues {
		s.Elements.Corner = p.corners(l)
	}
	if open > 0 {
		s.Warnings = append(s.Warnings, wake.Doubt("polygons-without-values", p.name, "export values at all points",
			"%d of %d polygons are left out, as a value is missing at a corner", open, d.Cells.Len()))
	}
	return s
}

// corners takes the points to SI and into the program's frame, as the position columns
// say.
func (p *vtkPart) corners(l *layout) [][3]float64 {
	out := make([][3]float64, p.set.NumPoints())
	for a, c := range l.cols[:3] {
		if c.field >= 3 {
			refuse(p.name, 0, 0, fmt.Sprintf("--column %s takes the position of cells from the array %q, but their corners are points of the file", wake.Quantity(a), p.heads[c.field].raw),
				"leave the option out, or export values on points")
		}
		for i := range out {
			if out[i][a] = c.value; c.field >= 0 {
				out[i][a] = wake.Scale(p.set.Points[3*i+c.field], c.Factor)
			}
		}
	}
	for i, v := range out {
		out[i] = l.opt.Frame.Vector(v)
	}
	return out
}
