package survey

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/wake"
)

// columnar is what a file holds that has whole columns instead of lines.
type columnar struct {
	name string
	// heads has one entry a column; it is nil where columns have numbers alone.
	heads  []heading
	fields int
	n      int
	// col returns a column in a slice of its own.
	col func(field int) []float64
	// hidden rows are passed over without being counted; nil for none.
	hidden []bool
	// word is what a row is: point, cell, row.
	word string
	// missing allows positions without value, whose rows are dropped like others.
	missing bool
}

// samples settles the columns and makes Samples of them. Row keep[i] became sample
// i; keep is nil when all rows did.
func (c *columnar) samples(opt *Options) (s *wake.Samples, keep []int32, l *layout) {
	l = c.layout(opt)
	table := &table{n: c.n}
	drop := slices.Clone(c.hidden)
	for slot, q := range l.quantity {
		v := c.col(l.cols[q].field)
		for i, x := range v {
			if c.hidden != nil && c.hidden[i] || x-x == 0 {
				continue
			}
			if math.IsInf(x, 0) || q <= wake.Z && !c.missing {
				refuse(l.name, 0, 0, fmt.Sprintf("%s is %g in %s %d", q, x, c.word, i+1), "export the plane again, or leave the "+c.word+" out")
			}
			if drop == nil {
				drop = make([]bool, c.n)
			}
			drop[i] = true
			table.lost[slot]++
		}
		table.cols = append(table.cols, v)
	}
	if slices.Contains(drop, true) {
		keep = make([]int32, 0, c.n)
		for i, gone := range drop {
			switch {
			case !gone:
				keep = append(keep, int32(i))
			case c.hidden == nil || !c.hidden[i]:
				table.dropped++
			}
		}
		for slot, v := range table.cols {
			table.cols[slot] = gather(v, keep)
		}
		table.n = len(keep)
	}
	return l.samples(table), keep, l
}

func gather(v []float64, keep []int32) []float64 {
	for i, k := range keep {
		v[i] = v[k]
	}
	return v[:len(keep)]
}

func (c *columnar) layout(opt *Options) *layout {
	return assign(c.name, &dialect{fields: c.fields, headings: c.heads}, opt)
}

// quantities lists the columns besides the positions that can be settled.
func (c *columnar) quantities(opt *Options) (found []wake.Quantity, err error) {
	err = wake.Attempt(func() {
		for _, q := range c.layout(opt).quantity {
			if q > wake.Z {
				found = append(found, q)
			}
		}
	})
	return found, err
}
