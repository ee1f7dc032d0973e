package structure

import (
	"fmt"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// PathPoint is a structure at one station.
type PathPoint struct {
	Position  float64    `json:"position_m"`
	Structure string     `json:"structure"`
	Centroid  [2]float64 `json:"centroid_m"`
	Spread    [2]float64 `json:"spread_m"`
	Area      float64    `json:"area_m2"`
	DragArea  *float64   `json:"drag_area_m2,omitempty"`
	// LeftEdge and RightEdge are the outlines' mean y within one spread of the
	// centroid's height, m; nil where the outline is not free.
	LeftEdge  *float64 `json:"left_edge_m,omitempty"`
	RightEdge *float64 `json:"right_edge_m,omitempty"`
	// Score is that of the match with the point before.
	Score float64 `json:"score,omitempty"`
}

// Path is a structure followed from station to station.
type Path struct {
	// Name is the structure's at its first station.
	Name   string      `json:"name"`
	Points []PathPoint `json:"points"`
	// Begin and End say how it comes and goes: at the first or the last station, or
	// by the event there.
	Begin string `json:"begin"`
	End   string `json:"end"`
}

// Follow joins the structures of one configuration's stations, which must come in
// the order of their positions, by the rules of Match from each station to the next,
// save that a path keeps to its side: a part beside the vehicle that becomes one of
// the wake in the middle has merged into that.
func Follow(sets []*Set) ([]Path, error) {
	if err := increasing(sets); err != nil {
		return nil, err
	}
	var paths []Path
	open := map[string]int{}
	for k, s := range sets {
		next := map[string]int{}
		var came map[string]MatchPair
		begin := map[string]string{}
		if k > 0 {
			m := match(sets[k-1], s, true)
			came = map[string]MatchPair{}
			for _, p := range m.Pairs {
				came[p.B] = p
			}
			for _, e := range m.Events {
				switch e.Kind {
				case "appears", "splits":
					begin[e.Name] = e.Text
				default:
					paths[open[e.Name]].End = e.Text
				}
			}
		}
		for i, t := range s.Structures {
			p := s.point(i)
			pair, ok := came[t.Name]
			if !ok {
				b := begin[t.Name]
				if k == 0 {
					b = "first station"
				}
				next[t.Name] = len(paths)
				paths = append(paths, Path{Name: t.Name, Points: []PathPoint{p}, Begin: b, End: "last station"})
				continue
			}
			p.Score = pair.Score
			at := open[pair.A]
			next[t.Name] = at
			paths[at].Points = append(paths[at].Points, p)
		}
		open = next
	}
	return paths, nil
}

// increasing checks the order of the stations.
func increasing(sets []*Set) error {
	for k := 1; k < len(sets); k++ {
		a, b := sets[k-1].field, sets[k].field
		if !(b.Position > a.Position) {
			return &wake.InputError{
				File: b.Name, Text: fmt.Sprintf("station %g m comes after %g m (%s)", b.Position, a.Position, a.Name),
				Cure: "give the stations in the order of their positions, each once",
			}
		}
	}
	return nil
}

// point describes structure i for a path.
func (s *Set) point(i int) PathPoint {
	t := s.Structures[i]
	p := PathPoint{
		Position: s.field.Position, Structure: t.Name, Centroid: t.Centroid, Spread: t.Spread, Area: t.Area, DragArea: t.DragArea,
	}
	if s.Criterion != ByWeight.String() {
		return p
	}
	w, err := partWindow(s, s, i, i, t.Side, [2]float64{})
	if err != nil {
		// Too small for a row of the band: the point stands without outlines.
		return p
	}
	mean := func(dir int) *float64 {
		sum, n := 0.0, 0
		for j := w.band[0]; j <= w.band[1]; j++ {
			if o, ok := w.outline(0, j, dir); ok {
				sum += o.y
				n++
			}
		}
		if n == 0 {
			return nil
		}
		sum /= float64(n)
		return &sum
	}
	p.LeftEdge, p.RightEdge = mean(-1), mean(1)
	return p
}

// PathShift compares a structure's path in two configurations.
type PathShift struct {
	Name string `json:"name"`
	// Points are the shifts at the stations at which both have the structure.
	Points []*Shift `json:"points"`
	// Resolved says, for each point, whether the centroid's move is resolved, and Verdicts
	// what is said of it.
	Resolved []bool   `json:"resolved"`
	Verdicts []string `json:"verdicts"`
	// LastResolved is the last station at which it is; nil for none.
	LastResolved *float64 `json:"last_resolved_m,omitempty"`
	// Missing says why a station has no point.
	Missing []string `json:"missing,omitempty"`
	Text    string   `json:"text"`
}

// Shifts sets the variant beside the baseline along a path of the baseline's that
// begins at the first of its stations. at gives the shift of a structure at station
// k, or why there is none.
func (path Path) Shifts(base []*Set, at func(k int, name string) (*Shift, string)) *PathShift {
	out := &PathShift{Name: path.Name, Points: []*Shift{}, Resolved: []bool{}, Verdicts: []string{}}
	for k, p := range path.Points {
		s, why := at(k, p.Structure)
		if s == nil {
			out.Missing = append(out.Missing, why)
			continue
		}
		out.Points = append(out.Points, s)
		verdict := uncertainty.NotJudged
		for _, m := range s.Moves {
			if m.Measure == MeasureCentroid {
				verdict = m.Verdict
			}
		}
		resolved := verdict == uncertainty.Resolved
		out.Resolved, out.Verdicts = append(out.Resolved, resolved), append(out.Verdicts, verdict)
		if resolved {
			x := s.Position
			out.LastResolved = &x
		}
	}
	if n := len(path.Points); n < len(base) {
		out.Missing = append(out.Missing, fmt.Sprintf("x = %+.3g m: %s", base[n].field.Position, path.End))
	}
	out.Text = out.sentence()
	return out
}

// Lost says why a structure of set a has no partner.
func (m *Matching) Lost(a *Set, name string) string {
	for _, e := range m.Events {
		if e.Name == name && (e.Kind == "vanishes" || e.Kind == "merges") {
			return fmt.Sprintf("x = %+.3g m: %s", a.field.Position, e.Text)
		}
	}
	return fmt.Sprintf("x = %+.3g m: no partner", a.field.Position)
}

func (p *PathShift) sentence() string {
	n := len(p.Points)
	switch {
	case n == 0:
		return p.Name + ": no station has it in both configurations"
	case p.LastResolved == nil:
		word := uncertainty.NotResolved
		for _, v := range p.Verdicts {
			if v != word {
				word = "not resolved or " + uncertainty.NotJudged
			}
		}
		return fmt.Sprintf("%s: its centroid's move is %s at each of %d stations", p.Name, word, n)
	case p.Resolved[n-1]:
		return fmt.Sprintf("%s: its centroid's move is resolved as far as the last station, x = %+.2f m", p.Name, *p.LastResolved)
	}
	for k := n - 1; k > 0; k-- {
		if p.Resolved[k-1] {
			return fmt.Sprintf("%s: its centroid's move is resolved up to x = %+.2f m and no longer from x = %+.2f m on", p.Name, p.Points[k-1].Position, p.Points[k].Position)
		}
	}
	return p.Name
}
