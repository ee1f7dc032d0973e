package quad

import (
	"math"

	"wakeledger/grid"
)

// along is what one row of samples adds up to: the field with each power of x, its
// square and its size.
type along struct {
	f            interval1
	square, size float64
}

// add takes the step between two samples, with the integrals of their hats.
func (a *along) add(low, high *interval1, g, h float64) {
	for k := range a.f {
		a.f[k] += low[k]*g + high[k]*h
	}
	a.square += low[0]*g*g + high[0]*h*h
	a.size += low[0]*math.Abs(g) + high[0]*math.Abs(h)
}

// latticeMoments takes the quadrilaterals between two rows of a lattice. The shape
// functions are products of one of x and one of y, so the sums along x of lower and upper row
// are made first and meet the integrals along y once.
func (e *elements) latticeMoments(j int, f []float64, p *tally) {
	l, yl, yh := e.m.Lattice, e.yl[j], e.yh[j]
	if yl[0]+yh[0] == 0 {
		return
	}
	nx := len(l.X)
	low, high := l.Index[j*nx:(j+1)*nx], l.Index[(j+1)*nx:(j+2)*nx]
	var a, b along
	for i := range e.xl {
		s, t, u, v := low[i], low[i+1], high[i], high[i+1]
		if s|t|u|v < 0 {
			continue
		}
		a.add(&e.xl[i], &e.xh[i], f[s], f[t])
		b.add(&e.xl[i], &e.xh[i], f[u], f[v])
	}
	x, y := product(a.f, yl), product(b.f, yh)
	for k := range x {
		p[k] += x[k] + y[k]
	}
	p[6] += a.square*yl[0] + b.square*yh[0]
	p[7] += a.size*yl[0] + b.size*yh[0]
}

// latticeWeights gives the integrals of the shape functions of all samples of a lattice with
// support at the nodes. Each row of samples takes its shares in the quadrilaterals
// below and above it, so that rows can be worked side by side.
func (e *elements) latticeWeights(w []float64) {
	l := e.m.Lattice
	nx, ny := len(l.X), len(l.Y)
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
					if l.Full(i, q) {
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

// tally holds sums over elements: the six moments of the field, and at the samples ∫f²
// and ∫|f|.
type tally [8]float64

// sample adds a sample with the integrals v of its shape function.
func (t *tally) sample(v *[6]float64, g float64) {
	for k, m := range v {
		t[k] += m * g
	}
	t[6] += v[0] * g * g
	t[7] += v[0] * math.Abs(g)
}
