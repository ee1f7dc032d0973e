package vtk

import (
	"fmt"
	"math"
	"slices"
)

func assemble(s *source, ps []*piece) *Dataset {
	d := &Dataset{}
	var full []*piece
	total := 0
	for i, p := range ps {
		for _, n := range p.notes {
			if len(ps) > 1 {
				n = fmt.Sprintf("piece %d: %s", i+1, n)
			}
			d.Notes = append(d.Notes, n)
		}
		if p.nPoints == 0 && p.rows == 0 {
			continue
		}
		if p.kind.gridded() {
			p.unroll()
		}
		full = append(full, p)
		total += p.nPoints
	}
	s.failIf(total > maxCount, 0, "export fewer points to a file", "%d points in all pieces", total)
	if len(full) == 1 {
		d.Points = full[0].points
	} else {
		d.Points = make([]float64, 0, 3*total)
		for _, p := range full {
			d.Points = append(d.Points, p.points...)
			p.points = nil
		}
	}
	d.PointArrays = d.joinArrays(full, "point", func(p *piece) ([]Array, int) { return p.point, p.nPoints })
	d.CellArrays = d.joinArrays(full, "cell", func(p *piece) ([]Array, int) { return p.cell, p.rows })
	b := d.builder(full)
	for _, p := range full {
		for i := range p.groups {
			b.add(p.src, &p.groups[i], p.nPoints)
		}
		p.groups = nil
		b.base += int32(p.nPoints)
	}
	d.Cells = b.Polygons
	for i := 0; !b.same && i < len(d.CellArrays); i++ {
		pick(&d.CellArrays[i], b.row)
	}
	if b.noArea > 0 {
		d.Notes = append(d.Notes, "left out with their values, since they have no area: "+plural(b.noArea, "cell"))
	}
	switch {
	case d.NumPoints() == 0:
		d.Notes = append(d.Notes, "there are no points")
	case d.Cells.Len() == 0:
		d.Notes = append(d.Notes, "there are no cells with an area, only "+plural(d.NumPoints(), "point"))
	}
	return d
}

// joinArrays puts the arrays of the pieces one behind the other, in the order in which
// they first appear; NaN, and a note, where a piece lacks one.
func (d *Dataset) joinArrays(ps []*piece, word string, of func(p *piece) (arrays []Array, rows int)) (out []Array) {
	first := map[string]string{} // file that has the array
	total := 0
	for _, p := range ps {
		arrays, rows := of(p)
		total += rows
		for _, a := range arrays {
			o := find(out, a.Name)
			if o == nil {
				first[a.Name] = p.src.name
				out = append(out, Array{Name: a.Name, Components: a.Components, ComponentNames: a.ComponentNames})
				continue
			}
			p.src.failIf(a.Components != o.Components, p.off, "export all pieces with the same arrays", "the %s array %s has %d components here, %d in %s", word, quote(a.Name), a.Components, o.Components, first[a.Name])
		}
	}
	if len(ps) == 1 {
		out, _ = of(ps[0])
		return out
	}
	for k := range out {
		o, lacking, all := &out[k], 0, 0
		o.Values = make([]float64, 0, total*o.Components)
		for _, p := range ps {
			arrays, rows := of(p)
			a := find(arrays, o.Name)
			if rows > 0 {
				all++
			}
			switch {
			case a != nil:
				o.Values, a.Values = append(o.Values, a.Values...), nil
			case rows > 0:
				lacking++
				o.Values = appendNaN(o.Values, rows*o.Components)
			}
		}
		if lacking > 0 && !marks(o.Name) {
			d.Notes = append(d.Notes, fmt.Sprintf("%d of %d pieces lack the %s array %s; its values there are NaN", lacking, all, word, quote(o.Name)))
		}
	}
	return out
}

func appendNaN(v []float64, n int) []float64 {
	for range n {
		v = append(v, math.NaN())
	}
	return v
}

// builder uses up the marks: what must not be used has no value, and no polygon.
func (d *Dataset) builder(ps []*piece) *polygonBuilder {
	rows := 0
	for _, p := range ps {
		rows += p.rows
	}
	b := &polygonBuilder{Polygons: Polygons{Start: []int32{0}}, same: true, blank: make([]bool, d.NumPoints()), hidden: make([]bool, rows)}
	each := func(as *[]Array, name string, f func(i int, v float64)) {
		k := slices.IndexFunc(*as, func(a Array) bool { return a.Name == name })
		if k < 0 {
			return
		}
		a := (*as)[k]
		*as = slices.Delete(slices.Clone(*as), k, k+1)
		for i := range len(a.Values) / a.Components {
			f(i, a.Values[i*a.Components])
		}
	}
	masked, infinite := 0, 0
	each(&d.PointArrays, ghostType, func(i int, v float64) { b.blank[i] = ghost(v)&2 != 0 })
	each(&d.PointArrays, validMask, func(i int, v float64) {
		if v == 0 {
			b.blank[i] = true
			masked++
		}
	})
	each(&d.CellArrays, ghostType, func(i int, v float64) { b.hidden[i] = ghost(v)&(1|8|32) != 0 })
	for i := range b.blank {
		if x := d.Points[3*i : 3*i+3]; x[0]-x[0] != 0 || x[1]-x[1] != 0 || x[2]-x[2] != 0 {
			b.blank[i] = true
			infinite++
		}
		if b.blank[i] {
			appendNaN(d.Points[3*i:3*i], 3)
		}
	}
	for _, k := range []struct {
		n   int
		why string
	}{{masked, validMask + " marks them invalid"}, {infinite, "a coordinate is not finite"}} {
		if k.n > 0 {
			d.Notes = append(d.Notes, fmt.Sprintf("left out, since %s: %d of %s", k.why, k.n, plural(d.NumPoints(), "point")))
		}
	}
	return b
}

// ghost is the mark that a value of the array is; pieces that lack the array have none.
func ghost(v float64) int {
	if !(v >= 0 && v <= 255) {
		return 0
	}
	return int(v)
}

func plural(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}
