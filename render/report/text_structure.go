package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"wakeledger/wake/measure"
)

// structureTitle heads structureTable with its units.
const structureTitle = "Parts of the wake, found from the field (m, m²; Γ is the circulation, m²/s)"

// structureTable lists the parts of a wake that were found in the field, highest
// peak first; "mirror" is the number of the part that this one is a mirror image of.
func structureTable(r *measure.Result) *Table {
	g := NewTable(">no", "part", ">drag", ">area", ">y", ">z", ">σy", ">σz", ">peak", ">Γ", ">persists", ">mirror")
	number := map[string]string{}
	for i, t := range r.Structures {
		number[t.Name] = strconv.Itoa(i + 1)
	}
	for _, t := range r.Structures {
		g.Add(number[t.Name], clean(t.Name), optional(t.DragArea, areaDecimals), fixed(t.Area, 3),
			fixed(t.Centroid[0], lengthDecimals), fixed(t.Centroid[1], lengthDecimals), fixed(t.Spread[0], lengthDecimals), fixed(t.Spread[1], lengthDecimals),
			threeDigits(t.Peak), known(t.Circulation, 1, signed, 2), fixed(100*t.Persistence, 0)+" %", number[t.MirrorOf])
	}
	if r.StructureRule != nil && r.StructureRule.Rest != nil && len(g.Rows) > 0 {
		g.Add("", "outside all", fixed(*r.StructureRule.Rest, areaDecimals))
	}
	return g
}

// threeDigits prints a number with three significant digits.
func threeDigits(x float64) string {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return fixed(x, 0)
	}
	return fixed(x, max(0, 2-int(math.Floor(math.Log10(math.Abs(x))))))
}

// structureWords is the rule that the parts depend on.
func structureWords(r *measure.StructureRule) string {
	s := clean(r.Text)
	if r.Weight != "" {
		s = "weight " + clean(r.Weight) + " counted from " + short(r.Level) + ", its mean on the open edge; " + s
	}
	return s
}

// partTables are the parts of a wake with their rule, and the edges of a top view; of
// follows their titles.
func partTables(r *measure.Result, of string) []titled {
	var out []titled
	if t := structureTable(r); len(t.Rows) > 0 {
		parts := titled{title: structureTitle + of, table: t, detail: true}
		if r.StructureRule != nil {
			parts.text = "rule: " + structureWords(r.StructureRule) + "; a part persists, by itself, while the threshold falls by that share of its peak"
		}
		out = append(out, parts)
	}
	if t := r.TopView; t != nil {
		out = append(out, titled{title: "Edges of the wake, top view at z = " + fixed(t.Height, lengthDecimals) + " m" + of, table: topTable(t), text: topWords(t)})
	}
	return out
}

// topRows is about how many rows of a top view are printed.
const topRows = 16

// topTable lists the wake's edges in a plane normal to z, at about topRows of its
// columns.
func topTable(t *measure.TopEdges) *Table {
	g := NewTable(">x m", ">left edge y m", ">right edge y m", ">width m")
	for _, c := range every(t.Columns, topRows) {
		if c.Left != nil || c.Right != nil {
			g.Add(fixed(c.X, lengthDecimals), optional(c.Left, lengthDecimals), optional(c.Right, lengthDecimals), optional(c.Width, lengthDecimals))
		}
	}
	return g
}

// every takes about n of a list, evenly.
func every[T any](list []T, n int) []T {
	var out []T
	for part := range slices.Chunk(list, max(1, (len(list)+n-1)/n)) {
		out = append(out, part[0])
	}
	return out
}

func topWords(t *measure.TopEdges) string {
	return fmt.Sprintf("rule: from outside, the first of three samples in a row at or above %s of the weight, counted from %s, its mean on the open edge; %s columns, all of them in the JSON; no drag is claimed from such a plane",
		short(t.Threshold), short(t.Level), thousands(len(t.Columns)))
}
