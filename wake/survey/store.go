package survey

import (
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
)

// store holds the columns while blocks are parsed into them side by side. Each
// block gets room for as many rows as it can hold, right after the block before
// it; where blocks have no rows to skip, the columns are finished without a copy.
type store struct {
	slabs []slab
	parts []*part // of all blocks, in their order
	total int
}

type slab struct {
	cols      [][]float64
	used, cap int
}

// part is one block's room in a slab, and what was put there.
type part struct {
	parsed
	index, line int // of the block, and of its first line
	slab, at    int
	cols        [][]float64
}

// table is the parsed file, one slice a slot of the layout.
type table struct {
	cols    [][]float64
	n       int
	dropped int
	lost    [wake.NumQuantities]int
	passed  []int // lines, see parsed
}

// take reserves room for a block of n bytes and lines lines, in which a row of k fields
// takes k bytes at least; left is the estimate of the bytes of text still to come, −1
// where there is none. It is false where there are too many rows.
func (s *store) take(p *layout, n, lines int, left int64) (*part, bool) {
	rows := min(lines, n/p.d.fields+1)
	if s.total += rows; s.total > maxSamples {
		return &part{index: len(s.parts)}, false
	}
	if k := len(s.slabs) - 1; k < 0 || s.slabs[k].cap-s.slabs[k].used < rows {
		size := rows
		switch {
		case left > 0:
			// Rows as long as those of this block, and a little for chance.
			size += int(float64(left) * float64(rows) / float64(n) * 1.03)
		case left < 0 && k >= 0:
			size = max(size, s.slabs[k].cap*2)
		}
		s.slabs = append(s.slabs, slab{cols: grid.Fill(len(p.quantity), func(int) []float64 { return make([]float64, size) }), cap: size})
	}
	k := len(s.slabs) - 1
	out := &part{index: len(s.parts), slab: k, at: s.slabs[k].used, cols: make([][]float64, len(p.quantity))}
	for i, c := range s.slabs[k].cols {
		out.cols[i] = c[out.at : out.at+rows : out.at+rows]
	}
	s.slabs[k].used += rows
	s.parts = append(s.parts, out)
	return out, true
}

func (s *store) join() *table {
	t := &table{}
	n := 0
	for _, p := range s.parts {
		t.passed = append(t.passed, p.passed...)
		t.dropped += p.dropped
		for i, l := range p.lost {
			t.lost[i] += l
		}
		n += p.rows
	}
	t.n = n
	if len(s.slabs) == 0 {
		return t
	}
	t.cols = make([][]float64, len(s.slabs[0].cols))
	for c := range t.cols {
		to := s.slabs[0].cols[c]
		if len(to) < n {
			to = make([]float64, n)
		}
		at := 0
		for _, p := range s.parts {
			// In the first slab rows only move down, over what has moved before.
			if from := s.slabs[p.slab].cols[c][p.at : p.at+p.rows]; len(from) > 0 && &from[0] != &to[at] {
				copy(to[at:], from)
			}
			at += p.rows
		}
		t.cols[c] = to[:n]
		if cap(to) > n+n/8 {
			t.cols[c] = slices.Clone(to[:n])
		}
		for k := range s.slabs {
			s.slabs[k].cols[c] = nil // lets the collector have it before the next
		}
	}
	return t
}
