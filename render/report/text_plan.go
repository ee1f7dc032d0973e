package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"wakeledger/wake/plan"
	"wakeledger/wake/uncertainty"
)

// PlanText writes a plan for people, in twelve lines at most without the notes.
func PlanText(w io.Writer, p *plan.Plan) error {
	area := uncertainty.Format{Scale: 1, Decimals: 4, Unit: "m²"}
	var s sheet
	line := func(what, format string, a ...any) { s.hang(what+": "+fmt.Sprintf(format, a...), 0, 2) }
	s.section(fmt.Sprintf("To resolve: %s m² (%.2g %% of the drag) between two configurations measured like the pilot", area.In(p.Change, p.Change), p.Percent), "")
	if r := p.Pilot.Record; r != nil {
		known := ""
		if r.Standard != nil {
			known = fmt.Sprintf(", u = %s m² by %d blocks", area.In(*r.Standard, *r.Standard), len(r.Blocks))
		}
		line("record", "%s: %s m²%s; %s, integral time scale %s", clean(r.File), area.In(r.Mean, p.Change/10), known, recordLength(r, float64(r.N)), recordLength(r, r.Scale))
	}
	if q := p.Pilot.Plane; q != nil {
		line("plane", "%s: %s m², %s samples %.3g mm apart", clean(q.File), area.In(p.Pilot.DragArea, p.Change/10), thousands(q.Samples), 1000*q.Spacing)
	}
	if n := len(p.Pilot.Runs); n > 1 {
		sd := uncertainty.NewSample(p.Pilot.Runs).SD
		line("runs", "%d of the pilot: standard deviation %s m²", n, area.In(sd, sd))
	}
	budget := uncertainty.Budget{Standard: p.Standard, Expanded: p.Expanded, Coverage: p.Coverage, DOF: p.DOF, Items: p.Items, States: p.States}
	known := ""
	if p.Expanded > 0 {
		known = fmt.Sprintf("± %s m² on the difference: ", area.In(p.Expanded, p.Expanded))
		if p.Missing != nil {
			known = "at least " + known
		}
	}
	line("verdict", "%s%s", known, p.Sentence(p.Change, &budget, area, math.Abs(p.Pilot.DragArea)))
	needed := false
	for _, n := range p.Needs {
		if text := needWords(p, &n); text != "" {
			line("needed", "%s", text)
			needed = true
		}
	}
	if needed {
		// U then is the change: (2 + 1.28)²/2² for the 90 % point of the normal distribution.
		line("odds", "the ± is then as large as the change, which is resolved one time in two; 2.7 times as much resolves it nine times in ten")
	}
	s.notes.numbers(p.Warnings)
	s.putNotes(true)
	return s.print(w)
}

// needWords are those of a category, with the rest as it is.
func needWords(p *plan.Plan, n *plan.Need) string {
	enough := ""
	if n.Factor != nil && *n.Factor <= 1 {
		enough = "; the pilot's are enough"
	}
	switch {
	case n.Category == uncertainty.TimeAverage && n.Values != nil:
		s := "a record of " + recordLength(p.Pilot.Record, *n.Values) + " of each"
		if n.Factor == nil || p.Pilot.Record.Standard == nil && *n.Factor <= 1 {
			return s + " at least, to judge its mean at all"
		}
		if *n.Runs > 1 {
			s += fmt.Sprintf(", or %.0f runs of each as long as the pilot", *n.Runs)
		}
		return s + strings.Replace(enough, "pilot's are", "pilot's is", 1)
	case n.Category == uncertainty.RunToRun && n.Runs != nil:
		return fmt.Sprintf("%.0f runs of each", *n.Runs)
	case n.Samples != nil:
		return fmt.Sprintf("planes of %.0f samples, %.2g mm apart", *n.Samples, 1000**n.Spacing) + enough
	case n.Factor != nil && enough == "":
		return fmt.Sprintf("uncertainty of the %s %.2g times smaller", n.Category, math.Sqrt(*n.Factor))
	}
	return ""
}

// recordLength writes a length of the record in s, or in values.
func recordLength(r *plan.Record, values float64) string {
	if r.Step > 0 {
		return fmt.Sprintf("%.3g s", values*r.Step)
	}
	return fmt.Sprintf("%.4g snapshots", values)
}
