package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/study"
)

// pathSentences are those on the parts of the wake at each station, in the order of
// the stations' file, by configuration in the order of the study.
func pathSentences(o *study.Outcome, configuration string) []finding {
	var out []finding
	seen := map[string]bool{}
	for _, st := range o.Stations {
		// A window and the whole section at one place say nearly the same.
		place := fixed(st.Position, 2)
		if st.Comparison == nil || st.Normal != "x" || seen[place] {
			continue
		}
		seen[place] = true
		if v := variantOf(&st, configuration); v != nil && v.Structures != nil {
			out = append(out, foremostMoves(v.Structures)...)
		}
	}
	return out
}

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
	return g
}

// pathEnds says where the paths of each configuration end before the last station, and how.
func pathEnds(o *study.Outcome) []string {
	var out []string
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

// structuresAt are the parts of a variant's wake at a place; nil for none.
func structuresAt(o *study.Outcome, configuration string, x float64) *compare.Structures {
	for _, st := range o.Stations {
		if v := variantOf(&st, configuration); v != nil && st.Normal == "x" && math.Abs(st.Position-x) < 5e-3 && v.Structures != nil {
			return v.Structures
		}
	}
	return nil
}

// pathMoveTables list the moves of each variant along the baseline's paths, one path
// to a table.
func pathMoveTables(o *study.Outcome) []*Table {
	var out []*Table
	for _, c := range o.Moves {
		for _, p := range c.Moves {
			g := NewTable(append([]string{">x m"}, moveHead...)...)
			for _, m := range p.Points {
				g.Add(append([]string{fixed(m.Position, 2)}, moveCells(m, structuresAt(o, c.Configuration, m.Position))...)...)
			}
			words := clean(strings.Join(p.Missing, "; "))
			if len(out) == 0 {
				words = strings.TrimPrefix(words+". "+waysWords, ". ")
			}
			out = append(out, g.titled(clean(p.Name)+", "+clean(c.Configuration)+" minus "+clean(o.Baseline)+", mm inboard (± 95 %)", words))
		}
	}
	return out
}

// waysWords say in short what the four measures are, once.
const waysWords = "A move is that of the centroid, of the edge (the outer outline), of the profile (the weight summed over the height) or by registration (the shift that lays one field best on the other)"

const (
	pathTitle = "Parts of the wake along x (m, m²)"
)

// paths prints what became of the parts of the wake through the stations.
func (s *sheet) paths(o *study.Outcome) {
	s.foremostSentences(o)
	s.Table(pathTitle, pathTable(o))
	s.words("", pathEnds(o))
	s.tables(6, pathMoveTables(o)...)
}

// sidesOfWake: the sentences on a wake come by pairs, left and right.
const sidesOfWake = 2

// foremostSentences prints what became of the parts of each variant's wake at the foremost
// station; the tables have the others.
func (s *sheet) foremostSentences(o *study.Outcome) {
	for _, c := range o.Configurations {
		if list := pathSentences(o, c.Name); len(list) > 0 {
			s.Section(Head, "The parts of the wake, "+clean(c.Name))
			for _, f := range list[:min(len(list), sidesOfWake)] {
				s.Hang(f.Where+f.Text, 2, 6)
			}
		}
	}
}

func (s *sheet) words(title string, list []string) {
	if len(list) == 0 {
		return
	}
	if title != "" {
		s.Section(Head, title)
	}
	for _, w := range list {
		s.Hang(w, 2, 6)
	}
}
