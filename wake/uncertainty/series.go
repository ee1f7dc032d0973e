package uncertainty

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// References:
//
//	[lenschow]  D. H. Lenschow, J. Mann, L. Kristensen, How long is long enough when
//	            measuring fluxes and other turbulence statistics, J. Atmos. Oceanic
//	            Technol. 11 (1994) 661.
//	[busing]    F. M. T. A. Busing, E. Meijer, R. van der Leeden, Delete-m jackknife for
//	            unequal m, Statistics and Computing 9 (1999) 3 (from memory).

// A record is cut for its uncertainty into blocks: as many as are blockScales integral
// time scales long, from FewBlocks to mostBlocks, of a record that is at least LeastScales
// long. Shorter ones tell next to nothing of what they have missed. The scale is itself found
// from the record, and reads short in some: with 24, records of 8 true scales are refused in
// 85 of 100 cases, of 20 in half.
const (
	blockScales = 5
	LeastScales = 24
	surely      = 60
	chance      = 15.5
	FewBlocks   = 8
	mostBlocks  = 20
	// Slow changes that are weak beside shedding or noise do not show in the autocorrelation
	// before its first zero. They do in means over a part in slowMeans of the record, if these have a
	// time scale that is slower times as long and longer than such a part, and in FewBlocks long blocks, if
	// these give an interval that is slower times as wide (chosen so that of steady records no more
	// than 97 in a hundred hold).
	slowMeans = 80
	slower    = 1.4
	// mostValues bounds the work on finely sampled records: longer ones are taken in means of
	// neighbouring values for their time scale, which leaves the scale as it is.
	mostValues = 1 << 14
)

// The codes of a record whose mean cannot be judged.
const (
	RecordShort    = "record-short"
	RecordDrifts   = "record-drifts"
	RecordConstant = "record-constant"
)

// TimeMean is the time mean of a record of an unsteady flow, with its standard uncertainty
// by leaving out blocks of the record, for every kind of record: a force, the momentum
// integral of snapshots, the drag of a series of planes. Times are in steps of the record.
type TimeMean struct {
	N    int     `json:"values"`
	Mean float64 `json:"drag_area_m2"`
	// Standard uncertainty of the mean, degrees of freedom (one less than there are
	// blocks), factor, and expanded uncertainty for 95 %; nil where Doubt says why.
	Standard *float64 `json:"standard,omitempty"`
	DOF      *float64 `json:"dof,omitempty"`
	Coverage *float64 `json:"coverage,omitempty"`
	Expanded *float64 `json:"expanded,omitempty"`
	// AtLeast is a lower bound of the standard uncertainty where Doubt leaves that open: what
	// blocks scatter by as if they were independent, with its degrees of freedom. What they
	// share with their neighbours, and slower changes, come on top.
	AtLeast    *float64 `json:"standard_at_least,omitempty"`
	AtLeastDOF *float64 `json:"-"`
	// Guess is what blocks and time scale tell all the same.
	Guess float64 `json:"-"`
	// Deviation is the standard deviation of the values.
	Deviation float64 `json:"standard_deviation"`
	// Scale is the integral time scale, at least ½.
	Scale float64 `json:"-"`
	// Chance is by which part Standard is above what the record shows since it is short.
	Chance float64 `json:"-"`
	// Drift is the change of a straight line through the record from its beginning to its
	// end.
	Drift float64 `json:"drift"`
	// Blocks, if not nil, is how the record is cut.
	Blocks []Block `json:"-"`
	// Burst are the first value of a block and the one after its last, where this one carries most of
	// what the blocks scatter by, BurstShare, as one of a steady record does in 1 case of 1,000: a
	// rare event, or a wrong value. Nil for none.
	Burst      *[2]int `json:"-"`
	BurstShare float64 `json:"-"`
	// Doubt is RecordShort, RecordDrifts or RecordConstant, Need the length of record that would do; 0 where none would.
	Doubt string  `json:"not_judged,omitempty"`
	Need  float64 `json:"-"`
}

// Block is a part of a record: Stretches of it from the First on, with Count values.
// Away is how far a result of the mean without the block is put from that of the whole
// mean, as a multiple, so that
//
//	u² = (g−1)/g · Σ(R₍ⱼ₎ − R̄)²
//
// is the variance of any result R of the mean of g blocks.
type Block struct {
	First, Stretches int
	Count            int64
	Away             float64
}

