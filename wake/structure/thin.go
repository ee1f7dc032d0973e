package structure

import (
	"math"

	"wakeledger/grid"
)

const (
	// mostSamples is how many samples are used as they are.
	mostSamples = 60_000
	// rasterPlaces is about how many points a larger survey is put on.
	rasterPlaces = 20_000
)

// thin makes a lattice of nodes with equal steps over the window of a mesh: about
// rasterPlaces points, of which those are left out that no element covers. put puts
// a field on it (nil stays nil). The values are the field's own there: bilinear on a
// lattice, linear in triangles, constant in given cells. The lattice depends on the
// mesh alone, so that fields of two configurations on common samples stay so.
func thin(m *grid.Mesh) (out *grid.Mesh, put func(f []float64) []float64) {
	window := m.Window()
	if m.Kind == grid.KindLattice {
		// To the outermost samples: a half-cell beyond is next to nothing here.
		window = grid.Bounds(m.Points)
	}
	r := newRaster(window, math.Sqrt(window.Area()/rasterPlaces))
	var shares [][4]grid.Share
	if m.Kind == grid.KindLattice {
		shares = r.onLattice(m.Lattice)
	} else {
		shares = r.inElements(m)
	}
	out = &grid.Mesh{Kind: grid.KindLattice, Support: grid.Nodes, Gaps: m.Gaps}
	out.Lattice = &grid.Lattice{X: make([]float64, r.nx), Y: make([]float64, r.ny), Index: make([]int32, r.len())}
	for i := range r.nx {
		out.Lattice.X[i] = r.x(i)
	}
	for j := range r.ny {
		out.Lattice.Y[j] = r.y(j)
	}
	for k, s := range shares {
		out.Lattice.Index[k] = -1
		if s == ([4]grid.Share{}) {
			continue
		}
		out.Lattice.Index[k] = int32(len(out.Points))
		out.Points = append(out.Points, r.at(k))
	}
	return out, func(f []float64) []float64 {
		if f == nil {
			return nil
		}
		values := make([]float64, len(out.Points))
		for k, s := range shares {
			q := out.Lattice.Index[k]
			if q < 0 {
				continue
			}
			for _, h := range s {
				if h.Weight != 0 {
					values[q] += h.Weight * f[h.Sample]
				}
			}
		}
		return values
	}
}

// onLattice gives the shares of a lattice's samples in the raster's places. The
// samples of cells are taken as point values at their centres.
func (r *raster) onLattice(l *grid.Lattice) [][4]grid.Share {
	loc := grid.NewLocator(&grid.Mesh{Kind: grid.KindLattice, Support: grid.Nodes, Lattice: l})
	out := make([][4]grid.Share, r.len())
	for k := range out {
		if s, _, ok := loc.At(r.at(k)); ok {
			out[k] = s
		}
	}
	return out
}

// inElements does the same for triangles and for given cells, going through the
// elements rather than through the places: most elements hold no place, and no
// index has to be made. Where several touch a place the first wins.
func (r *raster) inElements(m *grid.Mesh) [][4]grid.Share {
	out := make([][4]grid.Share, r.len())
	each := func(box grid.Box, at func(p grid.Point) ([4]grid.Share, bool)) {
		i0, i1 := r.span(box.Min.X, box.Max.X, r.x0, r.dx, r.nx)
		j0, j1 := r.span(box.Min.Y, box.Max.Y, r.y0, r.dy, r.ny)
		for j := j0; j <= j1; j++ {
			for i := i0; i <= i1; i++ {
				k := j*r.nx + i
				if out[k] != ([4]grid.Share{}) {
					continue
				}
				if s, ok := at(r.at(k)); ok {
					out[k] = s
				}
			}
		}
	}
	if m.Kind == grid.KindCells {
		c := m.Cells
		for e := range c.Len() {
			ids := c.Polygon(e)
			box := grid.EmptyBox()
			for _, i := range ids {
				box = box.Extend(c.Corners[i])
			}
			each(box, func(p grid.Point) ([4]grid.Share, bool) {
				return [4]grid.Share{{Sample: int32(e), Weight: 1}}, within(c.Corners, ids, p)
			})
		}
		return out
	}
	for t := 0; t+2 < len(m.Triangles); t += 3 {
		ids := m.Triangles[t : t+3]
		a, b, c := m.Points[ids[0]], m.Points[ids[1]], m.Points[ids[2]]
		box := grid.Box{
			Min: grid.Point{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y)},
			Max: grid.Point{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y)},
		}
		each(box, func(p grid.Point) ([4]grid.Share, bool) {
			whole := grid.TriangleArea(a, b, c)
			w1, w2 := grid.TriangleArea(a, p, c)/whole, grid.TriangleArea(a, b, p)/whole
			w0 := 1 - w1 - w2
			ok := w0 >= -onSide && w1 >= -onSide && w2 >= -onSide
			return [4]grid.Share{{Sample: ids[0], Weight: w0}, {Sample: ids[1], Weight: w1}, {Sample: ids[2], Weight: w2}}, ok
		})
	}
	return out
}

// onSide is how far outside a triangle, as a part of its size, a place still counts
// as inside, so that none on a common side is lost to rounding.
const onSide = 1e-9

// span is the first and last of n places from origin on that lie between lo and hi;
// the last is before the first where there is none.
func (r *raster) span(lo, hi, origin, step float64, n int) (first, last int) {
	const slack = 1e-9
	return max(0, int(math.Ceil((lo-origin)/step-slack))), min(n-1, int(math.Floor((hi-origin)/step+slack)))
}

// within reports whether p lies in the polygon, by the number of sides that a ray
// toward +x crosses.
func within(corners []grid.Point, ids []int32, p grid.Point) bool {
	in := false
	for k, i := range ids {
		a, b := corners[i], corners[ids[(k+1)%len(ids)]]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}
