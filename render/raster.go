package render

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"wakeledger/grid"
)

// Sampler knows, for each pixel centre of a picture of a box, which element of a
// mesh lies there. Finding that out is the larger part of the work, so one
// Sampler serves all the fields of a plane.
//
// Pixel (i, j), counted from the upper left corner, has its centre at
//
//	X = box.Min.X + (i+½)·width/W,  Y = box.Max.Y − (j+½)·height/H.
type Sampler struct {
	W, H int
	Box  grid.Box
	mesh *grid.Mesh
	// id is the triangle under each pixel, −1 for none; for lattices it is nil and
	// cols and rows say in which column and row of the lattice a pixel lies.
	id         []int32
	cols, rows []place
	// bare marks the pixels without an element, body those of a body (bodyMask); both are
	// found when first asked for.
	bare, body func() []bool
}

// place is where a pixel column lies between two lines of a lattice: between
// lines i and i+1, a part t of the way. i is −1 outside.
type place struct {
	i int32
	t float64
}

// NewSampler prepares the picture of box with w × h pixels. The mesh must be of
// node support (see grid's Mesh.Nodal).
//
// A pixel centre on the border between elements, or outside an element by less
// than 1e-9 pixels, belongs to it: samples that fall on pixel centres leave no
// gaps. Which of two elements beside a border is taken depends on the mesh only; of a lattice
// the upper and the right one, there or not.
func NewSampler(m *grid.Mesh, box grid.Box, w, h int) *Sampler {
	s := &Sampler{W: w, H: h, Box: box, mesh: m}
	s.bare = sync.OnceValue(s.findBare)
	s.body = sync.OnceValue(func() []bool { return bodyMask(s) })
	if m.Kind == grid.KindLattice {
		s.cols, s.rows = places(m.Lattice.X, w, s.x, box.Width()/float64(w)), places(m.Lattice.Y, h, s.y, box.Height()/float64(h))
	} else {
		s.scan()
	}
	return s
}

// x and y are the place of the centre of pixel (i, j).
func (s *Sampler) x(i int) float64 {
	return s.Box.Min.X + (float64(i)+0.5)*s.Box.Width()/float64(s.W)
}

func (s *Sampler) y(j int) float64 {
	return s.Box.Max.Y - (float64(j)+0.5)*s.Box.Height()/float64(s.H)
}

// Raster samples one field of any mesh; where no element lies the value is NaN.
func Raster(m *grid.Mesh, f []float64, box grid.Box, w, h int) []float32 {
	m, f = m.Nodal(f)
	return NewSampler(m, box, w, h).Field(f)
}

// slack is the distance in pixels by which elements are widened: 1e-9, or the
// rounding of pixel coordinates if the box lies so far from the origin that this
// is larger.
func slack(lo, hi, pixel float64) float64 {
	return max(1e-9, 4*0x1p-52*max(math.Abs(lo), math.Abs(hi))/pixel)
}

func places(lines []float64, n int, at func(int) float64, pixel float64) []place {
	out := make([]place, n)
	last := len(lines) - 1
	tol := slack(at(0), at(n-1), pixel) * pixel
	for k := range out {
		x := at(k)
		out[k].i = -1
		if !(x >= lines[0]-tol && x <= lines[last]+tol) {
			continue
		}
		lo, found := slices.BinarySearch(lines, x) // lines[lo] ≤ x < lines[lo+1], at the borders with tol
		if !found {
			lo--
		}
		lo = min(max(lo, 0), last-1)
		out[k] = place{int32(lo), min(max((x-lines[lo])/(lines[lo+1]-lines[lo]), 0), 1)}
	}
	return out
}