// NewTimeMean judges the record x with the numbers index, which rise by 1 but for gaps.
// stretches, if not nil, are the numbers of values in the parts of the record that blocks
// are made of; nil makes them of single values.
//
// A record shorter than LeastScales integral time scales, or with a drift above twice its own
// standard uncertainty, has no Standard. That of the drift is √12 times the mean's, as for
// any record much longer than its time scale (least squares on equal steps). One that does not
// change has none either: it tells nothing of an unsteady flow.
func NewTimeMean(index []int64, x []float64, stretches []int64) *TimeMean {
	n := len(x)
	t := &TimeMean{N: n, Mean: math.NaN(), Scale: 0.5, Doubt: RecordShort, Need: FewBlocks}
	if n > 0 {
		t.Mean = mean(x)
	}
	if n < 2 {
		return t
	}
	t.Deviation = stat.StdDev(x, nil)
	numbers := make([]float64, n)
	for i, k := range index {
		numbers[i] = float64(k)
	}
	_, slope := stat.LinearRegression(numbers, x, nil, false)
	t.Drift = slope * (numbers[n-1] - numbers[0] + 1)
	fast := TimeScale(index, x)
	t.Scale = slowScale(index, x, slope, fast)
	t.Need = math.Ceil(max(LeastScales*t.Scale, FewBlocks))
	if stretches == nil {
		stretches = slices.Repeat([]int64{1}, n)
	}
	blocks := cut(stretches, n, t.Scale)
	if blocks == nil {
		return t
	}
	if slices.Min(x) == slices.Max(x) {
		t.Doubt, t.Need = RecordConstant, 0
		return t
	}
	few, long := *t, cut(stretches, n, math.Inf(1))
	uFew, plainFew := few.leaveOut(x, long, fast)
	u, plain := t.leaveOut(x, blocks, fast)
	drifts := math.Abs(t.Drift) > 2*math.Sqrt(12)*u
	if uFew*Coverage(float64(len(long)-1)) > slower*u*Coverage(float64(len(blocks)-1)) {
		*t, blocks, u, plain = few, long, uFew, plainFew
	}
	dof := float64(len(blocks) - 1)
	t.AtLeast, t.AtLeastDOF, t.Guess = &plain, &dof, u
	switch {
	case float64(n) < LeastScales*t.Scale:
		return t
	case drifts:
		t.Doubt, t.Need = RecordDrifts, 2*float64(n)
		return t
	}
	t.Doubt, t.Need, t.Blocks, t.AtLeast = "", 0, blocks, nil
	k := Coverage(dof)
	e := k * u
	t.Standard, t.DOF, t.Coverage, t.Expanded = &u, &dof, &k, &e
	return t
}

// Why says why the mean is not judged, and what would help; values are what the record
// consists of ("snapshots"), unit that of the mean.
func (t *TimeMean) Why(values, unit string) (text, cure string) {
	switch t.Doubt {
	case RecordShort:
		return fmt.Sprintf("%d %s are %.1f integral time scales, of %.3g each, and drift by %+.4f %s; %d are needed to judge the uncertainty of the mean", t.N, values, float64(t.N)/t.Scale, t.Scale, t.Drift, unit, LeastScales),
			fmt.Sprintf("average at least %.0f %s at this spacing, without a start-up", t.Need, values)
	case RecordConstant:
		return fmt.Sprintf("all %d %s are equal: they tell nothing of the uncertainty of the mean", t.N, values),
			"give the record of a run in which the flow changes, or leave it out"
	case RecordDrifts:
		return fmt.Sprintf("the mean drifts by %+.4f %s over the record, more than chance explains: its uncertainty cannot be judged", t.Drift, unit),
			fmt.Sprintf("leave out the start-up, or average a longer record, of at least %.0f %s", t.Need, values)
	}
	return "", ""
}

// cut makes blocks of whole stretches with about equal numbers of values; nil where there
// are too few stretches.
func cut(stretches []int64, n int, scale float64) []Block {
	g := min(max(int(float64(n)/(blockScales*scale)), FewBlocks), mostBlocks, len(stretches))
	if g < FewBlocks {
		return nil
	}
	var out []Block
	var before int64
	last := -1
	for i, count := range stretches {
		k := int((2*before + count) * int64(g) / (2 * int64(n)))
		before += count
		if k != last {
			out = append(out, Block{First: i})
			last = k
		}
		out[len(out)-1].Stretches++
		out[len(out)-1].Count += count
	}
	if len(out) < FewBlocks {
		return nil
	}
	return out
}

