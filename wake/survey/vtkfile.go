package survey

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"wakeledger/wake"
	"wakeledger/wake/survey/vtk"
)

// readVTK reads a file of a VTK format, and the files that an index names.
//
// Arrays are matched to quantities by the rules that hold for headers. An array
// of three components is a vector, one of six or nine a tensor of which the normal
// components are used. Values on points and values on cells cannot be mixed: the
// place that holds more quantities is taken, the points where both hold as many.
func readVTK(ctx context.Context, t *text, opt *Options) (*wake.Samples, error) {
	data, err := t.all()
	if err != nil {
		return nil, err
	}
	var open func(rel string) ([]byte, error)
	if t.disk {
		open = func(rel string) ([]byte, error) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			name := filepath.Join(filepath.Dir(t.name), filepath.FromSlash(rel))
			steady := Steady(name)
			m, err := openFile(name)
			if err != nil {
				return nil, err
			}
			defer m.Close()
			b, err := m.all()
			if err == nil {
				err = steady()
			}
			return b, err
		}
	}
	v := &vtkReader{name: t.name, opt: opt, passed: map[string]bool{}}
	sets, err := vtk.Read(t.name, data, open, v.wants)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return v.samples(sets)
}

type vtkReader struct {
	name string
	opt  *Options
	mu   sync.Mutex
	// passed are the arrays that were not asked for.
	passed map[string]bool
}

// wants reports whether an array can be of use.
func (v *vtkReader) wants(array string) bool {
	if parseHeading(array).known() || vectorMeaning(array, "x").known() || vectorMeaning(array, "xx").known() {
		return true
	}
	for _, w := range wantedNames(v.opt) {
		if len(w) >= len(array) && strings.EqualFold(w[:len(array)], array) || strings.EqualFold(w, parseHeading(array).name) {
			return true
		}
		if h := parseHeading(array); h.name != "" && len(w) >= len(h.name) && strings.EqualFold(w[:len(h.name)], h.name) {
			return true
		}
	}
	v.mu.Lock()
	v.passed[array] = true
	v.mu.Unlock()
	return false
}

// vectorMeaning is what a component of a vector or tensor array is.
func vectorMeaning(array, component string) meaning {
	m := classify(parseHeading(array).name + "_" + component)
	if m.vector != "" {
		return unknown
	}
	return m
}

// place says what the values of a data set belong to.
type place uint8

const (
	onPoints place = iota
	onCells
)

func (p place) String() string { return [...]string{"points", "cells"}[p] }

// vtkPart is a data set seen as columns.
type vtkPart struct {
	set      *vtk.Dataset
	at       place
	heads    []heading
	arrays   []*vtk.Array // of each column, nil for the position
	comps    []int
	centres  []float64
	warnings []wake.Warning
}

// samples picks the place, reads each data set and joins them.
func (v *vtkReader) samples(sets []*vtk.Dataset) (*wake.Samples, error) {
	var best [2][]wake.Quantity
	var failure [2]error
	fits := [2]bool{}
	for at := onPoints; at <= onCells; at++ {
		for _, d := range sets {
			p := v.part(d, at)
			if at == onCells && d.Cells.Len() == 0 || p.rows() == 0 {
				continue
			}
			found, err := p.columnar(v.name).quantities(v.opt)
			if err != nil {
				if failure[at] == nil {
					failure[at] = err
				}
				continue
			}
			fits[at] = true
			if len(found) > len(best[at]) {
				best[at] = found
			}
		}
	}
	at := onPoints
	for at := onPoints; at <= onCells; at++ {
		// A place that holds nothing is no way round the other one's fault.
		if failure[at] != nil && len(best[onPoints+onCells-at]) == 0 {
			return nil, failure[at]
		}
	}
	switch {
	case !fits[onPoints] && !fits[onCells]:
		return nil, &wake.InputError{File: v.name, Text: "there are no points", Cure: "export a plane with values"}
	case !fits[onPoints], fits[onCells] && len(best[onCells]) > len(best[onPoints]):
		at = onCells
	}
	other := onPoints + onCells - at
	out := &wake.Samples{File: v.name, CellValues: at == onCells}
	first := true
	for _, d := range sets {
		p := v.part(d, at)
		what := d.Name
		if what == "" {
			what = d.File
		}
		for _, n := range d.Notes {
			out.Warnings = append(out.Warnings, wake.Warning{Code: "file-note", Where: v.where(d), Text: n, Cure: "check the export"})
		}
		var found []wake.Quantity
		var err error
		if p.rows() > 0 {
			found, err = p.columnar(v.name).quantities(v.opt)
		}
		if p.rows() == 0 || err != nil || !slices.Equal(found, best[at]) {
			lacks := "it has no " + at.String()
			if p.rows() > 0 {
				lacks = "it lacks " + lacking(best[at], found)
			}
			out.Warnings = append(out.Warnings, wake.Warning{Code: "block-left-out", Where: v.where(d),
				Text: fmt.Sprintf("the block %s is left out: %s", strconv.Quote(what), lacks), Cure: "export all blocks with the same arrays, or without those that do not belong to the plane"})
			continue
		}
		s, err := p.samples(v.name, v.opt)
		if err != nil {
			return nil, err
		}
		s.Warnings = append(p.warnings, s.Warnings...)
		if err := appendSamples(out, s, first); err != nil {
			return nil, err
		}
		first = false
	}
	if more := lacking(best[other], best[at]); more != "" {
		out.Warnings = append(out.Warnings, wake.Warning{Code: "other-values", Where: v.name,
			Text: fmt.Sprintf("%s on %s left out, since the other values are on %s", more, other, at), Cure: "export all values on points, or all on cells"})
	} else if len(best[other]) > 0 {
		out.Warnings = append(out.Warnings, wake.Warning{Code: "other-values", Where: v.name,
			Text: fmt.Sprintf("there are values on points and on cells; those on %s are used", at), Cure: "export one kind to be sure"})
	}
	for n := range v.passed {
		out.Ignored = append(out.Ignored, n)
	}
	slices.Sort(out.Ignored)
	out.Ignored = slices.Compact(out.Ignored)
	return out, nil
}