// scan fills the triangle buffer. Where several triangles hold a pixel centre the one with
// the highest number has it: each worker takes a run of them, in order and into a buffer of
// its own, and those of the later runs go over the earlier ones.
func (s *Sampler) scan() {
	n, v := len(s.mesh.Triangles)/3, s.view()
	runs := make([][]int32, min(runtime.GOMAXPROCS(0), scanBuffers, 1+n/(1<<13)))
	grid.Parallel(len(runs), func(r int) {
		tri, pts := s.mesh.Triangles, s.mesh.Points
		id := slices.Repeat([]int32{-1}, s.W*s.H)
		for t := n * r / len(runs); t < n*(r+1)/len(runs); t++ {
			p := [3]grid.Point{v.pixel(pts[tri[3*t]]), v.pixel(pts[tri[3*t+1]]), v.pixel(pts[tri[3*t+2]])}
			// At a million samples most triangles have no pixel centre in their box.
			y0, y1 := span(min(p[0].Y, p[1].Y, p[2].Y)-v.tolY, max(p[0].Y, p[1].Y, p[2].Y)+v.tolY, s.H)
			if y0 > y1 {
				continue
			}
			if x0, x1 := span(min(p[0].X, p[1].X, p[2].X)-v.tolX, max(p[0].X, p[1].X, p[2].X)+v.tolX, s.W); x0 > x1 {
				continue
			}
			s.paint(id, v, &p, int32(t), y0, y1)
		}
		runs[r] = id
	})
	s.id = runs[0]
	for _, later := range runs[1:] {
		for k, t := range later {
			if t >= 0 {
				s.id[k] = t
			}
		}
	}
}

// scanBuffers bounds the memory of a scan: four bytes a pixel each.
const scanBuffers = 4

// view takes points to pixels; pixel centres have whole coordinates.
type view struct {
	x0, y1, sx, sy, tolX, tolY float64
}

func (s *Sampler) view() view {
	b := s.Box
	v := view{x0: b.Min.X, y1: b.Max.Y, sx: float64(s.W) / b.Width(), sy: float64(s.H) / b.Height()}
	v.tolX, v.tolY = slack(b.Min.X, b.Max.X, 1/v.sx), slack(b.Min.Y, b.Max.Y, 1/v.sy)
	return v
}

func (v view) pixel(p grid.Point) grid.Point {
	return grid.Point{X: (p.X-v.x0)*v.sx - 0.5, Y: (v.y1-p.Y)*v.sy - 0.5}
}

// span returns the first and the last of 0 … n−1 in [a, b]; none if the first is
// greater than the second.
func span(a, b float64, n int) (int, int) {
	// Clamp before converting: a far corner has no int.
	a, b = max(a, 0), min(b, float64(n-1))
	if !(a <= b) {
		return 1, 0
	}
	return int(math.Ceil(a)), int(b)
}

// paint gives triangle t the pixels in id of rows y0…y1 whose centres it holds. p has its
// corners in pixels.
func (s *Sampler) paint(id []int32, v view, p *[3]grid.Point, t int32, y0, y1 int) {
	for y := y0; y <= y1; y++ {
		fy := float64(y)
		x0, x1 := math.Inf(1), math.Inf(-1)
		for e := range p {
			a, b := p[e], p[(e+1)%3]
			up, down := a, b
			if up.Y > down.Y {
				up, down = down, up
			}
			if !(fy >= up.Y-v.tolY && fy <= down.Y+v.tolY) {
				continue
			}
			switch {
			case down.Y-up.Y <= v.tolY:
				// An edge within the slack of a row's height is level: both of its ends count.
				x0, x1 = min(x0, a.X, b.X), max(x1, a.X, b.X)
			case fy <= up.Y:
				x0, x1 = min(x0, up.X), max(x1, up.X)
			case fy >= down.Y:
				x0, x1 = min(x0, down.X), max(x1, down.X)
			default:
				x := a.X + (fy-a.Y)*((b.X-a.X)/(b.Y-a.Y))
				x0, x1 = min(x0, x), max(x1, x)
			}
		}
		i, j := span(x0-v.tolX, x1+v.tolX, s.W)
		if i > j {
			continue
		}
		row := id[y*s.W+i : y*s.W+j+1]
		for k := range row {
			row[k] = t
		}
	}
}

