package quad

import (
	"math"

	"wakeledger/grid"
)

// latticeMoments is row for the quadrilaterals between two rows of a lattice, with
// the field taken at once: the shape functions are products of one of x and one of
// y, so the sums along x of lower and upper row are made first and meet the
// integrals along y once.
func (e *elements) latticeMoments(j int, f []float64, level float64, p *tally) {
	l, yl, yh := e.m.Lattice, e.yl[j], e.yh[j]
	if yl[0]+yh[0] == 0 {
		return
	}
	nx := len(l.X)
	low, high := l.Index[j*nx:(j+1)*nx], l.Index[(j+1)*nx:(j+2)*nx]
	// along is what one row of samples adds up to: the field with each power of x, its
	// square and its size as it is and above the level.
	type along struct{ f0, f1, f2, square, size, off float64 }
	var a, b along
	var one0, one1, one2, up0, up1, up2 float64
	for i := range e.xl {
		s, t, u, v := low[i], low[i+1], high[i], high[i+1]
		if s|t|u|v < 0 {
			continue
		}
		xl, xh := &e.xl[i], &e.xh[i]
		g, h := f[s], f[t]
		a.f0 += xl[0]*g + xh[0]*h
		a.f1 += xl[1]*g + xh[1]*h
		a.f2 += xl[2]*g + xh[2]*h
		a.square += xl[0]*g*g + xh[0]*h*h
		a.size += xl[0]*math.Abs(g) + xh[0]*math.Abs(h)
		a.off += xl[0]*math.Abs(g-level) + xh[0]*math.Abs(h-level)
		g, h = f[u], f[v]
		b.f0 += xl[0]*g + xh[0]*h
		b.f1 += xl[1]*g + xh[1]*h
		b.f2 += xl[2]*g + xh[2]*h
		b.square += xl[0]*g*g + xh[0]*h*h
		b.size += xl[0]*math.Abs(g) + xh[0]*math.Abs(h)
		b.off += xl[0]*math.Abs(g-level) + xh[0]*math.Abs(h-level)
		one0 += xl[0] + xh[0]
		one1 += xl[1] + xh[1]
		one2 += xl[2] + xh[2]
	}
	up0, up1, up2 = yl[0]+yh[0], yl[1]+yh[1], yl[2]+yh[2]
	p.add(&tally{
		a.f0*yl[0] + b.f0*yh[0], a.f1*yl[0] + b.f1*yh[0], a.f0*yl[1] + b.f0*yh[1],
		a.f2*yl[0] + b.f2*yh[0], a.f1*yl[1] + b.f1*yh[1], a.f0*yl[2] + b.f0*yh[2],
		one0 * up0, one1 * up0, one0 * up1, one2 * up0, one1 * up1, one0 * up2,
		a.square*yl[0] + b.square*yh[0], a.size*yl[0] + b.size*yh[0], a.off*yl[0] + b.off*yh[0],
	})
}

// latticeWeights gives the order-0 integrals of all samples of a lattice with
// support at the nodes. Each row of samples takes its shares in the quadrilaterals
// below and above it, so that rows can be worked side by side.
func (e *elements) latticeWeights(w []float64) {
	l := e.m.Lattice
	nx, ny := len(l.X), len(l.Y)
	full := func(i, j int) bool {
		k := j*nx + i
		return l.Index[k]|l.Index[k+1]|l.Index[k+nx]|l.Index[k+nx+1] >= 0
	}
	step := max(1, block/nx)
	grid.Parallel((ny+step-1)/step, func(b int) {
		for j := b * step; j < min(ny, (b+1)*step); j++ {
			// from adds the row's shares in the quadrilaterals between rows q and q+1, whose
			// integral along y is h.
			from := func(q int, h float64) {
				if h == 0 {
					return
				}
				row := l.Index[j*nx : (j+1)*nx]
				for i := range e.xl {
					if full(i, q) {
						w[row[i]] += e.xl[i][0] * h
						w[row[i+1]] += e.xh[i][0] * h
					}
				}
			}
			if j > 0 {
				from(j-1, e.yh[j-1][0])
			}
			if j+1 < ny {
				from(j, e.yl[j][0])
			}
		}
	})
}

// wholeTriangles is row for triangles when nothing is clipped: the field is taken
// at once instead of corner by corner. The integrals are those of addLinear.
func (e *elements) wholeTriangles(r int, f []float64, level float64, p *tally) {
	pts, t := e.m.Points, e.m.Triangles
	o := e.origin
	var v tally
	for k := 3 * r * run; k+2 < min(len(t), 3*(r+1)*run); k += 3 {
		i, j, l := t[k], t[k+1], t[k+2]
		x0, y0 := pts[i].X-o.X, pts[i].Y-o.Y
		x1, y1 := pts[j].X-o.X, pts[j].Y-o.Y
		x2, y2 := pts[l].X-o.X, pts[l].Y-o.Y
		f0, f1, f2 := f[i], f[j], f[l]
		area := grid.TriangleArea(grid.Point{X: x0, Y: y0}, grid.Point{X: x1, Y: y1}, grid.Point{X: x2, Y: y2})
		third, twelfth, sixtieth := area/3, area/12, area/60
		sf, sx, sy := f0+f1+f2, x0+x1+x2, y0+y1+y2
		fx0, fx1, fx2 := f0*x0, f1*x1, f2*x2
		fy0, fy1, fy2 := f0*y0, f1*y1, f2*y2
		fx, fy := fx0+fx1+fx2, fy0+fy1+fy2
		xx := sx*sx + x0*x0 + x1*x1 + x2*x2
		xy := sx*sy + x0*y0 + x1*y1 + x2*y2
		yy := sy*sy + y0*y0 + y1*y1 + y2*y2
		v[0] += third * sf
		v[1] += twelfth * (sf*sx + fx)
		v[2] += twelfth * (sf*sy + fy)
		v[3] += sixtieth * (sf*xx + 2*(sx*fx+fx0*x0+fx1*x1+fx2*x2))
		v[4] += sixtieth * (sf*xy + sx*fy + sy*fx + 2*(fx0*y0+fx1*y1+fx2*y2))
		v[5] += sixtieth * (sf*yy + 2*(sy*fy+fy0*y0+fy1*y1+fy2*y2))
		v[6] += area
		v[7] += third * sx
		v[8] += third * sy
		v[9] += twelfth * xx
		v[10] += twelfth * xy
		v[11] += twelfth * yy
		v[12] += third * (f0*f0 + f1*f1 + f2*f2)
		v[13] += third * (math.Abs(f0) + math.Abs(f1) + math.Abs(f2))
		v[14] += third * (math.Abs(f0-level) + math.Abs(f1-level) + math.Abs(f2-level))
	}
	p.add(&v)
}

// tally holds sums over elements: the six moments of the field, those of 1, and at
// the samples ∫f², ∫|f| and ∫|f−level|.
type tally [15]float64

func (t *tally) add(o *tally) {
	for k, v := range o {
		t[k] += v
	}
}

// sample adds a sample with the integrals v of its shape function.
func (t *tally) sample(v *[6]float64, g, level float64) {
	for k, m := range v {
		t[k] += m * g
		t[6+k] += m
	}
	t[12] += v[0] * g * g
	t[13] += v[0] * math.Abs(g)
	t[14] += v[0] * math.Abs(g-level)
}