// where names a block in warnings.
func (v *vtkReader) where(d *vtk.Dataset) string {
	if d.Name != "" {
		return v.name + " " + strconv.Quote(d.Name)
	}
	return v.name
}

// lacking lists the quantities of all that some lacks.
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
func (v *vtkReader) part(d *vtk.Dataset, at place) *vtkPart {
	p := &vtkPart{set: d, at: at}
	for a, letter := range []string{"x", "y", "z"} {
		p.add(heading{raw: letter, name: letter, meaning: meaning{q: wake.X + wake.Quantity(a)}, also: []string{"Points:" + strconv.Itoa(a), "Points_" + letter}}, nil, a)
	}
	arrays := d.PointArrays
	if at == onCells {
		arrays = d.CellArrays
	}
	for i := range arrays {
		v.array(p, &arrays[i])
	}
	return p
}

func (p *vtkPart) add(h heading, a *vtk.Array, comp int) {
	// Positions come from the points; an array that looks like one is used when it
	// is asked for by name.
	if a != nil && h.q <= wake.Z {
		h.meaning = unknown
	}
	p.heads = append(p.heads, h)
	p.arrays = append(p.arrays, a)
	p.comps = append(p.comps, comp)
}

func (v *vtkReader) array(p *vtkPart, a *vtk.Array) {
	base := parseHeading(a.Name)
	if a.Components == 1 {
		base.also = []string{a.Name + ":0"}
		p.add(base, a, 0)
		return
	}
	letters := []string{"x", "y", "z"}
	normal := [3]int{-1, -1, -1}
	switch a.Components {
	case 6:
		letters = []string{"xx", "yy", "zz", "xy", "yz", "xz"}
		normal = v.symmetric(p, a)
	case 9:
		letters = []string{"xx", "xy", "xz", "yx", "yy", "yz", "zx", "zy", "zz"}
		normal = [3]int{0, 4, 8}
	}
	for c := range a.Components {
		letter := strconv.Itoa(c)
		own := ""
		if c < len(a.ComponentNames) {
			own = strings.TrimSpace(a.ComponentNames[c])
		}
		m := unknown
		if len(letters) == a.Components {
			letter = letters[c]
		}
		switch {
		case own != "" && vectorMeaning(a.Name, own).known():
			m = vectorMeaning(a.Name, own)
		case own != "" && a.Components != 3 && a.Components != 6 && a.Components != 9 && classify(own).vector == "":
			m = classify(own)
		case a.Components == 3:
			m = vectorMeaning(a.Name, letter)
		case slices.Contains(normal[:], c):
			m = vectorMeaning(a.Name, []string{"xx", "yy", "zz"}[slices.Index(normal[:], c)])
		}
		n := strconv.Itoa(c)
		h := heading{raw: a.Name + ":" + n, name: base.name + "_" + letter, unit: base.unit, odd: base.odd, meaning: m}
		for _, name := range []string{a.Name, base.name} {
			h.also = append(h.also, name+":"+n, name+":"+letter, name+"_"+letter, name+"["+n+"]")
			if own != "" {
				h.also = append(h.also, name+":"+own, name+"_"+own)
			}
		}
		h.also = slices.Compact(h.also)
		p.add(h, a, c)
	}
}

