package report

import (
	"fmt"

	"wakeledger/wake/study"
	"wakeledger/wake/survey/rake"
)

// rakeTables tell what was done to the logs of a study's rakes, and what each correction changes.
func rakeTables(o *study.Outcome) []*Table {
	var out []*Table
	for _, k := range o.Rakes {
		of := fmt.Sprintf("Rake %s, %s, by %s", clean(k.Survey), clean(k.Configuration), clean(k.Result.Layout))
		t := rakeTable(k.Result)
		out = append(out, t.titled(of, t.Foot), rakeWorth(k.Result).titled(of+": what each correction changes", ""))
	}
	return out
}

// rakeTable has a row for each correction with its state and its size, and below it a sentence on
// rows, samples and tubes.
func rakeTable(r *rake.Result) *Table {
	t := NewTable("correction", "state", "size")
	t.Words = true
	for _, s := range r.Steps {
		t.Add(string(s.Name), s.State(), clean(s.Text))
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
		t.Foot += " " + clean(tube.Name) + " is " + clean(tube.State) + ", " + clean(tube.Treated) + ": " + clean(tube.Why) + "."
	}
	if sound && len(r.Tubes) > 0 {
		t.Foot += fmt.Sprintf(" All %d tubes are sound.", len(r.Tubes))
	}
	return t
}
