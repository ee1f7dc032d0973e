package average

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey"
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

func squares(qs []wake.Quantity) []int {
	return grid.Where(len(qs), func(k int) bool { return qs[k] >= wake.U && qs[k] <= wake.W })
}

func blockStride(qs []wake.Quantity) int { return len(qs) + len(squares(qs)) }

func byNumber(x block, n int64) int { return cmp.Compare(x.number, n) }

// at is the block of a snapshot number, made where it is not there yet. Making it doubles
// the length until there are no more than maxStretches blocks.
func (b *blocks) at(index int64, words int) *block {
	b.length = max(b.length, 1)
	k, ok := slices.BinarySearchFunc(b.list, (index-1)/b.length, byNumber)
	if !ok {
		b.list = slices.Insert(b.list, k, block{number: (index - 1) / b.length, acc: make([]int64, words)})
		for len(b.list) > maxStretches {
			b.double()
		}
		k, _ = slices.BinarySearchFunc(b.list, (index-1)/b.length, byNumber)
	}
	return &b.list[k]
}

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

func (b *blocks) add(index int64, cols [][]float64, qs []wake.Quantity) {
	sq, st := squares(qs), blockStride(qs)
	to := b.at(index, st*len(cols[0]))
	to.count++
	scale := grid.Fill(len(qs), func(k int) float64 { return math.Ldexp(1, quantum[qs[k]]-coarser) })
	grid.Ranges(len(cols[0]), func(lo, hi int) {
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

func (b *blocks) merge(o *blocks) {
	for b.length < o.length {
		b.double()
	}
	for _, x := range o.list {
		b.at(x.number*o.length+1, len(x.acc)).join(&x)
	}
}

func (b *blocks) counts() []int64 {
	return grid.Fill(len(b.list), func(k int) int64 { return b.list[k].count })
}

// leaveOut gives the means of the record without each part of cut, put away from the mean
// of all by its Away, as a plane takes them up.
func (s *State) leaveOut(cut []uncertainty.Block) *wake.Blocks {
	qs := s.head.Quantities
	sq, st := squares(qs), blockStride(qs)
	n := float64(s.Snapshots())
	groups := make([]block, len(cut))
	for k, c := range cut {
		groups[k] = block{acc: make([]int64, s.head.Samples*st)}
		for i := range c.Stretches {
			groups[k].join(&s.blocks.list[c.First+i])
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
		by := cut[k].Away
		// away is the mean without the group, with its distance from the mean of all.
		away := func(i int, unit float64) (mean, without float64) {
			mean = float64(total[i]) / n * unit
			return mean, mean + by*(float64(total[i]-x.acc[i])/rest*unit-mean)
		}
		for c, q := range qs {
			f[q] = make([]float64, s.head.Samples)
			unit := math.Ldexp(1, coarser-quantum[q])
			for i := range f[q] {
				_, f[q][i] = away(i*st+c, unit)
			}
		}
		for c, slot := range sq {
			q := qs[slot]
			col := make([]float64, s.head.Samples)
			unit := math.Ldexp(1, coarser-quantum[q])
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
// has no drift: by the slowest of its momentum integral and those of its boxes, or by u at the sample where it varies most where
// there is no reference.
func (r *Result) cut(s *State) {
	if r.Snapshots < 2 {
		return
	}
	t, what := (*uncertainty.TimeMean)(nil), ""
	if len(r.Series) > 0 {
		t, what = &r.Series[0].TimeMean, r.Series[0].Name+", momentum integral: "
		for k := range r.Series {
			// A box may change more slowly than the whole: what is slowest sets the blocks of all.
			if x := &r.Series[k].TimeMean; t.Doubt == "" && x.Doubt == "" && x.Scale > t.Scale {
				t = x
			}
		}
	} else {
		t = uncertainty.NewTimeMean(r.index, r.probed(s), s.blocks.counts())
	}
	if b := t.Burst; b != nil {
		r.warn("record-burst", "look at these snapshots; where they are right, average more, with several such events",
			"%ssnapshots %d to %d carry %.0f %% of what the blocks of the record scatter by: how often that happens is not known", what, b[0]+1, b[1], 100*t.BurstShare)
	}
	if t.Doubt != "" {
		unit := "m²"
		if what == "" {
			unit = "m/s"
		}
		text, cure := t.Why("snapshots", unit)
		r.warn(t.Doubt, cure, "%s", what+text)
		return
	}
	r.blocks = s.leaveOut(t.Blocks)
	r.Blocks = len(t.Blocks)
	g := float64(r.Blocks)
	c := survey.Column{Name: uncertaintyColumn, Unit: wake.U.Unit(), Digits: digits}
	for i := range r.Samples {
		u := grid.Fill(r.Blocks, func(k int) float64 { return r.blocks.Field[k][wake.U][i] })
		c.Values = append(c.Values, (g-1)/math.Sqrt(g)*stat.StdDev(u, nil))
	}
	r.beside = append(r.beside, c)
}

// probed is u over the record at the probe where it varies most.
func (r *Result) probed(s *State) []float64 {
	var out []float64
	for k := range s.head.Entries[0].Probes {
		x := grid.Fill(len(s.head.Entries), func(i int) float64 { return s.head.Entries[i].Probes[k] })
		if out == nil || stat.Variance(x, nil) > stat.Variance(out, nil) {
			out = x
		}
	}
	return out
}

// Mean is the mean plane as samples, with its blocks.
func (r *Result) Mean(file string) *wake.Samples {
	out := *r.mean
	out.File, out.Blocks = file, r.blocks
	if r.TimeStep != nil {
		out.Time = float64(r.Snapshots) * *r.TimeStep
	}
	for q := range out.Col {
		if renamed[wake.Quantity(q)] != "" && r.mean.Has(wake.P) {
			out.Col[q] = nil
		}
		if out.Col[q] != nil {
			out.Source[q] = wake.Source{Name: wake.Quantity(q).String(), Unit: wake.Quantity(q).Unit(), By: "file", Factor: 1}
		}
	}
	return &out
}
