package vtk

import (
	"fmt"
	"math"
	"strings"
)

// assemble joins the pieces of a data set.
func assemble(s *source, name string, k kind, ps []*piece) (*Dataset, error) {
	d := &Dataset{Name: name, File: s.name, Kind: k.String()}
	for i, p := range ps {
		for _, n := range p.notes {
			if len(ps) > 1 {
				n = fmt.Sprintf("piece %d: %s", i+1, n)
			}
			d.Notes = append(d.Notes, n)
		}
	}
	var full []*piece
	for _, p := range ps {
		if p.nPoints > 0 || !k.gridded() && p.rows > 0 {
			full = append(full, p)
		}
	}
	var err error
	if k.gridded() {
		err = d.joinGrids(s, full)
	} else {
		err = d.joinCells(s, full)
	}
	if err != nil {
		return nil, err
	}
	d.finish()
	return d, nil
}

// joinCells puts the pieces one behind the other.
func (d *Dataset) joinCells(s *source, ps []*piece) error {
	total := 0
	for _, p := range ps {
		total += p.nPoints
	}
	if total > maxCount {
		return s.fail(0, "export fewer points to a file", "%d points in all pieces", total)
	}
	b := newPolygonBuilder(ps)
	base := 0
	for _, p := range ps {
		for i := range p.groups {
			if err := b.add(p.src, &p.groups[i], base, p.nPoints); err != nil {
				return err
			}
		}
		p.groups = nil
		base += p.nPoints
	}
	d.Cells = b.Polygons
	d.Notes = append(d.Notes, b.notes()...)
	if len(ps) == 1 {
		d.Points = ps[0].points
	} else {
		d.Points = make([]float64, 0, 3*total)
		for _, p := range ps {
			d.Points = append(d.Points, p.points...)
			p.points = nil
		}
	}
	points := make([]int, len(ps))
	cells := make([]int, len(ps))
	for i, p := range ps {
		points[i], cells[i] = p.nPoints, p.rows
	}
	var err error
	if d.PointArrays, err = d.joinArrays(ps, points, "point", func(p *piece) *[]Array { return &p.point }); err != nil {
		return err
	}
	if d.CellArrays, err = d.joinArrays(ps, cells, "cell", func(p *piece) *[]Array { return &p.cell }); err != nil {
		return err
	}
	if !b.same {
		for i := range d.CellArrays {
			pick(&d.CellArrays[i], b.row)
		}
	}
	return nil
}

// names lists the arrays of all pieces in the order in which they first appear,
// with the piece that has them first, and notes those that some pieces lack.
func (d *Dataset) names(ps []*piece, rows []int, word string, arrays func(*piece) *[]Array) ([]Array, error) {
	var out []Array
	index := map[string]int{}
	seen := []int{}
	first := []*piece{}
	counted := 0
	for i, p := range ps {
		if rows[i] > 0 {
			counted++
		}
		for _, a := range *arrays(p) {
			k, ok := index[a.Name]
			if !ok {
				k = len(out)
				index[a.Name] = k
				out = append(out, Array{Name: a.Name, Components: a.Components, ComponentNames: a.ComponentNames})
				seen = append(seen, 0)
				first = append(first, p)
			}
			seen[k]++
			if a.Components != out[k].Components {
				return nil, p.src.fail(p.off, "export all pieces with the same arrays", "the %s array %s has %d components here, %d in %s", word, quote(a.Name), a.Components, out[k].Components, first[k].src.name)
			}
		}
	}
	for k, a := range out {
		if seen[k] < counted && !marks(a.Name) {
			d.Notes = append(d.Notes, fmt.Sprintf("%d of %d pieces lack the %s array %s; its values there are NaN", counted-seen[k], counted, word, quote(a.Name)))
		}
	}
	return out, nil
}

// joinArrays puts the arrays of the pieces one behind the other, freeing each as
// it goes.
func (d *Dataset) joinArrays(ps []*piece, rows []int, word string, arrays func(*piece) *[]Array) ([]Array, error) {
	out, err := d.names(ps, rows, word, arrays)
	if err != nil || len(ps) == 1 {
		if err == nil {
			out = *arrays(ps[0])
		}
		return out, err
	}
	total := 0
	for _, n := range rows {
		total += n
	}
	for k := range out {
		c := out[k].Components
		v := make([]float64, 0, total*c)
		for i, p := range ps {
			if a := find(*arrays(p), out[k].Name); a != nil {
				v = append(v, a.Values...)
				a.Values = nil
				continue
			}
			for range rows[i] * c {
				v = append(v, math.NaN())
			}
		}
		out[k].Values = v
	}
	return out, nil
}

