package shift

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/parts"
)

// window is what the four measures of a move are taken from: one raster, one mask
// and one threshold for both fields. The mask is the places that the structure
// covers in either field and that both surveys cover. The weight is what the field
// has above the threshold, (f − t)₊: it goes to zero at the outline, so the border
// of the mask adds nothing of its own there, and a structure that moves as a whole
// moves every measure by the same.
type window struct {
	r *grid.Raster
	// whole is the raster of the two surveys; r begins at column from[0] and row from[1] of it.
	whole  *grid.Raster
	from   [2]int
	t      float64
	mask   []bool
	fields [2]*parts.Field
	// f are the two fields on the raster, NaN where not covered.
	f [2][]float64
	// shares are the samples that interpolated values are made of, nil for values that
	// are samples.
	shares [2][][4]grid.Share
	// own says where each field's own structure is: for outlines.
	own [2][]bool
	// contested are the places that belong to another structure in either field.
	contested []bool
	// outer is the side whose outline counts: +1 toward +y, −1 toward −y, 0 both.
	outer int
	// band holds the rows in which outlines are averaged, first to last.
	band [2]int
	// noise is the standard deviation of each field's sample noise.
	noise [2]float64
	// along is how many columns further along y the mask's borders to other structures lie
	// for the second field.
	along int
	// plans are of the correlations, room is for a number a place; windows made of one another share them.
	plans plans
	room  []float64
}

// newWindow sets two fields on one raster.
func newWindow(a, b *parts.Field, t float64) (*window, error) {
	r := grid.RasterFor(a.Mesh, b.Mesh)
	if r == nil {
		return nil, &wake.InputError{File: b.Name, Text: "the two surveys have no part in common", Cure: "survey the same window in both configurations"}
	}
	w := &window{r: r, whole: r, t: t, fields: [2]*parts.Field{a, b}, mask: make([]bool, r.Len()), contested: make([]bool, r.Len()), plans: plans{}, room: make([]float64, r.Len())}
	for c, f := range w.fields {
		w.f[c], w.shares[c] = r.Sample(f.Mesh, f.Weight)
		w.own[c] = make([]bool, r.Len())
	}
	return w, nil
}

// covered reports whether both surveys cover place k.
func (w *window) covered(k int) bool { return !math.IsNaN(w.f[0][k]) && !math.IsNaN(w.f[1][k]) }

// partWindow is the window of structure i of set a and j of set b.
func partWindow(a, b *parts.Set, i, j int, side string) (*window, error) {
	w, err := newWindow(a.Field(), b.Field(), a.Threshold)
	if err != nil {
		return nil, err
	}
	la, lb := a.Labels(w.r), b.Labels(w.r)
	box := grid.EmptyBox()
	for k := range w.mask {
		w.contested[k] = la[k] >= 0 && la[k] != int32(i) || lb[k] >= 0 && lb[k] != int32(j)
		w.own[0][k], w.own[1][k] = la[k] == int32(i), lb[k] == int32(j)
		if w.mask[k] = w.covered(k) && (w.own[0][k] || w.own[1][k]); w.mask[k] {
			box = box.Extend(w.r.At(k))
		}
	}
	if box.Empty() {
		return nil, &wake.InputError{File: b.Field().Name, Text: "the two structures have no sample in common coverage", Cure: "survey the same window in both configurations"}
	}
	sa, sb := a.Structures[i], b.Structures[j]
	w.finish(side, [2]shape{{sa.Centroid, sa.Spread}, {sb.Centroid, sb.Spread}}, box)
	return w, nil
}

// boxWindow is the window of a box, nil for the whole plane, with the shape of each field's
// weight in it.
func boxWindow(a, b *parts.Field, box *grid.Box, threshold float64, side string) (*window, [2]shape, error) {
	w, err := newWindow(a, b, threshold)
	if err != nil {
		return nil, [2]shape{}, err
	}
	seen, holds := grid.EmptyBox(), grid.EmptyBox()
	for k := range w.mask {
		p := w.r.At(k)
		if !w.covered(k) || box != nil && !box.Contains(p) {
			continue
		}
		w.mask[k] = true
		seen = seen.Extend(p)
		for c, f := range w.fields {
			w.own[c][k] = w.f[c][k] >= threshold
			// Counted from the nominal reference too: the budget does that.
			if w.f[c][k]+math.Max(0, f.Level) >= threshold {
				holds = holds.Extend(p)
			}
		}
	}
	if seen.Empty() {
		return nil, [2]shape{}, &wake.InputError{File: b.Name, Text: "no sample in the box is in common coverage", Cure: "survey the box in both configurations"}
	}
	// What lies beyond the outermost places that reach the threshold has no weight and
	// would just make the correlations longer.
	for k, in := range w.mask {
		w.mask[k] = in && (holds.Empty() || holds.Contains(w.r.At(k)))
	}
	shapes := [2]shape{w.shape(0), w.shape(1)}
	w.finish(side, shapes, seen)
	return w, shapes, nil
}