// leaveOut fills in Away and returns the standard uncertainty of the mean, and what the blocks
// scatter by as if they were independent, which is less.
//
// Blocks of unequal share hⱼ⁻¹ count by √((hⱼ−1)/(g−1)) [busing], and what blocks of finite
// length share with their neighbours by the root of
//
//	MeanVariance(T, Ti) / (MeanVariance(T/g, Ti)/g)
//
// which is at most 1.25 for blocks of 2.5 time scales. A record shorter than surely time
// scales may have had its slow changes left out of its blocks' scatter by chance, and of records
// near the least length those are judged whose time scale came out short: what the blocks
// tell is then made no less than what variance and time scale tell, times 1 + chance·T/n, 1.65 at
// the least length (chosen so that simulated records of two states hold).
func (t *TimeMean) leaveOut(x []float64, blocks []Block, fast float64) (u, plain float64) {
	n, g := float64(t.N), float64(len(blocks))
	shared := math.Sqrt(MeanVariance(n, t.Scale) * g / MeanVariance(n/g, t.Scale))
	var sq, most float64
	of := x
	without := make([]float64, len(blocks))
	for k, b := range blocks {
		m := float64(b.Count)
		d := mean(of[:b.Count]) - t.Mean
		of = of[b.Count:]
		part := d * d * m / (n - m) / g
		sq += part
		if part > most {
			most, t.Burst = part, &[2]int{t.N - len(of) - int(b.Count), t.N - len(of)}
		}
		without[k] = -d * m / (n - m)
	}
	if n < surely*fast && sq > 0 {
		wider := 1 + chance*fast/n
		least := wider * StandardOf(stat.PopVariance(x, nil), Effective(t.N, fast)) / math.Sqrt(sq)
		t.Chance = min(wider, max(1, least/shared)) - 1
		shared = max(shared, least)
	}
	// Grubbs' test of the furthest of g values: (g−1)/g · t²/(g−2+t²), t for 1 − 0.001/2g.
	q := distuv.StudentsT{Sigma: 1, Nu: g - 2}.Quantile(1 - 0.0005/g)
	if t.BurstShare = most / sq; !(t.BurstShare > max(0.5, (g-1)/g*q*q/(g-2+q*q))) {
		t.Burst = nil
	}
	for k := range blocks {
		b := &blocks[k]
		b.Away = shared * math.Sqrt((n/float64(b.Count)-1)/(g-1))
		without[k] *= b.Away
	}
	return math.Sqrt((g - 1) * stat.PopVariance(without, nil)), math.Sqrt(sq)
}

// MeanVariance is the variance of the mean of a continuous record of length T over that of
// its values, if the correlation falls as exp(−τ/Ti) [lenschow]:
//
//	2(Ti/T) [1 − (Ti/T)(1 − e^(−T/Ti))]
//
// It is 1 for T → 0 and 2Ti/T for T → ∞; Ti = 0 gives 0. NaN gives NaN, and so do
// negative times.
func MeanVariance(T, Ti float64) float64 {
	if !(T >= 0 && Ti >= 0) {
		return math.NaN()
	}
	switch {
	case Ti == 0:
		return 0
	case T == 0 || math.IsInf(Ti, 1):
		return 1
	}
	r := Ti / T
	if r > 1e4 {
		// The bracket is a difference of nearly equal numbers: its series is
		// (1/2r)(1 − 1/3r + …).
		return 1 - 1/(3*r)
	}
	return 2 * r * (1 + r*math.Expm1(-1/r))
}

// Effective is the number of independent values with the same standard uncertainty of
// their mean as n values with the integral time scale, by MeanVariance for a record of
// length n. It lies between 1 and n.
func Effective(n int, scale float64) float64 {
	return min(max(1/MeanVariance(float64(n), scale), 1), float64(n))
}

// StandardOf is the standard uncertainty of a mean from the variance over n of its values
// and their effective number: √(variance/(N_eff−1)), with N_eff−1 at least 1, since the mean of N_eff independent
// values takes away 1/N_eff of the variance.
func StandardOf(variance, effective float64) float64 {
	return math.Sqrt(variance / max(effective-1, 1))
}

