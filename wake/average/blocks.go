package average

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// blocks are the sums of the record by contiguous stretches of equal length, for means
// without one of them. The length is the least power of two that makes no more than
// maxStretches of the record, so it is a function of the snapshot numbers alone: any
// order of adding and merging gives the same blocks.
//
// Values are counted in steps 2²⁰ times those of the exact sums (1e-6 m/s, 0.004 Pa),
// squares of velocities in steps of 2⁻¹⁶ m²/s². With the bounds of doc.go a sum of
// 2²² of them stays below 2⁶³.
type blocks struct {
	length int64
	list   []block // in order of number
}

// block holds, sample by sample, the sums of the quantities and then of the squares of
// the velocities among them. Number n has the snapshots n·length+1 … (n+1)·length.
type block struct {
	number, count int64
	acc           []int64
}

const (
	maxStretches = 24
	coarser      = 20 // bits
	squareBits   = 16
)

// squares lists the slots of the velocities among the quantities.
func squares(qs []wake.Quantity) []int {
	var out []int
	for k, q := range qs {
		if q >= wake.U && q <= wake.W {
			out = append(out, k)
		}
	}
	return out
}

func blockStride(qs []wake.Quantity) int { return len(qs) + len(squares(qs)) }

func byNumber(x block, n int64) int { return cmp.Compare(x.number, n) }

// at is the block of a snapshot number, made where it is not there yet.
func (b *blocks) at(index int64, words int) *block {
	b.length = max(b.length, 1)
	k, ok := slices.BinarySearchFunc(b.list, (index-1)/b.length, byNumber)
	if !ok {
		b.list = slices.Insert(b.list, k, block{number: (index - 1) / b.length, acc: make([]int64, words)})
		b.coarsen()
		k, _ = slices.BinarySearchFunc(b.list, (index-1)/b.length, byNumber)
	}
	return &b.list[k]
}

// coarsen doubles the length until there are no more than maxStretches blocks.
func (b *blocks) coarsen() {
	for len(b.list) > maxStretches {
		b.double()
	}
}

// double doubles the length.
func (b *blocks) double() {
	b.length *= 2
	out := b.list[:0]
	for _, x := range b.list {
		x.number /= 2
		if last := len(out) - 1; last >= 0 && out[last].number == x.number {
			out[last].join(&x)
			continue
		}
		out = append(out, x)
	}
	clear(b.list[len(out):])
	b.list = out
}

func (b *block) join(o *block) {
	b.count += o.count
	for i, v := range o.acc {
		b.acc[i] += v
	}
}

// add adds a snapshot's columns.
func (b *blocks) add(index int64, cols [][]float64, qs []wake.Quantity) {
	sq, st := squares(qs), blockStride(qs)
	to := b.at(index, st*len(cols[0]))
	to.count++
	scale := make([]float64, len(qs))
	for k, q := range qs {
		scale[k] = math.Ldexp(1, quantumBits(q)-coarser)
	}
	spread(len(cols[0]), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			acc := to.acc[i*st : (i+1)*st]
			for k, c := range cols {
				acc[k] += quantise(c[i], scale[k])
			}
			for k, s := range sq {
				acc[len(cols)+k] += quantise(cols[s][i]*cols[s][i], 1<<squareBits)
			}
		}
	})
}

// merge adds the blocks of another part of the record; o is not used afterwards.
func (b *blocks) merge(o *blocks) {
	for b.length < o.length {
		b.double()
	}
	for o.length < b.length {
		o.double()
	}
	for _, x := range o.list {
		k, ok := slices.BinarySearchFunc(b.list, x.number, byNumber)
		if ok {
			b.list[k].join(&x)
		} else {
			b.list = slices.Insert(b.list, k, x)
		}
	}
	b.coarsen()
}

// A record is cut for its uncertainty into groups of blocks: as many as are blockScales
// integral time scales long, from fewGroups to mostGroups, of a record that is at least
// leastScales long. Shorter ones tell next to nothing of what they have missed.
const (
	blockScales = 5
	leastScales = 20
	surely      = 60
	fewGroups   = 8
	mostGroups  = 20
)

// groups cuts the record, of which scale is the integral time scale in snapshots, into
// groups of whole blocks with about equal numbers of snapshots; nil where it is too
// short.
func (b *blocks) groups(scale float64) []block {
	var n int64
	for _, x := range b.list {
		n += x.count
	}
	g := min(max(int(float64(n)/(blockScales*scale)), fewGroups), mostGroups, len(b.list))
	if float64(n) < leastScales*scale || g < fewGroups {
		return nil
	}
	var out []block
	var before int64
	last := -1
	for _, x := range b.list {
		k := int((2*before + x.count) * int64(g) / (2 * n))
		before += x.count
		if k != last {
			x.acc = slices.Clone(x.acc)
			out = append(out, x)
			last = k
			continue
		}
		out[len(out)-1].join(&x)
	}
	if len(out) < fewGroups {
		return nil
	}
	return out
}

