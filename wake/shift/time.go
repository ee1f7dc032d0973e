package shift

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
)

// drift is what the time average's errors of each field make of a move with the given
// influence of every place on it: one number a draw; nil for a field without draws.
func (w *window) drift(gain [2][]float64) (out [2][]float64) {
	for c, f := range w.fields {
		if f.Time == nil {
			continue
		}
		of, samples := w.influence(c, gain[c]), w.whole.Same(f.Mesh)
		out[c] = make([]float64, len(f.Time))
		for d, e := range f.Time {
			at := func(i int) float64 { return float64(e[i]) }
			switch {
			case samples:
				at = func(k int) float64 {
					return float64(e[f.Mesh.Lattice.At(k%w.r.NX+w.from[0], k/w.r.NX+w.from[1])])
				}
			case w.shares[c] == nil:
				// Places are corners of cells, or between these, which are means of samples.
				placed := w.sampled(f.Mesh, grid.Fill(len(e), at))
				at = func(k int) float64 { return placed[k] }
			}
			for i, g := range of {
				if g != 0 {
					out[c][d] += g * at(i)
				}
			}
		}
	}
	return out
}

// together is the mean product of two moves' drifts, m²: their covariance from the
// time average. The two fields err each by itself, and no error has a mean.
func together(a, b [2][]float64) float64 {
	sum := 0.0
	for c := range a {
		if len(a[c]) == 0 || len(b[c]) != len(a[c]) {
			continue
		}
		s := 0.0
		for d, v := range a[c] {
			s += v * b[c][d]
		}
		sum += s / float64(len(a[c]))
	}
	return sum
}

// timeItem is the item of a move with the given drift between two fields with draws.
func timeItem(drift [2][]float64) uncertainty.Item {
	return uncertainty.Item{Name: "time average", Category: uncertainty.TimeAverage, Kind: uncertainty.Random, Standard: math.Sqrt(together(drift, drift)), DOF: new(float64(len(drift[0]) + len(drift[1])))}
}

// timed reports whether both fields have draws.
func timed(fields [2]*parts.Field) bool {
	return fields[0] != nil && fields[1] != nil && fields[0].Time != nil && fields[1].Time != nil
}