// symmetric finds the normal components of a tensor of six. The library's own
// order is xx yy zz xy yz xz; some writers keep xx xy xz yy yz zz. Component names
// decide; else the order in which all three are nowhere negative, as normal
// stresses are, and the library's when that is so for both.
func (v *vtkReader) symmetric(p *vtkPart, a *vtk.Array) [3]int {
	none := [3]int{-1, -1, -1}
	if !vectorMeaning(a.Name, "xx").known() {
		return none
	}
	if len(a.ComponentNames) == 6 && slices.ContainsFunc(a.ComponentNames, func(s string) bool { return vectorMeaning(a.Name, s).known() }) {
		return none // settled by name
	}
	negative := [6]bool{}
	for i, x := range a.Values {
		if x < 0 {
			negative[i%6] = true
		}
	}
	say := func(text string) {
		p.warnings = append(p.warnings, wake.Warning{Code: "tensor-order", Where: v.where(p.set), Text: fmt.Sprintf("the tensor %q names no components: %s", a.Name, text),
			Cure: "check the order, or name components with --column uu=\"" + a.Name + ":0\""})
	}
	switch {
	case negative[0]:
		say("its first one is negative somewhere, so it holds no normal stress and is left out")
		return none
	case !negative[1] && !negative[2]:
		say("the order xx yy zz xy yz xz is taken")
		return [3]int{0, 1, 2}
	case !negative[3] && !negative[5]:
		say("the order xx xy xz yy yz zz is taken, as the second or third one is negative somewhere")
		return [3]int{0, 3, 5}
	}
	say("xx is taken for the first one; yy and zz are not told apart, as no order has them nowhere negative")
	return [3]int{0, -1, -1}
}

func (p *vtkPart) rows() int {
	if p.at == onCells {
		return p.set.Cells.Len()
	}
	return p.set.NumPoints()
}

// columnar is the part as columns.
func (p *vtkPart) columnar(name string) *columnar {
	c := &columnar{name: name, heads: p.heads, fields: len(p.heads), n: p.rows(), word: "point", hidden: p.set.HiddenPoints, missing: true, col: p.column}
	if p.at == onCells {
		c.word, c.hidden = "cell", p.set.HiddenCells
	}
	return c
}

// column copies one column.
func (p *vtkPart) column(field int) []float64 {
	n, step, values := p.rows(), 3, p.set.Points
	if a := p.arrays[field]; a != nil {
		step, values = a.Components, a.Values
	} else if p.at == onCells {
		if p.centres == nil {
			p.centres = cellCentres(p.set)
		}
		values = p.centres
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = values[i*step+p.comps[field]]
	}
	return out
}

// cellCentres gives the centre of area of each polygon: triangles of the fan from
// the first corner, weighted with their areas along the polygon's own normal.
func cellCentres(d *vtk.Dataset) []float64 {
	out := make([]float64, 0, 3*d.Cells.Len())
	at := func(id int32) [3]float64 { return [3]float64(d.Points[3*int(id):]) }
	for e := range d.Cells.Len() {
		ids := d.Cells.Corners(e)
		o := at(ids[0])
		var normal [3]float64
		fan := func(do func(p, q, n [3]float64)) {
			for k := 2; k < len(ids); k++ {
				p, q := at(ids[k-1]), at(ids[k])
				for a := range o {
					p[a] -= o[a]
					q[a] -= o[a]
				}
				do(p, q, [3]float64{p[1]*q[2] - p[2]*q[1], p[2]*q[0] - p[0]*q[2], p[0]*q[1] - p[1]*q[0]})
			}
		}
		fan(func(_, _, n [3]float64) {
			for a := range normal {
				normal[a] += n[a]
			}
		})
		var sum float64
		var s [3]float64
		fan(func(p, q, n [3]float64) {
			w := n[0]*normal[0] + n[1]*normal[1] + n[2]*normal[2]
			sum += w
			for a := range s {
				s[a] += w * (p[a] + q[a]) / 3
			}
		})
		if !(sum > 0) {
			sum, s = float64(len(ids)), [3]float64{}
			for _, id := range ids {
				for a, x := range at(id) {
					s[a] += x - o[a]
				}
			}
		}
		for a := range o {
			out = append(out, o[a]+s[a]/sum)
		}
	}
	return out
}

