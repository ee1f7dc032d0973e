package average

import (
	"reflect"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
)

// Merge adds the state t, which was read from file, to s: in whatever order and grouping
// states are merged, they give the same bytes. Both must be of the same points, quantities
// and options and share no snapshot number; else the error is a *wake.InputError that names
// file, and s is as before.
func (s *State) Merge(file string, t *State) error {
	bad := func(cure, text string, a ...any) error { return wake.Refuse(file, cure, text, a...) }
	n := s.Snapshots() + t.Snapshots()
	if !reflect.DeepEqual(s.head.Options, t.head.Options) {
		return bad("average all parts with the same --speed, --density, --pressure, --region, --symmetry, --support, --gap and --time-step", "it was averaged with other options than the others")
	}
	if n > maxSnapshots {
		return bad("merge parts of the record and compare them", "%d snapshots in all, where %d are the most", n, maxSnapshots)
	}
	if err := s.same(t.places(file)); err != nil {
		return err
	}
	merged := slices.Concat(s.head.Entries, t.head.Entries)
	slices.SortStableFunc(merged, byIndex)
	for i := 1; i < len(merged); i++ {
		if a, b := merged[i-1], merged[i]; a.Index == b.Index {
			return bad("average each part with --first, the number of its first snapshot", "snapshot number %d, %s, is there already as %s", b.Index, b.Name, a.Name)
		}
	}
	if t.head.Entries[0].Index < s.head.Entries[0].Index {
		for k := range s.pos {
			copy(s.pos[k], t.pos[k])
		}
	}
	s.head.Entries = merged
	grid.Ranges(len(s.acc)/2, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			add128(s.acc[2*i:], t.acc[2*i], t.acc[2*i+1])
		}
	})
	s.blocks.merge(&t.blocks)
	s.head.Stress = s.head.Stress || t.head.Stress
	if a, b := s.head.Density, t.head.Density; a != nil && b != nil {
		s.head.Density = &[2]float64{min(a[0], b[0]), max(a[1], b[1])}
	}
	return nil
}

func (s *State) places(file string) *wake.Samples {
	out := &wake.Samples{File: file, N: s.head.Samples, CellValues: s.head.CellValues}
	copy(out.Col[:], s.pos[:])
	for _, q := range s.head.Quantities {
		out.Col[q] = []float64{} // it has them
	}
	return out
}