// shape is the centroid of a weight and its standard deviations along y and z; NaN and
// zeros for no weight.
type shape struct{ at, spread [2]float64 }

// shape is that of (f − t)₊ of field c over the mask.
func (w *window) shape(c int) shape {
	at, s := w.centroid(c)
	out := shape{at: at}
	if !(s > 0) {
		return out
	}
	for k := range w.mask {
		if e := w.excess(c, k); e > 0 {
			p := w.r.At(k)
			out.spread[0] += e / s * (p.X - at[0]) * (p.X - at[0])
			out.spread[1] += e / s * (p.Y - at[1]) * (p.Y - at[1])
		}
	}
	out.spread[0], out.spread[1] = math.Sqrt(out.spread[0]), math.Sqrt(out.spread[1])
	return out
}

// finish sets the outer side, the rows of the height band and the noise, and crops the window to
// what it is about. The band is one spread up and down from both centroids, else the box's heights,
// with the rows on both sides of it: the wake may be a thin layer.
func (w *window) finish(side string, of [2]shape, box grid.Box) {
	w.outer = int(outward(side))
	lo := math.Max(of[0].at[1]-of[0].spread[1], of[1].at[1]-of[1].spread[1])
	hi := math.Min(of[0].at[1]+of[0].spread[1], of[1].at[1]+of[1].spread[1])
	if !(hi > lo) {
		lo, hi = box.Min.Y, box.Max.Y
	}
	w.band[0], w.band[1] = w.r.Rows(lo, hi)
	w.crop()
	for c := range w.noise {
		w.noise[c] = w.estimateNoise(c)
	}
}

// aside is how many places of the raster stay about those that a window is about: sixth
// differences reach three, an outline one.
const aside = 8

// crop leaves out the rows and columns of the raster that have no part in any measure. To the
// sides half the width stays too, for masks that go along with a part.
func (w *window) crop() {
	i0, j0, i1, j1 := w.bounds(func(k int) bool { return w.mask[k] || w.own[0][k] || w.own[1][k] })
	j0, j1 = min(j0, w.band[0]), max(j1, w.band[1])
	if i1 < i0 {
		return
	}
	far := aside + (i1-i0)/2
	i0, i1, j0, j1 = max(0, i0-far), min(w.r.NX-1, i1+far), max(0, j0-aside), min(w.r.NY-1, j1+aside)
	*w = *w.every(1, i0, j0, i1-i0+1, j1-j0+1)
	w.from, w.band = [2]int{i0, j0}, [2]int{w.band[0] - j0, w.band[1] - j0}
}

// bounds are the first column and row of places that are in, and the last ones.
func (w *window) bounds(in func(k int) bool) (i0, j0, i1, j1 int) {
	i0, j0, i1, j1 = w.r.NX, w.r.NY, -1, -1
	for k := range w.mask {
		if in(k) {
			i, j := k%w.r.NX, k/w.r.NX
			i0, j0, i1, j1 = min(i0, i), min(j0, j), max(i1, i), max(j1, j)
		}
	}
	return i0, j0, i1, j1
}

// sampled is a field of a survey at the places of the window.
func (w *window) sampled(m *grid.Mesh, f []float64) []float64 {
	v, _ := w.whole.Sample(m, f)
	return pick(v, w.whole, w.r, 1, w.from[0], w.from[1])
}

// excess is (f − t)₊ at place k of field c; 0 outside the mask.
func (w *window) excess(c, k int) float64 {
	in := w.mask[k]
	if c == 1 && w.along != 0 && (in || w.contested[k]) {
		if i := k%w.r.NX - w.along; i >= 0 && i < w.r.NX {
			in = w.mask[k-w.along] || in && !w.contested[k-w.along]
		}
	}
	if !in || !(w.f[c][k] > w.t) {
		return 0
	}
	return w.f[c][k] - w.t
}

// without returns the window without the places of its mask that are out; nil where none is, and
// where none is left.
func (w *window) without(out func(k int) bool) *window {
	v := *w
	v.mask = make([]bool, len(w.mask))
	cut, left := false, false
	for k, in := range w.mask {
		if in {
			v.mask[k] = !out(k)
			cut, left = cut || !v.mask[k], left || v.mask[k]
		}
	}
	if !cut || !left {
		return nil
	}
	return &v
}

// bent returns the window with fields that are curved between their samples as the gradients
// there tell, or nil where both are taken at samples.
func (w *window) bent() *window {
	v := *w
	none := true
	for c, f := range w.fields {
		bend := w.whole.Bend(f.Mesh, f.Weight)
		if bend == nil {
			continue
		}
		none = false
		v.f[c] = pick(bend, w.whole, w.r, 1, w.from[0], w.from[1])
		floats.Add(v.f[c], w.f[c])
	}
	if none {
		return nil
	}
	return &v
}