// samples reads the part and gives it its polygons.
func (p *vtkPart) samples(name string, opt *Options) (*wake.Samples, error) {
	s, keep, l, err := p.columnar(name).samples(opt)
	if err != nil {
		return nil, err
	}
	s.CellValues = p.at == onCells
	d := p.set
	if d.Cells.Len() == 0 {
		return s, nil
	}
	e := &wake.Elements{Start: []int32{0}}
	if s.CellValues {
		if e.Corner, err = p.corners(name, &l.cols); err != nil {
			return nil, err
		}
		for i, v := range e.Corner {
			e.Corner[i] = opt.Frame.Vector(v)
		}
		rows := s.N
		for i := range rows {
			r := i
			if keep != nil {
				r = int(keep[i])
			}
			e.Index = append(e.Index, d.Cells.Corners(r)...)
			e.Start = append(e.Start, int32(len(e.Index)))
		}
		s.Elements = e
		return s, nil
	}
	renumber := make([]int32, d.NumPoints())
	for i := range renumber {
		renumber[i] = int32(i)
	}
	if keep != nil {
		for i := range renumber {
			renumber[i] = -1
		}
		for i, r := range keep {
			renumber[r] = int32(i)
		}
	}
	open := 0
	for k := range d.Cells.Len() {
		ids := d.Cells.Corners(k)
		if d.HiddenCells != nil && d.HiddenCells[k] {
			continue
		}
		if slices.ContainsFunc(ids, func(id int32) bool { return renumber[id] < 0 }) {
			open++
			continue
		}
		for _, id := range ids {
			e.Index = append(e.Index, renumber[id])
		}
		e.Start = append(e.Start, int32(len(e.Index)))
	}
	if open > 0 {
		s.Warnings = append(s.Warnings, wake.Warning{Code: "polygons-without-values", Where: name,
			Text: fmt.Sprintf("%d of %d polygons are left out, as a value is missing at a corner", open, d.Cells.Len()), Cure: "export values at all points"})
	}
	s.Elements = e
	return s, nil
}

// corners takes the points to SI, as the position columns say.
func (p *vtkPart) corners(name string, cols *[wake.NumQuantities]column) ([][3]float64, error) {
	out := make([][3]float64, p.set.NumPoints())
	for a := range 3 {
		c := cols[a]
		switch {
		case c.field < 0:
			for i := range out {
				out[i][a] = c.value
			}
		case p.arrays[c.field] == nil:
			for i := range out {
				out[i][a] = wake.Scale(p.set.Points[3*i+p.comps[c.field]], c.factor)
			}
		default:
			return nil, &wake.InputError{File: name, Text: fmt.Sprintf("--column %s takes the position of cells from the array %q, but their corners are points of the file", wake.Quantity(a), p.arrays[c.field].Name),
				Cure: "leave the option out, or export values on points"}
		}
	}
	return out, nil
}

// appendSamples joins the blocks of one file.
func appendSamples(to, s *wake.Samples, first bool) error {
	if to.N+s.N > math.MaxInt32 {
		return &wake.InputError{File: to.File, Text: "holds more than 2147483647 samples", Cure: "export fewer samples"}
	}
	for q := range s.Col {
		if s.Col[q] == nil {
			continue
		}
		if first {
			to.Col[q], to.Source[q] = s.Col[q], s.Source[q]
		} else {
			to.Col[q] = append(to.Col[q], s.Col[q]...)
		}
	}
	switch {
	case first:
		to.Elements = s.Elements
	case (to.Elements == nil) != (s.Elements == nil):
		return &wake.InputError{File: to.File, Text: "one block has polygons and another one has points alone", Cure: "export all blocks with their polygons"}
	case s.Elements != nil:
		base, off := int32(to.N), int32(len(to.Elements.Index))
		if s.CellValues {
			base = int32(len(to.Elements.Corner))
		}
		to.Elements.Corner = append(to.Elements.Corner, s.Elements.Corner...)
		for _, id := range s.Elements.Index {
			to.Elements.Index = append(to.Elements.Index, id+base)
		}
		for _, k := range s.Elements.Start[1:] {
			to.Elements.Start = append(to.Elements.Start, k+off)
		}
	}
	to.N += s.N
	to.Dropped += s.Dropped
	for _, w := range s.Warnings {
		if !slices.Contains(to.Warnings, w) {
			to.Warnings = append(to.Warnings, w)
		}
	}
	for _, n := range s.Ignored {
		if !slices.Contains(to.Ignored, n) {
			to.Ignored = append(to.Ignored, n)
		}
	}
	return nil
}
