package study

import (
	"cmp"
	"context"
	"math"
	"slices"

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
	Configuration string             `json:"configuration"`
	Moves         []*shift.PathShift `json:"moves"`
}

// TopCheck sets the edge's move in the plane of a station beside that in a top view.
type TopCheck struct {
	Configuration string `json:"configuration"`
	Station       string `json:"station"`
	TopView       string `json:"top_view_station"`
	Structure     string `json:"structure"`
	shift.TopCheck
}

// SamePlace is a part of which two stations at one place do not say the same.
type SamePlace struct {
	Configuration string    `json:"configuration"`
	Stations      [2]string `json:"stations"`
	shift.SamePlace
}

// crossStations lists the stations normal to x in the order of their positions, of
// those at one place the first.
func (r *runner) crossStations() []int {
	var out []int
	for s, st := range r.stations {
		if st.Normal == "x" {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(r.stations[a].Position, r.stations[b].Position) })
	return slices.CompactFunc(out, func(a, b int) bool {
		return math.Abs(r.stations[b].Position-r.stations[a].Position) <= defaultTolerance
	})
}

// follow follows the parts of the wake through the stations: paths of each
// configuration, moves of each variant along them, and beside the top views.
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
		paths, err := parts.Follow(sets)
		if err != nil {
			return err
		}
		paths = carrying(paths, sets)
		r.out.Paths = append(r.out.Paths, Paths{Configuration: cfg.Name, Paths: paths})
		if cfg.Name == r.c.Baseline {
			r.moves(paths, sets, at)
		}
	}
	r.samePlaces()
	r.besideTops(cross)
	return nil
}

// samePlaces looks for parts beside the vehicle of which two stations at one place do
// not say the same.
func (r *runner) samePlaces() {
	for j, second := range r.stations {
		for i, first := range r.stations[:j] {
			if first.Normal != "x" || second.Normal != "x" || !(math.Abs(first.Position-second.Position) <= defaultTolerance) {
				continue
			}
			a, b := r.found[i][r.c.Baseline], r.found[j][r.c.Baseline]
			for _, cfg := range r.c.Configurations {
				v, w := r.variant(i, cfg.Name), r.variant(j, cfg.Name)
				if a == nil || b == nil || v == nil || w == nil || v.Structures == nil || w.Structures == nil {
					continue
				}
				for _, k := range a.Beside() {
					name := a.Structures[k].Name
					m, n := v.Structures.Shift(name), w.Structures.Shift(parts.Alike(a, b, name))
					if m == nil || n == nil {
						continue
					}
					if p, ok := shift.NewSamePlace(a, b, m, n, [2]string{first.Name, second.Name}); ok {
						r.out.SamePlaces = append(r.out.SamePlaces, SamePlace{cfg.Name, [2]string{first.Name, second.Name}, p})
					}
				}
			}
		}
	}
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

// moves sets the variants beside the baseline along its paths from the first
// station; at are the stations of the baseline's sets.
func (r *runner) moves(paths []parts.Path, sets []*parts.Set, at []int) {
	for _, cfg := range r.c.Configurations {
		if cfg.Name == r.c.Baseline {
			continue
		}
		m := PathMoves{Configuration: cfg.Name, Moves: []*shift.PathShift{}}
		for _, p := range paths {
			if p.Points[0].Position != sets[0].Field().Position {
				continue
			}
			m.Moves = append(m.Moves, shift.Along(p, sets, func(k int, name string) (*shift.Shift, string) {
				v := r.variant(at[k], cfg.Name)
				if v == nil || v.Structures == nil {
					return nil, r.stations[at[k]].Name + ": no comparison there"
				}
				if s := v.Structures.Shift(name); s != nil {
					return s, ""
				}
				return nil, v.Structures.Match.Lost(sets[k], name)
			}))
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

// besideTops sets the outlines' moves at the height of each top view beside the
// moves of its edges: over the rows within a sample distance and a half of its
// height, and the columns as near to the station. Both are means over the same time of
// one flow, so what that time was too short for is common to them and in neither
// budget.
func (r *runner) besideTops(cross []int) {
	_, moves := r.c.Parts()
	for top, st := range r.stations {
		if st.Normal != "z" {
			continue
		}
		for _, cfg := range r.c.Configurations {
			v := r.variant(top, cfg.Name)
			if v == nil || v.TopView == nil {
				continue
			}
			for _, s := range cross {
				w := r.variant(s, cfg.Name)
				a, b := r.found[s][r.c.Baseline], r.found[s][cfg.Name]
				if w == nil || w.Structures == nil || a == nil || b == nil || len(w.Structures.Shifts) == 0 {
					continue
				}
				for _, i := range a.Beside() {
					t := a.Structures[i]
					k := slices.IndexFunc(w.Structures.Shifts, func(m *shift.Shift) bool { return m.A == t.Name })
					near := 1.5 * a.Field().Mesh.Spacing()
					z := v.TopView.Height
					if k < 0 || !(math.Max(t.Box.Min.Y, 0) <= z-near && z+near <= t.Box.Max.Y) {
						continue
					}
					opt := moves
					opt.Side = w.Structures.Shifts[k].Side
					opt.Band, opt.Measures = [2]float64{z - near, z + near}, []string{shift.MeasureEdge}
					m, err := shift.Between(a, b, t.Name, w.Structures.Shifts[k].B, opt)
					if err != nil {
						// Nothing at that height to set beside.
						continue
					}
					if check, ok := v.TopView.Beside(m, near); ok {
						r.out.TopChecks = append(r.out.TopChecks, TopCheck{
							Configuration: cfg.Name, Station: r.stations[s].Name, TopView: st.Name, Structure: t.Name, TopCheck: check,
						})
					}
				}
			}
		}
	}
}