// slowScale is the time scale of a record, or that of its slow changes about a line of the slope
// where they have one of their own.
func slowScale(index []int64, x []float64, slope, scale float64) float64 {
	if step := (index[len(index)-1] - index[0] + 1) / slowMeans; step > 1 {
		to, means := coarse(index, [][]float64{x}, step)
		for k := range to {
			means[0][k] -= slope * float64(step*to[k])
		}
		if slow := float64(step) * TimeScale(to, means...); slow > max(slower*scale, float64(step)) {
			return slow
		}
	}
	return scale
}

// TimeScale is the integral time scale in numbers: the integral of the autocorrelation
// r(k) by the trapezoidal rule from 0 to its first zero, where it is taken as linear
// between the last positive and the first other value. It is at least ½, that of values
// without correlation. index holds the numbers of the values, in order; gaps only take
// pairs away. Several records with the same numbers are pooled, each counting with its
// variance.
//
// Deviations from the mean of the record itself, not from the true mean, lower every
// covariance by about the variance v of that mean, hence
//
//	r(k) = (c(k) + v) / (c(0) + v),  v = (c(0) + v) · MeanVariance(N, scale)
//
// with the scale that v = 0 gives. Without the correction the scale of short records reads
// low. It is made once: made again with its own result it can run away on a short record,
// where the correlation stays near zero for long.
//
// A record that does not change has the scale ½.
func TimeScale(index []int64, records ...[]float64) float64 {
	step := (index[len(index)-1] - index[0] + mostValues) / mostValues
	if len(index) <= mostValues {
		step = 1
	}
	index, records = coarse(index, records, step)
	var off [][]float64 // deviations, record by record
	for _, x := range records {
		off = append(off, slices.Clone(x))
		floats.AddConst(-mean(x), off[len(off)-1])
	}
	c0, _ := autocovariance(index, off, 0)
	if !(c0 > 0) {
		return 0.5
	}
	var known []float64 // c(1), c(2), … as far as they were needed
	ended := false      // no pairs after them
	round := func(v float64) (scale float64) {
		last := 1.0
		for k := 0; ; k++ {
			if k == len(known) && !ended {
				c, ok := autocovariance(index, off, int64(k+1))
				if ok {
					known = append(known, c)
				}
				ended = !ok
			}
			if k == len(known) {
				return scale + last/2
			}
			r := (known[k] + v) / (c0 + v)
			if !(r > 0) {
				return scale + last/2*last/(last-r)
			}
			scale += (last + r) / 2
			last = r
		}
	}
	ratio := min(MeanVariance(float64(len(index)), max(round(0), 0.5)), 0.5)
	return float64(step) * max(round(c0*ratio/(1-ratio)), 0.5)
}

// coarse takes records in means of equal stretches, of step numbers each.
func coarse(index []int64, records [][]float64, step int64) ([]int64, [][]float64) {
	if step <= 1 {
		return index, records
	}
	n := len(index)
	var to []int64
	out := make([][]float64, len(records))
	for i := 0; i < n; {
		j, at := i, (index[i]-index[0])/step
		for j < n && (index[j]-index[0])/step == at {
			j++
		}
		to = append(to, at)
		for k, x := range records {
			out[k] = append(out[k], mean(x[i:j]))
		}
		i = j
	}
	return to, out
}

// autocovariance is the covariance of pairs k numbers apart, pooled over records of deviations
// from the mean:
//
//	c(k) = (1 − k/L) · mean over pairs of Σ (x(t)−m)(x(t+k)−m)
//
// where L is the span of the numbers. Without gaps this is the usual (1/N)Σ. ok is false where
// there are no pairs.
func autocovariance(index []int64, off [][]float64, k int64) (c float64, ok bool) {
	n := int64(len(index))
	span := index[n-1] - index[0] + 1
	if span == n { // no gaps
		if k >= n {
			return 0, false
		}
		for _, d := range off {
			c += floats.Dot(d[:n-k], d[k:])
		}
		return c / float64(n), true
	}
	var sum float64
	pairs, j := 0, 0
	for i := range index {
		for j < len(index) && index[j] < index[i]+k {
			j++
		}
		if j == len(index) {
			break
		}
		if index[j] != index[i]+k {
			continue
		}
		pairs++
		for _, d := range off {
			sum += d[i] * d[j]
		}
	}
	if pairs == 0 {
		return 0, false
	}
	return sum / float64(pairs) * (1 - float64(k)/float64(span)), true
}

// mean keeps the digits of values with a large mean, by differences from the first.
func mean(x []float64) float64 {
	var d float64
	for _, v := range x {
		d += v - x[0]
	}
	return x[0] + d/float64(len(x))
}
