package wake

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid"
)

const (
	// rowProbe is how many samples tell whether all lie in rows.
	rowProbe = 4096
	// rowSamples is how many samples a row has at least, and fewRows how many rows there
	// are: fewer groups may be clusters, or samples with a slipped coordinate.
	rowSamples, fewRows = 3, 4
	// farApart: rows further apart than this many distances of their samples are joined in
	// stretched coordinates. The mesher finds no gaps between irregular samples below it.
	// Lines nearer together than their samples are no rows: the centres of cells of several
	// sizes lie on such.
	farApart = 3
)

// rowScale is what the second coordinate is multiplied by so that samples in rows lie as
// far apart along them as across, a power of two, which changes no digits; 1 where they
// do not lie in rows or need no stretching. Rows that a traverse has left, with a little
// scatter about their lines, are no lattice, and if they are far apart the gaps between
// them are as large as a body's.
func rowScale(points []grid.Point) float64 {
	n := len(points)
	step := max(1, n/rowProbe)
	var x, y []float64
	for i := 0; i < n; i += step {
		x, y = append(x, points[i].X), append(y, points[i].Y)
	}
	rows, columns := rowsOf(y), rowsOf(x)
	extent := func(v []float64) float64 { return v[len(v)-1] - v[0] } // rowsOf sorts
	along := func(rows int) float64 { return max(1, float64(n)/float64(rows)-1) }
	var ratio float64
	switch {
	case rows > 0 && columns > 0:
		ratio = extent(y) / float64(rows-1) / (extent(x) / float64(columns-1))
	case rows > 0:
		ratio = max(1, extent(y)/float64(rows-1)/(extent(x)/along(rows)))
	case columns > 0:
		ratio = min(1, extent(y)/along(columns)/(extent(x)/float64(columns-1)))
	default:
		return 1
	}
	if ratio < farApart && ratio > 1.0/farApart {
		return 1
	}
	return math.Exp2(-math.Round(math.Log2(ratio)))
}

// rowsOf sorts the values and counts the groups that they fall into, none wider than the
// least gap between them; 0 where they do not.
func rowsOf(v []float64) int {
	slices.Sort(v)
	gaps := grid.Fill(len(v)-1, func(i int) float64 { return v[i+1] - v[i] })
	least := slices.Clone(gaps)
	slices.SortFunc(least, func(a, b float64) int { return cmp.Compare(b, a) })
	// The gaps between rows are the largest, and the next is within one.
	rows, jump := 0, 0.0
	for k := 1; k < len(v)/rowSamples; k++ {
		if r := least[k-1] / least[k]; r > jump {
			rows, jump = k+1, r
		}
	}
	if rows < fewRows {
		return 0
	}
	between := least[rows-2]
	for i := 0; i < len(v); {
		j := i + 1
		for j < len(v) && gaps[j-1] < between {
			j++
		}
		if v[j-1]-v[i] > between || j-i < rowSamples {
			return 0
		}
		i = j
	}
	return rows
}
