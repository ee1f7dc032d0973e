package quad

import "wakeledger/grid"

// block is the number of terms that one partial sum covers. It fixes the order
// of the additions, whatever the number of threads.
const block = 1 << 15

// strip is how many terms are added plainly before the sum is compensated: the
// rounding of so few additions is below 1e-14 of the largest partial sum.
const strip = 64

// sums adds n-component terms: f adds term i to v. Each strip is added plainly,
// strips are compensated, and blocks are spread over all processors.
func sums(terms, n int, f func(i int, v []float64)) []float64 {
	part := make([][]grid.Sum, (terms+block-1)/block)
	grid.Parallel(len(part), func(b int) {
		acc, v := make([]grid.Sum, n), make([]float64, n)
		hi := min(terms, (b+1)*block)
		for lo := b * block; lo < hi; lo += strip {
			clear(v)
			for i := lo; i < min(hi, lo+strip); i++ {
				f(i, v)
			}
			for k := range acc {
				acc[k].Add(v[k])
			}
		}
		part[b] = acc
	})
	out := make([]float64, n)
	for k := range out {
		var s grid.Sum
		for _, p := range part {
			s.Add(p[k].Value())
		}
		out[k] = s.Value()
	}
	return out
}
