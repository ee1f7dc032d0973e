package shift

import (
	"math"

	"wakeledger/wake/parts"

	"gonum.org/v1/gonum/stat/distuv"
)

// centroid is that of (f − t)₊ of field c over the mask and the sum of its weights; NaN and
// 0 without any.
func (w *window) centroid(c int) (at [2]float64, s float64) {
	for k := range w.mask {
		if e := w.excess(c, k); e > 0 {
			p := w.r.At(k)
			s += e
			at[0] += e * p.X
			at[1] += e * p.Y
		}
	}
	return [2]float64{at[0] / s, at[1] / s}, s
}

// byCentroid is the move of the centroid of (f − t)₊ over the mask,
//
//	ȳ = Σ w y / Σ w,  ∂ȳ/∂w = (y − ȳ)/Σ w
func (w *window) byCentroid() *measured {
	m := w.newMeasured()
	var at [2][2]float64
	for c := range w.f {
		var s float64
		if at[c], s = w.centroid(c); !(s > 0) {
			return failed("nothing above the threshold in the common part")
		}
		sign := float64(2*c - 1)
		for k := range w.mask {
			if w.excess(c, k) > 0 {
				m.gain[c][k] = sign * (w.r.At(k).X - at[c][0]) / s
			}
		}
	}
	m.y, m.z = at[1][0]-at[0][0], new(at[1][1]-at[0][1])
	return m
}

// outline is that of a field's own structure, with the derivatives of Y by the values that it
// lies between.
type outline struct {
	parts.Outline
	dIn, dOut float64
}

// outline is that on row j on the side given by dir, as parts.NewOutline has it.
//
//	s = (f₀−t)/(f₀−f₁),  ∂s/∂f₀ = (1−s)/(f₀−f₁),  ∂s/∂f₁ = s/(f₀−f₁)
func (w *window) outline(c, j, dir int) (o outline, ok bool) {
	f := w.f[c]
	if o.Outline, ok = parts.NewOutline(w.r, f, w.own[c], w.t, j, dir); !ok {
		return o, false
	}
	h := float64(dir) * w.r.DX
	fall := f[o.In] - f[o.Out]
	s := (f[o.In] - w.t) / fall
	// The reciprocal of a noisy difference between two neighbours is too large on average:
	// the fall per step is taken over three where the field falls all the way.
	if i, n := o.In%w.r.NX, w.r.NX; i-dir >= 0 && i-dir < n && i+2*dir >= 0 && i+2*dir < n {
		if g := (f[o.In-dir] - f[o.In+2*dir]) / 3; g > fall/3 {
			fall = g
		}
	}
	o.dIn, o.dOut = h*(1-s)/fall, h*s/fall
	return o, true
}

// edge is the move of the outline on one side, averaged over the rows of the band
// in which both fields have one.
func (w *window) edge(dir int) *measured {
	var pairs [][2]outline
	for j := w.band[0]; j <= w.band[1]; j++ {
		a, oka := w.outline(0, j, dir)
		b, okb := w.outline(1, j, dir)
		if oka && okb {
			pairs = append(pairs, [2]outline{a, b})
		}
	}
	if len(pairs) < 3 {
		return failed("fewer than three rows of the height band have a free outline in both")
	}
	m := w.newMeasured()
	q := 1 / float64(len(pairs))
	for _, p := range pairs {
		move, variance := p[1].Y-p[0].Y, 0.0
		m.y += q * move
		for c, o := range p {
			sign := float64(2*c - 1)
			m.gain[c][o.In] += sign * q * o.dIn
			m.gain[c][o.Out] += sign * q * o.dOut
			variance += w.noise[c] * w.noise[c] * (o.dIn*o.dIn + o.dOut*o.dOut)
		}
		m.rows, m.rowVar = append(m.rows, move), append(m.rowVar, variance)
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
	if l.why != "" || r.why != "" {
		return failed("the outline is not free on both sides")
	}
	m := w.newMeasured()
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
