package average

import "math"

// Values are those of the series in the order of the snapshots' numbers.
func (v *Series) Values() []float64 { return append([]float64(nil), v.values...) }

// Numbers are those of the snapshots, in order.
func (r *Result) Numbers() []int64 { return r.plane.index }

// Running is the mean of the first k values for each k: where it still wanders at the
// end, the record is too short for a mean. Neumaier's sum keeps rounding out of it.
func (v *Series) Running() []float64 {
	out := make([]float64, len(v.values))
	sum, rest := 0.0, 0.0
	for k, x := range v.values {
		t := sum + x
		if math.Abs(sum) >= math.Abs(x) {
			rest += (sum - t) + x
		} else {
			rest += (x - t) + sum
		}
		sum = t
		out[k] = (sum + rest) / float64(k+1)
	}
	return out
}
