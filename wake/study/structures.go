package study

import (
	"cmp"
	"context"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
)

// Paths holds the parts of a wake of one configuration, followed from station to
// station: those that lie beside the vehicle and carry drag where they begin. Values
// are on the samples that all configurations share, where there is a comparison.
type Paths struct {
	Configuration string       `json:"configuration"`
	Paths         []parts.Path `json:"paths"`
}

// PathMoves sets a variant beside the baseline along the baseline's paths that begin
// at the first station.
type PathMoves struct {
	Configuration string      `json:"configuration"`
	Moves         []PathShift `json:"moves"`
}

// PathShift compares a part's path in two configurations.
type PathShift struct {
	Name string `json:"name"`
	// Points are the moves at the stations at which both have the part.
	Points []*shift.Shift `json:"points"`
}

// crossStations lists the stations normal to x in the order of their positions, of
// those at one place the first.
func (r *runner) crossStations() []int {
	out := grid.Where(len(r.stations), func(s int) bool { return r.stations[s].Normal == "x" })
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(r.stations[a].Position, r.stations[b].Position) })
	return slices.CompactFunc(out, func(a, b int) bool {
		return math.Abs(r.stations[b].Position-r.stations[a].Position) <= defaultTolerance
	})
}

// follow follows the parts of the wake through the stations: paths of each
// configuration, and moves of each variant along them.
func (r *runner) follow(context.Context) error {
	cross := r.crossStations()
	for _, cfg := range r.c.Configurations {
		var sets []*parts.Set
		var at []int
		for _, s := range cross {
			if set := r.found[s][cfg.Name]; set != nil && (len(sets) == 0 || set.Field().Position > sets[len(sets)-1].Field().Position) {
				sets, at = append(sets, set), append(at, s)
			}
		}
		if len(sets) < 2 {
			continue
		}
		paths := carrying(parts.Follow(sets), sets)
		r.out.Paths = append(r.out.Paths, Paths{Configuration: cfg.Name, Paths: paths})
		if cfg.Name == r.c.Baseline {
			r.moves(paths, sets, at)
		}
	}
	return nil
}

// carrying keeps the paths that begin beside the vehicle with a part that carries
// drag there.
func carrying(paths []parts.Path, sets []*parts.Set) []parts.Path {
	out := []parts.Path{}
	for _, p := range paths {
		for _, s := range sets {
			if s.Field().Position == p.Points[0].Position && slices.Contains(s.Beside(), s.Index(p.Name)) {
				out = append(out, p)
			}
		}
	}
	return out
}

// moves sets the variants beside the baseline along its paths that begin at the first
// station; at are the stations of the baseline's sets.
func (r *runner) moves(paths []parts.Path, sets []*parts.Set, at []int) {
	for _, cfg := range r.c.Configurations {
		if cfg.Name == r.c.Baseline {
			continue
		}
		m := PathMoves{Configuration: cfg.Name}
		for _, p := range paths {
			if p.Points[0].Position != sets[0].Field().Position {
				continue
			}
			along := PathShift{Name: p.Name, Points: []*shift.Shift{}}
			for k, q := range p.Points {
				if v := r.variant(at[k], cfg.Name); v != nil && v.Structures != nil {
					if s := v.Structures.Shift(q.Structure); s != nil {
						along.Points = append(along.Points, s)
					}
				}
			}
			m.Moves = append(m.Moves, along)
		}
		if len(m.Moves) > 0 {
			r.out.Moves = append(r.out.Moves, m)
		}
	}
}

// variant finds the comparison of a configuration at a station; nil for none.
func (r *runner) variant(station int, name string) *compare.Variant {
	o := &r.out.Stations[station]
	k := slices.Index(o.Variants, name)
	if k < 0 || o.Comparison == nil {
		return nil
	}
	return &o.Comparison.Variants[k]
}
