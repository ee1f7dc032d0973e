package report

import (
	"fmt"
	"slices"

	"wakeledger/wake/study"
	"wakeledger/wake/survey/rake"
)

// rakeTable tells what was done to the logs of a rake: a line for each correction with
// its size and what leaving it out would change, and a sentence on rows, samples and
// tubes.
type rakeTable struct {
	title, text string
	rows        []rakeRow
}

type rakeRow struct{ name, state, text, worth string }

func rakeTables(o *study.Outcome) []rakeTable {
	var out []rakeTable
	for _, k := range o.Rakes {
		out = append(out, rakeTableOf(fmt.Sprintf("Rake %s, %s, by %s", clean(k.Survey), clean(k.Configuration), clean(k.Result.Layout)), k.Result))
	}
	return out
}

func rakeTableOf(title string, r *rake.Result) rakeTable {
	t := rakeTable{title: title}
	for i, s := range r.Steps {
		row := rakeRow{name: string(s.Name), state: "applied", text: clean(s.Text)}
		switch {
		case s.Off:
			row.state = "off"
		case !s.Applied:
			row.state = "nothing to do"
		}
		if s.Log != "" {
			row.name += " of " + clean(s.Log)
		}
		// Of several logs one entry says what all change together: it is at the last.
		last := !slices.ContainsFunc(r.Steps[i+1:], func(n rake.Step) bool { return n.Name == s.Name })
		for _, w := range r.Worth {
			if w.Name == s.Name && last {
				row.worth = fmt.Sprintf("Cpt %.4f rms, %.4f at most", w.RMS, w.Largest)
			}
		}
		t.rows = append(t.rows, row)
	}
	c := r.Counts
	t.text = fmt.Sprintf("%d wind-on rows, %d wind-off; %d samples, %d filled, %d reversed; %d readings missing, %d outside acceptance.", r.Rows.WindOn, r.Rows.WindOff, c.Kept, c.Filled, c.Reversed, c.Missing, c.Outside)
	if p := r.Rows.Repeatability; p != nil {
		t.text += fmt.Sprintf(" A single reading repeats within %.4f q (standard deviation, %d degrees of freedom).", *p, r.Rows.RepeatDOF)
	}
	sound := true
	for _, tube := range r.Tubes {
		if tube.State == "good" {
			continue
		}
		sound = false
		t.text += " " + clean(tube.Name)
		if tube.Log != "" {
			t.text += " of " + clean(tube.Log)
		}
		t.text += " is " + clean(tube.State) + ", " + clean(tube.Treated) + ": " + clean(tube.Why) + "."
	}
	if sound && len(r.Tubes) > 0 {
		t.text += fmt.Sprintf(" All %d tubes are sound.", len(r.Tubes))
	}
	return t
}

// rakes writes them as text.
func (s *sheet) rakes(o *study.Outcome) {
	for _, t := range rakeTables(o) {
		s.Section(Head, t.title)
		s.rake(t)
	}
}

func (s *sheet) rake(t rakeTable) {
	s.Para(t.text, 2)
	for _, r := range t.rows {
		text := fmt.Sprintf("%s, %s: %s", r.name, r.state, r.text)
		if r.worth != "" {
			text += "; changes " + r.worth
		}
		s.Hang(text, 2, 6)
	}
}

// rakeViews are the tables of the page.
func rakeViews(o *study.Outcome) []titledTable {
	var out []titledTable
	for _, t := range rakeTables(o) {
		g := NewTable("correction", "state", "size", "changes")
		for _, r := range t.rows {
			g.Add(r.name, r.state, r.text, r.worth)
		}
		out = append(out, titledTable{Title: t.title, Table: tableOf(g), Foot: t.text})
	}
	return out
}
