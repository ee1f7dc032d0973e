package parts

import (
	"wakeledger/grid"
)

// PathPoint is a structure at one station.
type PathPoint struct {
	Position  float64    `json:"position_m"`
	Structure string     `json:"structure"`
	Centroid  [2]float64 `json:"centroid_m"`
	Spread    [2]float64 `json:"spread_m"`
	Area      float64    `json:"area_m2"`
	DragArea  *float64   `json:"drag_area_m2,omitempty"`
	// LeftEdge and RightEdge are the outlines' mean y within one spread of the
	// centroid's height, m; nil where the outline is not free.
	LeftEdge  *float64 `json:"left_edge_m,omitempty"`
	RightEdge *float64 `json:"right_edge_m,omitempty"`
}

// Path is a structure followed from station to station.
type Path struct {
	// Name is the structure's at its first station.
	Name   string      `json:"name"`
	Points []PathPoint `json:"points"`
	// End says how it goes: at the last station, or by the event there.
	End string `json:"end"`
}

// Follow joins the structures of one configuration's stations, which come in
// the order of their positions, by the rules of Match from each station to the next,
// save that a path keeps to its side: a part beside the vehicle that becomes one of
// the wake in the middle has merged into that.
func Follow(sets []*Set) []Path {
	var paths []Path
	open := map[string]int{} // the path of each structure of the station before
	for k, s := range sets {
		next, came := map[string]int{}, map[string]int{}
		if k > 0 {
			m := match(sets[k-1], s, true)
			for _, p := range m.Pairs {
				came[p.B] = open[p.A]
			}
			for _, e := range m.Events {
				if e.Kind == "vanishes" || e.Kind == "merges" {
					paths[open[e.Name]].End = e.Text
				}
			}
		}
		for i, t := range s.Structures {
			at, ok := came[t.Name]
			if !ok {
				at = len(paths)
				paths = append(paths, Path{Name: t.Name, End: "last station"})
			}
			next[t.Name], paths[at].Points = at, append(paths[at].Points, s.point(i))
		}
		open = next
	}
	return paths
}

// point describes structure i for a path.
func (s *Set) point(i int) PathPoint {
	t := s.Structures[i]
	p := PathPoint{
		Position: s.field.Position, Structure: t.Name, Centroid: t.Centroid, Spread: t.Spread, Area: t.Area, DragArea: t.DragArea,
	}
	if s.Criterion != ByWeight {
		return p
	}
	r := grid.RasterFor(s.field.Mesh, s.field.Mesh)
	if r == nil {
		return p
	}
	f, _ := r.Sample(s.field.Mesh, s.field.Weight)
	label := s.Labels(r)
	own := grid.Fill(len(label), func(k int) bool { return label[k] == int32(i) })
	first, last := r.Rows(t.Centroid[1]-t.Spread[1], t.Centroid[1]+t.Spread[1])
	mean := func(dir int) *float64 {
		sum, n := 0.0, 0
		for j := first; j <= last; j++ {
			if o, ok := NewOutline(r, f, own, s.Threshold, j, dir); ok {
				sum += o.Y
				n++
			}
		}
		if n == 0 {
			return nil
		}
		sum /= float64(n)
		return &sum
	}
	p.LeftEdge, p.RightEdge = mean(-1), mean(1)
	return p
}

// Outline is where the outline of a structure crosses a row: at Y between the places In and
// Out of a raster, inside and outside of it.
type Outline struct {
	Y       float64
	In, Out int
}

// NewOutline is the outline of what is own of the field f, on row j, on the side given by
// dir (+1: toward +y). From the outermost place of it that is at or above the threshold t the
// line goes on to the next one, which must be covered and below: where another structure or a
// body follows there is no outline.
//
//	y = y₀ ± h s,  s = (f₀−t)/(f₀−f₁)
func NewOutline(r *grid.Raster, f []float64, own []bool, t float64, j, dir int) (o Outline, ok bool) {
	i := 0
	if dir > 0 {
		i = r.NX - 1
	}
	for ; i >= 0 && i < r.NX; i -= dir {
		if k := j*r.NX + i; own[k] && f[k] >= t {
			break
		}
	}
	k, q := j*r.NX+i, j*r.NX+i+dir
	if i < 0 || i >= r.NX || i+dir < 0 || i+dir >= r.NX || !(f[q] < t) {
		return o, false
	}
	return Outline{r.X(i) + float64(dir)*r.DX*((f[k]-t)/(f[k]-f[q])), k, q}, true
}
