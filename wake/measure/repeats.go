package measure

import (
	"math"
	"slices"

	"wakeledger/wake/uncertainty"
)

// Mirrored is the index of the box that is the mirror image of box k about y = 0, to a
// thousandth of its width; −1 without one.
func Mirrored(boxes []Box, k int) int {
	a := boxes[k].Box
	near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-3*a.Width() }
	return slices.IndexFunc(boxes, func(o Box) bool {
		b := o.Box
		return o != boxes[k] && near(a.Min.X, -b.Max.X) && near(a.Max.X, -b.Min.X) && near(a.Min.Y, b.Min.Y) && near(a.Max.Y, b.Max.Y)
	})
}

// Pool is what each headline number scatters by when a survey is repeated: the standard
// deviation of one run, pooled over configurations, and its degrees of freedom Σ(nᵢ−1). groups
// holds, by configuration, the numbers of its runs. A number that a run lacks (NaN) is left
// out; with no configuration of two runs it has 0 degrees of freedom.
//
// The same number of two boxes that are mirror images has one scatter, the root mean square
// of both: with few runs either alone is small or large by chance. Its degrees of freedom
// are those of one box, since the two sides of a wake move together.
func Pool(l Layout, boxes []Box, groups [][]Vector) (sd, dof []float64) {
	for i := range l.len() {
		var samples []uncertainty.Sample
		for _, runs := range groups {
			var v []float64
			for _, run := range runs {
				if i < len(run) && !math.IsNaN(run[i]) {
					v = append(v, run[i])
				}
			}
			samples = append(samples, uncertainty.NewSample(v))
		}
		s, nu := uncertainty.Pooled(samples...)
		sd, dof = append(sd, s), append(dof, nu)
	}
	for k := range min(len(boxes), l.Regions) {
		o := Mirrored(boxes, k)
		if o < k {
			continue
		}
		for i := l.start(k); i < l.start(k+1); i++ {
			if j := i + l.start(o) - l.start(k); dof[i] > 0 && dof[j] > 0 {
				sd[i] = math.Hypot(sd[i], sd[j]) / math.Sqrt2
				dof[i] = math.Min(dof[i], dof[j])
				sd[j], dof[j] = sd[i], dof[i]
			}
		}
	}
	return sd, dof
}