// findBare marks the pixels without an element.
func (s *Sampler) findBare() []bool {
	out := make([]bool, s.W*s.H)
	for k := range out {
		if s.id != nil {
			out[k] = s.id[k] < 0
		} else {
			out[k] = !s.full(s.cols[k%s.W], s.rows[k/s.W])
		}
	}
	return out
}

// full reports whether a complete quadrilateral of the lattice is at a place.
func (s *Sampler) full(c, r place) bool {
	return c.i >= 0 && r.i >= 0 && s.mesh.Lattice.Full(int(c.i), int(r.i))
}

// Field samples f, one value a node, at the pixel centres, row by row from the
// top. In a triangle the value is linear. A quadrilateral of a lattice is read as
// four triangles about its centre, which has the mean of the corners, as in
// grid/isoline: bands end exactly on their level lines.
//
// Special cases are: NaN where no element lies, and where a corner of the
// element is NaN or infinite.
func (s *Sampler) Field(f []float64) []float32 {
	out := make([]float32, s.W*s.H)
	grid.Parallel(s.H, func(j int) {
		row := out[j*s.W : (j+1)*s.W]
		if s.id != nil {
			s.triangleRow(f, j, row)
		} else {
			s.latticeRow(f, j, row)
		}
	})
	return out
}

var nan32 = float32(math.NaN())

func (s *Sampler) triangleRow(f []float64, j int, row []float32) {
	y, dx, pts := s.y(j), s.Box.Width()/float64(s.W), s.mesh.Points
	last := int32(-1)
	var a grid.Point
	var fa, gx, gy float64
	for i, t := range s.id[j*s.W : (j+1)*s.W] {
		if t < 0 {
			row[i] = nan32
			continue
		}
		if t != last {
			last = t
			tri := s.mesh.Triangles[3*t : 3*t+3]
			a = pts[tri[0]]
			b, c := pts[tri[1]], pts[tri[2]]
			fa = f[tri[0]]
			fb, fc := f[tri[1]]-fa, f[tri[2]]-fa
			bx, by, cx, cy := b.X-a.X, b.Y-a.Y, c.X-a.X, c.Y-a.Y
			det := bx*cy - cx*by
			gx, gy = (fb*cy-fc*by)/det, (fc*bx-fb*cx)/det
		}
		x := s.Box.Min.X + (float64(i)+0.5)*dx
		v := fa + (x-a.X)*gx + (y-a.Y)*gy
		if v-v != 0 {
			v = math.NaN()
		}
		row[i] = float32(v)
	}
}

func (s *Sampler) latticeRow(f []float64, j int, row []float32) {
	l, r, nx := s.mesh.Lattice, s.rows[j], len(s.mesh.Lattice.X)
	last, full := int32(-2), false // the quadrilateral is mostly that of the pixel before
	var f00, f10, f11, f01, mean float64
	for i := range row {
		c := s.cols[i]
		if c.i != last {
			if last, full = c.i, s.full(c, r); full {
				k := int(r.i)*nx + int(c.i)
				f00, f10, f11, f01 = f[l.Index[k]], f[l.Index[k+1]], f[l.Index[k+nx+1]], f[l.Index[k+nx]]
				mean = ((f00 + f11) + (f10 + f01)) / 4
			}
		}
		if !full {
			row[i] = nan32
			continue
		}
		// In the triangle below, with corners (0,0), (1,0) and the centre, the weights
		// are 1−s−t, s−t and 2t; the other three are this one turned.
		p, q := c.t, r.t
		var v float64
		switch {
		case q <= p && p+q <= 1:
			v = f00*(1-p-q) + f10*(p-q) + mean*2*q
		case q <= p:
			v = f10*(p-q) + f11*(p+q-1) + mean*2*(1-p)
		case p+q <= 1:
			v = f00*(1-p-q) + f01*(q-p) + mean*2*p
		default:
			v = f11*(p+q-1) + f01*(q-p) + mean*2*(1-q)
		}
		if v-v != 0 {
			v = math.NaN()
		}
		row[i] = float32(v)
	}
}
