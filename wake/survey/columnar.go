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
func (c *columnar) samples(opt *Options) (s *wake.Samples, keep []int32, cols [wake.NumQuantities]column, err error) {
	d := &dialect{fields: c.fields, headings: c.heads}
	cols, ignored, doubts, err := assign(c.name, d, opt)
	if err != nil {
		return nil, nil, cols, err
	}
	p := newPlan(c.name, d, &cols)
	table := &table{n: c.n}
	drop := slices.Clone(c.hidden)
	for slot, q := range p.quantity {
		v := c.col(cols[q].field)
		for i, x := range v {
			if c.hidden != nil && c.hidden[i] || x-x == 0 {
				continue
			}
			if math.IsInf(x, 0) || q <= wake.Z && !c.missing {
				return nil, nil, cols, &wake.InputError{File: c.name, Text: fmt.Sprintf("%s is %g in %s %d", q, x, c.word, i+1), Cure: "export the plane again, or leave the " + c.word + " out"}
			}
			if drop == nil {
				drop = make([]bool, c.n)
			}
			drop[i] = true
			table.lost[slot]++
		}
		table.cols = append(table.cols, v)
	}
	if drop != nil && slices.Contains(drop, true) {
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
			for i, k := range keep {
				v[i] = v[k]
			}
			table.cols[slot] = v[:len(keep)]
		}
		table.n = len(keep)
	}
	f := &finisher{name: c.name, d: d, opt: opt, cols: &cols, p: p, table: table}
	if s, err = f.samples(); err != nil {
		return nil, nil, cols, err
	}
	s.LineOf = nil
	s.Ignored = ignored
	s.Warnings = append(doubts, s.Warnings...)
	return s, keep, cols, nil
}

// quantities counts the columns besides the positions that can be settled.
func (c *columnar) quantities(opt *Options) (found []wake.Quantity, err error) {
	cols, _, _, err := assign(c.name, &dialect{fields: c.fields, headings: c.heads}, opt)
	if err != nil {
		return nil, err
	}
	for q := wake.U; q < wake.NumQuantities; q++ {
		if cols[q].present && cols[q].field >= 0 {
			found = append(found, q)
		}
	}
	return found, nil
}
