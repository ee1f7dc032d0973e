package grid

import "math"

// Median is the upper median of the values, which it reorders: the one that sorting
// would put at place len/2. NaN for no values; among values that are NaN the result
// is any. It partitions about a middle value instead of sorting (Hoare 1961, CACM 4,
// 321, from memory).
func Median(a []float64) float64 {
	if len(a) == 0 {
		return math.NaN()
	}
	k, lo, hi := len(a)/2, 0, len(a)-1
	for lo < hi {
		p := max(min(a[lo], a[hi]), min(max(a[lo], a[hi]), a[lo+(hi-lo)/2]))
		i, j := lo-1, hi+1
		for {
			for i++; a[i] < p; i++ {
			}
			for j--; a[j] > p; j-- {
			}
			if i >= j {
				break
			}
			a[i], a[j] = a[j], a[i]
		}
		// a[lo..j] ≤ p ≤ a[j+1..hi]
		if j >= hi {
			j = hi - 1 // NaN alone: go on with one less
		}
		if k <= j {
			hi = j
		} else {
			lo = j + 1
		}
	}
	return a[k]
}
