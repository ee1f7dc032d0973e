package structure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// outline is where the outline of a field's own structure crosses row j on the side
// given by dir (+1: toward +y), with the places that it lies between and the
// derivative by either value. From the outermost place of the structure that is at
// or above the threshold the line goes on to the next one, which must be covered,
// below the threshold: where another structure or a body follows there is no outline.
//
//	y = y₀ ± h s,  s = (f₀−t)/(f₀−f₁),  ∂s/∂f₀ = (1−s)/(f₀−f₁),  ∂s/∂f₁ = s/(f₀−f₁)
func (w *window) outline(c, j, dir int) (y float64, k0, k1 int, d0, d1 float64, ok bool) {
	start, end := 0, w.r.nx
	if dir > 0 {
		start, end = w.r.nx-1, -1
	}
	for i := start; i != end; i -= dir {
		k := j*w.r.nx + i
		if !w.own[c][k] || !(w.f[c][k] >= w.t) {
			continue
		}
		o := i + dir
		if o < 0 || o >= w.r.nx {
			return 0, 0, 0, 0, 0, false
		}
		q := j*w.r.nx + o
		f0, f1 := w.f[c][k], w.f[c][q]
		if !(f1 < w.t) {
			return 0, 0, 0, 0, 0, false
		}
		h := float64(dir) * w.r.dx
		s := (f0 - w.t) / (f0 - f1)
		g := w.slope(c, k, dir, f0-f1)
		return w.r.x(i) + h*s, k, q, h * (1 - s) / g, h * s / g, true
	}
	return 0, 0, 0, 0, 0, false
}

// slope is the fall per step at the outline between places k and k+dir: over three
// steps where the field falls all the way, since the reciprocal of a noisy
// difference between two neighbours is too large on average; else step, that of the
// two.
func (w *window) slope(c, k, dir int, step float64) float64 {
	i := k % w.r.nx
	if i-dir < 0 || i-dir >= w.r.nx || i+2*dir < 0 || i+2*dir >= w.r.nx {
		return step
	}
	if g := (w.f[c][k-dir] - w.f[c][k+2*dir]) / 3; g > step/3 {
		return g
	}
	return step
}

// edge is the move of the outline on one side, averaged over the rows of the band
// in which both fields have one.
func (w *window) edge(dir int) *measured {
	m := w.newMeasured(false)
	n := 0
	for pass := range 2 {
		for j := w.band[0]; j <= w.band[1]; j++ {
			ya, a0, a1, da0, da1, ok := w.outline(0, j, dir)
			yb, b0, b1, db0, db1, okb := w.outline(1, j, dir)
			if !ok || !okb {
				continue
			}
			if pass == 0 {
				n++
				continue
			}
			q := 1 / float64(n)
			m.y += q * (yb - ya)
			m.gain[0][a0] -= q * da0
			m.gain[0][a1] -= q * da1
			m.gain[1][b0] += q * db0
			m.gain[1][b1] += q * db1
			m.rows = append(m.rows, yb-ya)
			na, nb := w.noise[0]*w.noise[0], w.noise[1]*w.noise[1]
			m.rowVar = append(m.rowVar, na*(da0*da0+da1*da1)+nb*(db0*db0+db1*db1))
		}
		if n < 3 {
			return &measured{why: "fewer than three rows of the height band have a free outline in both"}
		}
	}
	return m
}

// byEdge is the move of the outer outline, or the mean of both where no side is the
// outer one.
func (w *window) byEdge() *measured {
	if w.outer != 0 {
		return w.edge(w.outer)
	}
	l, r := w.edge(-1), w.edge(1)
	if !l.ok || !r.ok {
		return &measured{why: "the outline is not free on both sides"}
	}
	m := w.newMeasured(false)
	m.y = (l.y + r.y) / 2
	for c := range m.gain {
		for k := range m.gain[c] {
			m.gain[c][k] = (l.gain[c][k] + r.gain[c][k]) / 2
		}
	}
	return m
}

// rowExcess is what the scatter of the rows adds to the standard uncertainty of
// their mean beyond noise: it counts when the variance of the rows is beyond the 99
// % point of what noise gives. Rows are taken as independent.
func (m *measured) rowExcess() float64 {
	n := float64(len(m.rows))
	if n < 3 {
		return 0
	}
	mean, noise := 0.0, 0.0
	for k, v := range m.rows {
		mean += v / n
		noise += m.rowVar[k] / n
	}
	s := 0.0
	for _, v := range m.rows {
		s += (v - mean) * (v - mean) / (n - 1)
	}
	chi := distuv.ChiSquared{K: n - 1}
	if s <= noise*chi.Quantile(0.99)/(n-1) {
		return 0
	}
	return math.Sqrt((s - noise) / n)
}
