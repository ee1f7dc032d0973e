package structure

import (
	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

// BoxTime is the item "time average" of the difference of two fields' ∫ lever·w dS over
// a box (nil: all), w being the weight: with the lever (y − ȳ)/∫w, of how far the
// centroid in the box moves. lever has the field, 0 or 1, and the place. The errors are
// those of DrawTime, which end where the wake does; ok is false without them.
func BoxTime(a, b *Field, box *grid.Box, lever func(c int, p grid.Point) float64) (item uncertainty.Item, ok bool) {
	var drift [2][]float64
	for c, f := range [2]*Field{a, b} {
		if f == nil || f.time == nil {
			return uncertainty.Item{}, false
		}
		part := quad.NewWeights(f.Mesh, box)
		of := make([]float64, len(part.Weight))
		for k, w := range part.Weight {
			of[k] = w * lever(c, f.Mesh.Points[part.Sample(k)])
		}
		for _, e := range f.time.draws {
			sum := 0.0
			for k, w := range of {
				sum += w * float64(e[part.Sample(k)])
			}
			drift[c] = append(drift[c], sum)
		}
	}
	return timeItem(drift, a.time.bounded && b.time.bounded), true
}
