package shift

import (
	"fmt"

	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
)

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

// Along sets the variant beside the baseline along a path of the baseline's that
// begins at the first of its stations. at gives the shift of a structure at station
// k, or why there is none.
func Along(path parts.Path, base []*parts.Set, at func(k int, name string) (*Shift, string)) *PathShift {
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
		out.Missing = append(out.Missing, "x = "+uncertainty.Fixed(base[n].Field().Position, 2)+" m: "+path.End)
	}
	out.Text = out.sentence()
	return out
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
		return fmt.Sprintf("%s: its centroid's move is resolved as far as the last station, x = %s m", p.Name, uncertainty.Fixed(*p.LastResolved, 2))
	}
	for k := n - 1; k > 0; k-- {
		if p.Resolved[k-1] {
			return fmt.Sprintf("%s: its centroid's move is resolved up to x = %s m and no longer from x = %s m on", p.Name, uncertainty.Fixed(p.Points[k-1].Position, 2), uncertainty.Fixed(p.Points[k].Position, 2))
		}
	}
	return p.Name
}
