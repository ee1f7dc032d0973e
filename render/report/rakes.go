package report

import (
	"fmt"
	"slices"

	"wakeledger/wake/study"
	"wakeledger/wake/survey/rake"
)

// A table of a rake tells what was done to its logs: a row for each correction with its
// state, its size and what it changes, and a sentence on rows, samples and tubes.
func rakeTables(o *study.Outcome) []*Table {
	var out []*Table
	for _, k := range o.Rakes {
		t := rakeTable(k.Result, true)
		t.Title = fmt.Sprintf("Rake %s, %s, by %s", clean(k.Survey), clean(k.Configuration), clean(k.Result.Layout))
		out = append(out, t)
	}
	return out
}

func rakeTable(r *rake.Result, changes bool) *Table {
	t := NewTable("correction", "state", "size", "changes")
	for i, s := range r.Steps {
		name, state, changed := string(s.Name), "applied", ""
		switch {
		case s.Off:
			state = "off"
		case !s.Applied:
			state = "nothing to do"
		}
		if s.Log != "" {
			name += " of " + clean(s.Log)
		}
		// Of several logs one entry says what all change together: it is at the last.
		last := !slices.ContainsFunc(r.Steps[i+1:], func(n rake.Step) bool { return n.Name == s.Name })
		for _, w := range r.Worth {
			if w.Name == s.Name && last && changes {
				changed = fmt.Sprintf("Cpt %.4f rms, %.4f at most", w.RMS, w.Largest)
			}
		}
		t.Add(name, state, clean(s.Text), changed)
	}
	c := r.Counts
	t.Foot = fmt.Sprintf("%d wind-on rows, %d wind-off; %d samples, %d filled, %d reversed; %d readings missing, %d outside acceptance.", r.Rows.WindOn, r.Rows.WindOff, c.Kept, c.Filled, c.Reversed, c.Missing, c.Outside)
	if p := r.Rows.Repeatability; p != nil {
		t.Foot += fmt.Sprintf(" A single reading repeats within %.4f q (standard deviation, %d degrees of freedom).", *p, r.Rows.RepeatDOF)
	}
	sound := true
	for _, tube := range r.Tubes {
		if tube.State == "good" {
			continue
		}
		sound = false
		t.Foot += " " + clean(tube.Name)
		if tube.Log != "" {
			t.Foot += " of " + clean(tube.Log)
		}
		t.Foot += " is " + clean(tube.State) + ", " + clean(tube.Treated) + ": " + clean(tube.Why) + "."
	}
	if sound && len(r.Tubes) > 0 {
		t.Foot += fmt.Sprintf(" All %d tubes are sound.", len(r.Tubes))
	}
	return t
}

func (s *sheet) rake(t *Table) {
	s.Para(t.Foot, 2)
	for _, r := range t.Rows {
		text := r[0] + ", " + r[1] + ": " + r[2]
		if r[3] != "" {
			text += "; changes " + r[3]
		}
		s.Hang(text, 2, 6)
	}
}