// finish uses up the marks, hides what must not be used and takes out polygons
// that are there twice.
func (d *Dataset) finish() {
	nPoints, nCells := d.NumPoints(), d.Cells.Len()
	hiddenPoint := make([]bool, nPoints)
	hiddenCell := make([]bool, nCells)
	blankPoint := make([]bool, nPoints) // whose values mean nothing
	blankCell := make([]bool, nCells)

	masked := 0
	if g := take(&d.PointArrays, ghostType); g != nil {
		for i := range hiddenPoint {
			if ghost(g, i)&2 != 0 {
				hiddenPoint[i], blankPoint[i] = true, true
			}
		}
	}
	if g := take(&d.PointArrays, validMask); g != nil {
		for i := range hiddenPoint {
			if g.Values[i*g.Components] == 0 {
				hiddenPoint[i], blankPoint[i] = true, true
				masked++
			}
		}
	}
	if g := take(&d.CellArrays, ghostType); g != nil {
		for i := range hiddenCell {
			b := ghost(g, i)
			hiddenCell[i] = b&(1|8|32) != 0
			blankCell[i] = b&32 != 0
		}
	}
	if g := take(&d.CellArrays, ghostLevel); g != nil {
		for i := range hiddenCell {
			if ghost(g, i) > 0 {
				hiddenCell[i] = true
			}
		}
	}
	take(&d.PointArrays, ghostLevel)
	if masked > 0 {
		d.Notes = append(d.Notes, fmt.Sprintf("hidden, their values NaN, since %s marks them invalid: %d of %s", validMask, masked, plural(nPoints, "point")))
	}
	infinite := 0
	for i := range hiddenPoint {
		s := d.Points[3*i] + d.Points[3*i+1] + d.Points[3*i+2]
		if s-s != 0 {
			// The sum may overflow where the coordinates do not.
			for _, v := range d.Points[3*i : 3*i+3] {
				if v-v != 0 {
					hiddenPoint[i] = true
					infinite++
					break
				}
			}
		}
	}
	if infinite > 0 {
		d.Notes = append(d.Notes, fmt.Sprintf("hidden, since a coordinate is not finite: %d of %s", infinite, plural(nPoints, "point")))
	}
	erase(d.PointArrays, blankPoint)
	erase(d.CellArrays, blankCell)
	for e := range hiddenCell {
		for _, id := range d.Cells.Corners(e) {
			if hiddenPoint[id] {
				hiddenCell[e] = true
				break
			}
		}
	}
	hiddenCell = d.dropRepeats(hiddenCell)
	if anyTrue(hiddenPoint) {
		d.HiddenPoints = hiddenPoint
	}
	if anyTrue(hiddenCell) {
		d.HiddenCells = hiddenCell
	}
	switch {
	case nPoints == 0:
		d.Notes = append(d.Notes, "there are no points")
	case nCells == 0:
		d.Notes = append(d.Notes, "there are no cells with an area, only "+plural(nPoints, "point"))
	}
}

// ghost returns the mark of tuple i; pieces that lack the array have none.
func ghost(g *Array, i int) int {
	v := g.Values[i*g.Components]
	if !(v >= 0 && v <= 255) {
		return 0
	}
	return int(v)
}

// take removes the array of that name and returns it.
func take(as *[]Array, name string) *Array {
	for i := range *as {
		if (*as)[i].Name == name {
			a := (*as)[i]
			*as = append((*as)[:i:i], (*as)[i+1:]...)
			return &a
		}
	}
	return nil
}

// erase sets the tuples that are marked to NaN.
func erase(as []Array, blank []bool) {
	if !anyTrue(blank) {
		return
	}
	for k := range as {
		c := as[k].Components
		for i, b := range blank {
			if b {
				for j := range c {
					as[k].Values[i*c+j] = math.NaN()
				}
			}
		}
	}
}

func anyTrue(b []bool) bool {
	for _, v := range b {
		if v {
			return true
		}
	}
	return false
}

// plural makes "1 cell" and "2 cells", and "2 polygons of …" of "polygon of …".
func plural(n int, what string) string {
	if n != 1 {
		first, rest, _ := strings.Cut(what, " of ")
		what = first + "s"
		if rest != "" {
			what += " of " + rest
		}
	}
	return fmt.Sprintf("%d %s", n, what)
}
