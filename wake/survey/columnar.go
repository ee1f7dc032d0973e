package survey

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"wakeledger/grid"
	"wakeledger/wake"
)

// columnar is what a file holds that has whole columns instead of lines.
type columnar struct {
	name string
	// heads has one entry a column; it is nil where columns have numbers alone.
	heads []heading
	// col makes the values of a column, in a slice of its own.
	col []func() []float64
	n   int
	// word is what a row is: point, cell, row.
	word string
	// missing allows positions without value, whose rows are dropped like others.
	missing bool
	doubts  []wake.Warning
}

// array is an array of a file, of which each component is a column.
type array struct {
	name  string
	comps int
	own   []string // names of the components, where the file has some
	value func(c int) []float64
}

func (c *columnar) add(h heading, col func() []float64) {
	c.heads, c.col = append(c.heads, h), append(c.col, col)
}

// tensors are the names of the components of arrays that have so many.
var tensors = map[int][]string{
	3: {"x", "y", "z"},
	6: {"xx", "yy", "zz", "xy", "yz", "xz"},
	9: {"xx", "xy", "xz", "yx", "yy", "yz", "zx", "zy", "zz"},
}

// addArray adds the components of an array: by rules that hold for headers, of vectors the
// letters, of tensors the normal components; by their own names where these are understood.
func (c *columnar) addArray(a array) {
	base := parseHeading(a.name)
	if a.comps == 1 {
		c.add(base, func() []float64 { return a.value(0) })
		return
	}
	letters := tensors[a.comps]
	named := slices.ContainsFunc(a.own, func(own string) bool { return vectorMeaning(a.name, own).known() })
	normal := a.comps != 6 || named || c.libraryOrder(a)
	for k := range a.comps {
		h := heading{raw: a.name + ":" + strconv.Itoa(k), name: base.name, unit: base.unit, odd: base.odd, meaning: unknown}
		letter, own := "", named && (a.comps == 6 || a.own[k] != "")
		switch {
		case own:
			letter = a.own[k]
		case letters != nil:
			letter = letters[k]
		}
		if letter != "" {
			h.name += "_" + letter
			if own || normal && (len(letter) == 1 || letter[0] == letter[1]) {
				h.meaning = vectorMeaning(a.name, letter)
			}
		}
		c.add(h, func() []float64 { return a.value(k) })
	}
}

// vectorMeaning is what a component of a vector or tensor array is.
func vectorMeaning(array, component string) meaning {
	m := classify(parseHeading(array).name + "_" + component)
	if m.vector != "" {
		return unknown
	}
	return m
}

// libraryOrder reports whether a tensor of six whose components have no names may have the VTK
// library's order, xx yy zz xy yz xz, and says so. Other writers have others, and a normal stress is
// nowhere negative.
func (c *columnar) libraryOrder(a array) bool {
	if !vectorMeaning(a.name, "xx").known() {
		return false
	}
	text, order := "the order xx yy zz xy yz xz is taken", true
	for k := range 3 {
		if slices.ContainsFunc(a.value(k), func(x float64) bool { return x < 0 }) {
			text, order = "one of the first three is negative somewhere, so these are no normal stresses, and all are left out", false
		}
	}
	c.doubts = append(c.doubts, wake.Doubt("tensor-order", c.name, "check the order, or name components with --column uu=\""+a.name+":0\"",
		"the components of the tensor %q have no names that are understood: %s", a.name, text))
	return order
}

// samples settles the columns and makes Samples of them. Row keep[i] became sample
// i; keep is nil when all rows did.
func (c *columnar) samples(opt *Options) (s *wake.Samples, keep []int32, l *layout) {
	l = c.layout(opt)
	table := &table{n: c.n}
	var drop []bool
	for slot, q := range l.quantity {
		v := c.col[l.cols[q].field]()
		for i, x := range v {
			if x-x == 0 {
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
	if drop != nil {
		keep = grid.Where(c.n, func(i int32) bool { return !drop[i] })
		for slot, v := range table.cols {
			table.cols[slot] = gather(v, keep)
		}
		table.n, table.dropped = len(keep), c.n-len(keep)
	}
	s = l.samples(table)
	s.Warnings = append(c.doubts, s.Warnings...)
	return s, keep, l
}

func gather(v []float64, keep []int32) []float64 {
	for i, k := range keep {
		v[i] = v[k]
	}
	return v[:len(keep)]
}

func (c *columnar) layout(opt *Options) *layout {
	return assign(c.name, &dialect{fields: len(c.col), header: header{headings: c.heads}}, opt)
}
