package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake/parts"
	"wakeledger/wake/study"
)

// pathName is how a path's structure is called at a station.
func pathName(p parts.Path, at parts.PathPoint) string {
	if at.Structure == p.Name {
		return clean(p.Name)
	}
	return clean(p.Name) + " (" + clean(at.Structure) + ")"
}

// pathTable lists the parts of the wake along x, one path after the other, with the
// configurations beneath each other.
func pathTable(o *study.Outcome) *Table {
	g := NewTable("part", ">x", ">y", ">z", ">left edge", ">right edge", ">σy", ">σz", ">area", ">drag")
	for _, c := range o.Paths {
		// One order in all configurations, however they were found.
		paths := slices.SortedStableFunc(slices.Values(c.Paths), func(a, b parts.Path) int { return cmp.Compare(a.Name, b.Name) })
		for _, p := range paths {
			if len(p.Points) < 2 {
				continue
			}
			g.row(clean(c.Configuration) + ":")
			for _, q := range p.Points {
				g.Add("  "+pathName(p, q), fixed(q.Position, 2), fixed(q.Centroid[0], lengthDecimals), fixed(q.Centroid[1], lengthDecimals),
					optional(q.LeftEdge, lengthDecimals), optional(q.RightEdge, lengthDecimals), fixed(q.Spread[0], lengthDecimals), fixed(q.Spread[1], lengthDecimals),
					fixed(q.Area, 3), optional(q.DragArea, areaDecimals-1)) // nothing judges it
			}
		}
	}
	return g.titled("Parts of the wake along x (m, m²)", strings.Join(pathWords(o), "\n"))
}

// pathWords say where the paths of each configuration end before the last station.
func pathWords(o *study.Outcome) (out []string) {
	for _, c := range o.Paths {
		var ends []string
		for _, p := range c.Paths {
			if p.End != "last station" {
				ends = append(ends, fmt.Sprintf("after x = %s m %s", fixed(p.Points[len(p.Points)-1].Position, 2), clean(p.End)))
			}
		}
		if ends != nil {
			out = append(out, clean(c.Configuration)+": "+strings.Join(ends, "; "))
		}
	}
	return out
}