// atCut reports whether place k is at a cut: next to a place that one of the surveys does not
// cover, or as near to one as the samples are that its value is made of. Where the body, or the
// end of the survey, cuts a part in truth is not known any better.
func (w *window) atCut(k int) bool {
	i, j := k%w.r.NX, k/w.r.NX
	ri, rj := 1, 1
	for c, shares := range w.shares {
		if shares == nil {
			continue
		}
		p := w.r.At(k)
		for _, s := range shares[k] {
			if s.Weight != 0 {
				q := w.fields[c].Mesh.Points[s.Sample]
				ri, rj = max(ri, int(math.Abs(q.X-p.X)/w.r.DX)), max(rj, int(math.Abs(q.Y-p.Y)/w.r.DY))
			}
		}
	}
	ri, rj = min(ri, aside), min(rj, aside) // as far as crop leaves what is about the part
	if i < ri || j < rj || i+ri >= w.r.NX || j+rj >= w.r.NY {
		return true
	}
	for b := j - rj; b <= j+rj; b++ {
		for a := i - ri; a <= i+ri; a++ {
			if !w.covered(b*w.r.NX + a) {
				return true
			}
		}
	}
	return false
}

// lifted returns the window with each weight counted from the nominal reference.
func (w *window) lifted() *window {
	v := *w
	for c, f := range w.fields {
		v.f[c] = make([]float64, len(w.f[c]))
		for k, x := range w.f[c] {
			v.f[c][k] = x + f.Level
		}
	}
	return &v
}

// subset returns the window with every other column and row, from column i and row
// j on (0 or 1), as a survey with twice the distances would have it.
func (w *window) subset(i, j int) *window {
	v := w.every(2, i, j, (w.r.NX-i+1)/2, (w.r.NY-j+1)/2)
	v.band = [2]int{max(0, (w.band[0]-j+1)/2), min(v.r.NY-1, (w.band[1]-j)/2)}
	return v
}

// every returns the window with every so many columns and rows, nx and ny of them from column i
// and row j on.
func (w *window) every(step, i, j, nx, ny int) *window {
	v := *w
	v.r = &grid.Raster{X0: w.r.X(i), Y0: w.r.Y(j), DX: float64(step) * w.r.DX, DY: float64(step) * w.r.DY, NX: nx, NY: ny}
	v.mask, v.contested = pick(w.mask, w.r, v.r, step, i, j), pick(w.contested, w.r, v.r, step, i, j)
	for c := range v.f {
		v.f[c], v.own[c], v.shares[c] = pick(w.f[c], w.r, v.r, step, i, j), pick(w.own[c], w.r, v.r, step, i, j), pick(w.shares[c], w.r, v.r, step, i, j)
	}
	return &v
}

// pick takes the values of raster r that are on raster sub; nil stays nil.
func pick[T any](v []T, r, sub *grid.Raster, step, i, j int) []T {
	if v == nil {
		return nil
	}
	out := make([]T, 0, sub.Len())
	for b := range sub.NY {
		for a := range sub.NX {
			out = append(out, v[(step*b+j)*r.NX+step*a+i])
		}
	}
	return out
}

// measured is a move by one measure along y and, where it has one, along z.
type measured struct {
	y float64
	z *float64
	// gain[c][k] = ∂y/∂f at place k of field c.
	gain [2][]float64
	// why says why there is no move; empty where there is one.
	why string
	// rows are the single moves that an average is made of, if any, with the noise
	// variance of each.
	rows, rowVar []float64
}

func failed(why string) *measured { return &measured{why: why} }

func (w *window) newMeasured() *measured {
	return &measured{gain: [2][]float64{make([]float64, w.r.Len()), make([]float64, w.r.Len())}}
}

// deviation is the standard deviation that sample noise gives to the sum of the
// measures with the given factors. The fields' noises are independent, and
// white over the samples: places that are interpolated from common ones share theirs.
func (w *window) deviation(ms []*measured, factor []float64) float64 {
	sum := 0.0
	for c := range w.f {
		if w.noise[c] == 0 {
			continue
		}
		gain := w.room[:len(w.mask)]
		clear(gain)
		for i, m := range ms {
			floats.AddScaled(gain, factor[i], m.gain[c])
		}
		s := 0.0
		for _, g := range w.influence(c, gain) {
			s += g * g
		}
		sum += w.noise[c] * w.noise[c] * s
	}
	return math.Sqrt(sum)
}

// influence is what each sample of field c does where each place does gain; gain itself
// where places are samples, or are made of cells.
func (w *window) influence(c int, gain []float64) []float64 {
	if w.shares[c] == nil {
		return gain
	}
	of := make([]float64, len(w.fields[c].Mesh.Points))
	for k, g := range gain {
		if g == 0 {
			continue
		}
		for _, h := range w.shares[c][k] {
			if h.Weight != 0 {
				of[h.Sample] += h.Weight * g
			}
		}
	}
	return of
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
		step := d[0] + d[1]*w.r.NX
		sum, gain := 0.0, 0.0
		for j := 0; j+6*d[1] < w.r.NY; j++ {
			for i := 0; i+6*d[0] < w.r.NX; i++ {
				k := j*w.r.NX + i
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
