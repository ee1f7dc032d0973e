package structure

import (
	"math"

	"wakeledger/grid"
)

// window is what the four measures of a move are taken from: one raster, one mask
// and one threshold for both fields. The mask is the places that the structure
// covers in either field and that both surveys cover. The weight is what the field
// has above the threshold, (f − t)₊: it goes to nought at the outline, so the border
// of the mask adds nothing of its own there, and a structure that moves as a whole
// moves every measure by the same.
type window struct {
	r      *raster
	t      float64
	mask   []bool
	fields [2]*Field
	// f are the two fields on the raster, NaN where not covered.
	f [2][]float64
	// shares are the samples that interpolated values are made of, nil for values that
	// are samples; samples is their number.
	shares  [2][][4]grid.Share
	samples [2]int
	// own says where each field's own structure is: for outlines.
	own [2][]bool
	// contested are the places of the mask that belong to another structure in either
	// field.
	contested []bool
	// outer is the side whose outline counts: +1 toward +y, −1 toward −y, 0 both.
	outer int
	// band holds the rows in which outlines are averaged, first to last.
	band [2]int
	// noise is the standard deviation of each field's sample noise.
	noise [2]float64
}

// excess is (f − t)₊ at place k of field c; 0 outside the mask.
func (w *window) excess(c, k int) float64 {
	if !w.mask[k] {
		return 0
	}
	return math.Max(0, w.f[c][k]-w.t)
}

// at returns the window with another threshold.
func (w *window) at(t float64) *window {
	v := *w
	v.t = t
	return &v
}

// uncontested returns the window without the places that belong to another
// structure in either field, or nil where there are none.
func (w *window) uncontested() *window {
	v := *w
	v.mask = make([]bool, len(w.mask))
	any := false
	for k, in := range w.mask {
		v.mask[k] = in && !w.contested[k]
		any = any || in && w.contested[k]
	}
	if !any {
		return nil
	}
	return &v
}

// lifted returns the window with the fields raised by a and b: the weight counted
// from another zero.
func (w *window) lifted(a, b float64) *window {
	v := *w
	for c, by := range [2]float64{a, b} {
		v.f[c] = make([]float64, len(w.f[c]))
		for k, x := range w.f[c] {
			v.f[c][k] = x + by
		}
	}
	return &v
}

// subset returns the window with every other column and row, from column i and row
// j on (0 or 1), as a survey with twice the distances would have it.
func (w *window) subset(i, j int) *window {
	r := &raster{x0: w.r.x(i), y0: w.r.y(j), dx: 2 * w.r.dx, dy: 2 * w.r.dy, nx: (w.r.nx - i + 1) / 2, ny: (w.r.ny - j + 1) / 2}
	v := &window{r: r, t: w.t, fields: w.fields, outer: w.outer, noise: w.noise, samples: w.samples, mask: make([]bool, r.len())}
	for c := range v.f {
		if w.shares[c] != nil {
			v.shares[c] = make([][4]grid.Share, r.len())
		}
		v.f[c], v.own[c] = make([]float64, r.len()), make([]bool, r.len())
	}
	for b := range r.ny {
		for a := range r.nx {
			k, s := b*r.nx+a, (2*b+j)*w.r.nx+2*a+i
			v.mask[k] = w.mask[s]
			for c := range v.f {
				v.f[c][k], v.own[c][k] = w.f[c][s], w.own[c][s]
				if w.shares[c] != nil {
					v.shares[c][k] = w.shares[c][s]
				}
			}
		}
	}
	v.band = [2]int{max(0, (w.band[0]-j+1)/2), min(r.ny-1, (w.band[1]-j)/2)}
	return v
}

// measured is a move by one measure along y and, where it has one, along z, with
// the influence of every sample on it: gain[c][k] = ∂move/∂f at place k of field c,
// along y. nil gains stand for none.
type measured struct {
	y, z  float64
	gain  [2][]float64
	gainZ [2][]float64
	// ok is false where the measure cannot be had, and why says so.
	ok  bool
	why string
	// time is what the time average's errors of each field make of the move, a number a
	// draw; nil where nothing is known of them.
	time [2][]float64
	// rows are the single moves that an average is made of, if any, with the noise
	// variance of each.
	rows, rowVar []float64
}

// newMeasured has room for gains.
func (w *window) newMeasured(z bool) *measured {
	m := &measured{ok: true}
	for c := range m.gain {
		m.gain[c] = make([]float64, w.r.len())
		if z {
			m.gainZ[c] = make([]float64, w.r.len())
		}
	}
	return m
}

// deviation is the standard deviation that sample noise gives to the sum of the
// measures with the given factors (along y). The fields' noises are independent, and
// white over the samples: places that are interpolated from common ones share theirs.
func (w *window) deviation(ms []*measured, factor []float64) float64 {
	sum := 0.0
	for c := range w.f {
		if w.noise[c] == 0 {
			continue
		}
		s := 0.0
		var of []float64
		if w.shares[c] != nil {
			of = make([]float64, w.samples[c])
		}
		for k := range w.mask {
			g := 0.0
			for i, m := range ms {
				g += factor[i] * m.gain[c][k]
			}
			if of == nil {
				s += g * g
				continue
			}
			for _, h := range w.shares[c][k] {
				if h.Weight != 0 {
					of[h.Sample] += h.Weight * g
				}
			}
		}
		for _, g := range of {
			s += g * g
		}
		sum += w.noise[c] * w.noise[c] * s
	}
	return math.Sqrt(sum)
}

// sixth are the coefficients of the sixth difference; white noise of variance s²
// gives it the variance 924 s² (the sum of their squares), while a smooth field's is
// small. Of interpolated places it is s² times the sum of the squares with which the
// samples enter.
var sixth = [7]float64{1, -6, 15, -20, 15, -6, 1}

// estimateNoise is the standard deviation of the white noise in a field over the
// mask, from sixth differences along rows and along columns; the smaller counts, as
// curvature can but add. Noise that neighbouring samples share is not seen. 0 where
// no seven samples stand in a line.
func (w *window) estimateNoise(c int) float64 {
	least := math.Inf(1)
	for _, d := range [2][2]int{{1, 0}, {0, 1}} {
		step := d[0] + d[1]*w.r.nx
		sum, gain := 0.0, 0.0
		for j := 0; j+6*d[1] < w.r.ny; j++ {
			for i := 0; i+6*d[0] < w.r.nx; i++ {
				k := j*w.r.nx + i
				if !w.mask[k+3*step] {
					continue
				}
				v := 0.0
				for s, a := range sixth {
					v += a * w.f[c][k+s*step]
				}
				if !math.IsNaN(v) {
					sum += v * v
					gain += w.sixthGain(c, k, step)
				}
			}
		}
		if gain > 0 {
			least = math.Min(least, sum/gain)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return math.Sqrt(least)
}

// sixthGain is the variance of the sixth difference from place k on in steps, for
// white sample noise of variance 1.
func (w *window) sixthGain(c, k, step int) float64 {
	if w.shares[c] == nil {
		return 924
	}
	var of [28]grid.Share
	n := 0
	for s, a := range sixth {
	share:
		for _, h := range w.shares[c][k+s*step] {
			if h.Weight == 0 {
				continue
			}
			for i := range of[:n] {
				if of[i].Sample == h.Sample {
					of[i].Weight += a * h.Weight
					continue share
				}
			}
			of[n] = grid.Share{Sample: h.Sample, Weight: a * h.Weight}
			n++
		}
	}
	sum := 0.0
	for _, h := range of[:n] {
		sum += h.Weight * h.Weight
	}
	return sum
}
