package vtk

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
)

// dropRepeats takes out polygons whose corners, as a set of positions, are those
// of an earlier one, with their values, and says so. Such polygons would count
// twice in every integral; they come from pieces that overlap, and from exports
// that write a surface once for each side. Hidden cells are left alone. It returns
// the flags of the cells that are left, and hides points that only the others had.
//
// Positions are compared, not numbers, since pieces number their points apart.
// They have to agree to the last bit.
func (d *Dataset) dropRepeats(hidden, hiddenPoint []bool) []bool {
	n := d.Cells.Len()
	if n < 2 {
		return hidden
	}
	hash := make([]uint64, n)
	grid.Ranges(n, func(lo, hi int) {
		for e := lo; e < hi; e++ {
			hash[e] = d.cornerHash(e)
		}
	})
	twin := twins(hash, hidden)
	first := map[uint64]int32{}
	var gone []bool
	dropped, differ := 0, 0
	for e, h := range hash {
		if hidden[e] || !twin(h) {
			continue
		}
		// Others with the same hash, if any, follow under the next keys.
		for k := h; ; k++ {
			f, ok := first[k]
			if !ok {
				first[k] = int32(e)
				break
			}
			if hash[f] != h || !d.sameCorners(e, int(f)) {
				continue
			}
			if gone == nil {
				gone = make([]bool, n)
			}
			gone[e] = true
			dropped++
			if !sameTuples(d.CellArrays, e, int(f)) {
				differ++
			}
			break
		}
	}
	if dropped == 0 {
		return hidden
	}
	note := "taken out, since they are written twice (same corners as an earlier one): " + plural(dropped, "polygon")
	if differ > 0 {
		note += fmt.Sprintf(", of which %d had other values than those kept", differ)
	}
	d.Notes = append(d.Notes, note)

	keep := make([]int32, 0, n-dropped)
	start := make([]int32, 1, n-dropped+1)
	index := d.Cells.Index[:0]
	left := hidden[:0]
	used := make([]bool, d.NumPoints())
	for e := range n {
		if !gone[e] {
			for _, id := range d.Cells.Corners(e) {
				used[id] = true
			}
		}
	}
	for e := range n {
		if gone[e] {
			for _, id := range d.Cells.Corners(e) {
				hiddenPoint[id] = hiddenPoint[id] || !used[id]
			}
			continue
		}
		index = append(index, d.Cells.Corners(e)...)
		start = append(start, int32(len(index)))
		keep = append(keep, int32(e))
		left = append(left, hidden[e])
	}
	d.Cells = Polygons{start, index}
	for i := range d.CellArrays {
		pick(&d.CellArrays[i], keep)
	}
	return left
}

// twins returns a function that is false for hashes that are there once. Few polygons
// have a twin, so a first pass finds those that may: one bit in 16 or more for each, which
// stays in the cache where a table of all would not.
func twins(hash []uint64, hidden []bool) func(h uint64) bool {
	size := uint64(64)
	for size < 16*uint64(len(hash)) {
		size *= 2
	}
	seen, again := make([]uint64, size/64), make([]uint64, size/64)
	for e, h := range hash {
		if !hidden[e] {
			w, bit := h&(size-1)/64, uint64(1)<<(h&63)
			again[w] |= seen[w] & bit
			seen[w] |= bit
		}
	}
	return func(h uint64) bool { return again[h&(size-1)/64]&(1<<(h&63)) != 0 }
}

// cornerHash does not depend on the order of the corners.
func (d *Dataset) cornerHash(e int) uint64 {
	sum := uint64(0)
	for _, id := range d.Cells.Corners(e) {
		h := uint64(0x9e3779b97f4a7c15)
		for _, v := range d.Points[3*int(id) : 3*int(id)+3] {
			h = mix(h ^ math.Float64bits(v+0)) // +0 makes −0 the same as 0
		}
		sum += h
	}
	return mix(sum)
}

// mix is the finaliser of MurmurHash3 (Appleby 2011, public domain).
func mix(h uint64) uint64 {
	h ^= h >> 33
	h *= 0xff51afd7ed558ccd
	h ^= h >> 33
	h *= 0xc4ceb9fe1a85ec53
	h ^= h >> 33
	return h
}

func (d *Dataset) sameCorners(e, f int) bool {
	a, b := d.Cells.Corners(e), d.Cells.Corners(f)
	if len(a) != len(b) {
		return false
	}
	order := func(x, y [3]float64) int { return slices.Compare(x[:], y[:]) }
	pa, pb := make([][3]float64, len(a)), make([][3]float64, len(a))
	for i := range a {
		pa[i] = [3]float64(d.Points[3*int(a[i]):])
		pb[i] = [3]float64(d.Points[3*int(b[i]):])
	}
	slices.SortFunc(pa, order)
	slices.SortFunc(pb, order)
	return slices.Equal(pa, pb)
}

func sameTuples(as []Array, e, f int) bool {
	for _, a := range as {
		c := a.Components
		for j := range c {
			x, y := a.Values[e*c+j], a.Values[f*c+j]
			if x != y && !(math.IsNaN(x) && math.IsNaN(y)) {
				return false
			}
		}
	}
	return true
}