// leaveOut gives the means of the record without each of the groups, as a plane takes
// them up, so that
//
//	u² = (g−1)/g · Σ(R₍ⱼ₎ − R̄)²
//
// is the variance of any result R of the mean, from measuring each of the g means. Two
// things are put into the distance of each from the mean of all: groups of unequal
// share hⱼ⁻¹ count by √((hⱼ−1)/(g−1)) (delete-mⱼ jackknife: F. M. T. A. Busing, E.
// Meijer, R. van der Leeden, Statistics and Computing 9 (1999) 3, from memory), and what groups of finite length share
// with their neighbours by the root of
//
//	MeanVarianceOU(T, Ti) / (MeanVarianceOU(T/g, Ti)/g)
//
// which is at most 1.25 for groups of 2.5 time scales. A record shorter than surely time
// scales may have had its slow changes left out of its groups' scatter by chance: what
// the groups tell of the series itself, one value a snapshot, is then made no less than
// what its variance and time scale tell.
func (s *State) leaveOut(series []float64, scale float64) *wake.Blocks {
	groups := s.blocks.groups(scale)
	if groups == nil {
		return nil
	}
	qs := s.head.quantities()
	sq, st, g := squares(qs), blockStride(qs), float64(len(groups))
	n := float64(s.head.Snapshots)
	shared := math.Sqrt(MeanVarianceOU(n, scale) * g / MeanVarianceOU(n/g, scale))
	if n < surely*scale {
		var sq float64
		of, all := series, mean(series)
		for _, x := range groups {
			d := mean(of[:x.count]) - all
			sq += d * d * float64(x.count) / (n - float64(x.count)) / g
			of = of[x.count:]
		}
		if least := standard(variance(series), effective(len(series), scale)); sq > 0 {
			shared = max(shared, least/math.Sqrt(sq))
		}
	}
	total := make([]int64, s.head.Samples*st)
	for _, x := range groups {
		for i, v := range x.acc {
			total[i] += v
		}
	}
	out := &wake.Blocks{Field: make([][wake.NumQuantities][]float64, len(groups))}
	for k, x := range groups {
		f := &out.Field[k]
		rest := n - float64(x.count)
		by := shared * math.Sqrt((n/float64(x.count)-1)/(g-1))
		// away is the mean without the group, with its distance from the mean of all.
		away := func(i int, unit float64) (mean, without float64) {
			mean = float64(total[i]) / n * unit
			return mean, mean + by*(float64(total[i]-x.acc[i])/rest*unit-mean)
		}
		for c, q := range qs {
			f[q] = make([]float64, s.head.Samples)
			unit := math.Ldexp(1, coarser-quantumBits(q))
			for i := range f[q] {
				_, f[q][i] = away(i*st+c, unit)
			}
		}
		for c, slot := range sq {
			q := qs[slot]
			col := make([]float64, s.head.Samples)
			unit := math.Ldexp(1, coarser-quantumBits(q))
			for i := range col {
				m, a := away(i*st+slot, unit)
				m2, a2 := away(i*st+len(qs)+c, 1.0/(1<<squareBits))
				// The stress's own distance, to first order in that of the means.
				col[i] = m2 - m*m + (a2 - m2) - 2*m*(a-m)
			}
			f[wake.UU+q-wake.U] = col
		}
	}
	return out
}

// cut cuts the record for the uncertainty of the mean plane, where it is long enough and
// has no drift: with the time scale of its momentum integral, or of u where there is no
// reference.
func (r *Result) cut(s *State) {
	if r.Snapshots < 2 {
		return
	}
	// Without a reference u at the sample where it varies most is the series.
	scale, series := r.Local.Scale, r.probed(s)
	if len(r.Series) > 0 {
		v := &r.Series[0]
		scale, series = v.Scale, v.values
		if t, off := trend(v.values); off {
			r.warn("record-drifts", "leave out the start-up, or average a longer record",
				"%s: the momentum integral drifts by %+.4f m² over the record, more than chance explains: the uncertainty of its mean cannot be judged", v.Name, t)
			return
		}
	}
	if r.blocks = s.leaveOut(series, scale); r.blocks == nil {
		r.warn("record-short", fmt.Sprintf("average at least %.0f snapshots at this spacing", math.Ceil(max(leastScales*scale, fewGroups))),
			"%d snapshots are %.1f integral time scales; %d are needed to judge the uncertainty of the mean", r.Snapshots, float64(r.Snapshots)/scale, leastScales)
		return
	}
	r.Blocks = len(r.blocks.Field)
}

// probed is u over the record at the probe where it varies most.
func (r *Result) probed(s *State) []float64 {
	var out []float64
	for k := range s.entries[0].probes {
		x := make([]float64, len(s.entries))
		for i, e := range s.entries {
			x[i] = e.probes[k]
		}
		if out == nil || variance(x) > variance(out) {
			out = x
		}
	}
	return out
}

// trend is the change of a straight line through the means of fewGroups parts of a
// series from its first to its last value; off says whether that is more than its own
// expanded uncertainty, from the scatter of the parts about the line.
func trend(x []float64) (change float64, off bool) {
	if len(x) < 2*fewGroups {
		return 0, false
	}
	means := make([]float64, fewGroups)
	for k := range means {
		means[k] = mean(x[k*len(x)/fewGroups : (k+1)*len(x)/fewGroups])
	}
	t := uncertainty.NewTrend(means)
	return t.Slope * fewGroups, math.Abs(t.Slope) > uncertainty.StudentFactor(0.95, t.DOF)*t.Standard
}

// Mean is the mean plane as samples, with its blocks.
func (r *Result) Mean(file string) *wake.Samples {
	out := &wake.Samples{File: file, N: r.Samples, CellValues: r.cellValues, Blocks: r.blocks}
	copy(out.Col[:], r.plane.pos[:])
	hasP := r.plane.get(wake.P.String()) != nil
	for _, c := range r.plane.columns {
		if q, ok := wake.ParseQuantity(c.name); ok && !(hasP && renamed[c.name] != "") {
			out.Col[q] = c.values
		}
	}
	for q, col := range out.Col {
		if col != nil {
			out.Source[q] = wake.Source{Name: wake.Quantity(q).String(), Unit: wake.Quantity(q).Unit(), By: "file", Factor: 1}
		}
	}
	return out
}
