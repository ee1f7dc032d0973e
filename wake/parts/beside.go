package parts

import (
	"cmp"
	"math"
	"slices"
)

// carries is the part of the largest drag area among the structures beside the
// vehicle that another must have to count among those that carry drag.
const carries = 0.2

// Beside are the structures beside the vehicle (not on its centre plane) that carry
// drag, by index, the largest first: those with at least a fifth of what the largest
// of them carries; of its area, where drag is not known.
func (s *Set) Beside() []int {
	size := func(i int) float64 {
		if d := s.Structures[i].DragArea; d != nil {
			return math.Abs(*d)
		}
		return s.Structures[i].Area
	}
	var out []int
	largest := 0.0
	for i, t := range s.Structures {
		if t.Side != "centre" {
			out = append(out, i)
			largest = math.Max(largest, size(i))
		}
	}
	out = slices.DeleteFunc(out, func(i int) bool { return size(i) < carries*largest })
	slices.SortStableFunc(out, func(i, j int) int { return cmp.Compare(size(j), size(i)) })
	return out
}
