// Package plan answers before a run what it takes to resolve a change of drag: how long a
// record, how many runs of each configuration, how fine a plane. In goes a pilot: what one
// run of one configuration is uncertain by; out comes the budget of a difference of two
// such, and what each category of it would have to become (uncertainty.Judge and NeedOf).
package plan

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// Schema names the JSON document of WriteJSON.
const Schema = "wakeledger.plan/1"

// Pilot is what is known of one configuration as it is measured now.
type Pilot struct {
	// DragArea, m², which percentages are of.
	DragArea float64 `json:"drag_area_m2"`
	// Record is the one that the time average is judged by; nil for none.
	Record *Record `json:"record,omitempty"`
	// Plane is the plane that is measured; nil for none.
	Plane *Plane `json:"plane,omitempty"`
	// Runs are the drag areas of repeated runs; fewer than two say nothing.
	Runs []float64 `json:"runs_m2,omitempty"`
}

// Record is a record of the drag over time.
type Record struct {
	File string `json:"file"`
	uncertainty.TimeMean
	// Step is the time from one value to the next, s; 0 is not known.
	Step float64 `json:"step_s,omitempty"`
	// Scale is the integral time scale in steps.
	Scale float64 `json:"time_scale_steps"`
	// Rerun says that the record is of the force: another run is another stretch of the same
	// flow, so that it holds what a rerun changes too. Else it is that of the plane, whose own
	// items have the time average of the drag that is quoted.
	Rerun bool `json:"of_force"`
}

// Plane is a measured plane by what its drag area is uncertain by.
type Plane struct {
	File    string  `json:"file"`
	Samples int     `json:"samples"`
	Spacing float64 `json:"spacing_m"`
	// Items are those of its drag area.
	Items []uncertainty.Item `json:"-"`
}

// Plan is the answer.
type Plan struct {
	// Change is what is to be resolved, m² and as a part of the drag.
	Change  float64 `json:"change_m2"`
	Percent float64 `json:"change_percent"`
	Pilot   Pilot   `json:"pilot"`
	// The budget of a difference of two configurations like the pilot, and what it says of
	// the change.
	uncertainty.AreaBudget
	uncertainty.Judgement
	States []uncertainty.State `json:"categories"`
	// Dominates is the category with the largest part.
	Dominates uncertainty.Category `json:"dominates,omitempty"`
	Needs     []Need               `json:"needs"`
	Warnings  []wake.Warning       `json:"-"`
}

// Need is what a category would have to become, with the rest as it is. Factor is that on the
// variance (below 1 there is some to spare); nil where the rest alone is too much.
type Need struct {
	Category uncertainty.Category `json:"category"`
	Factor   *float64             `json:"factor,omitempty"`
	// Values and Seconds are the length of record, Seconds where the step is known. Runs is
	// the number of runs of each configuration.
	Values  *float64 `json:"record_values,omitempty"`
	Seconds *float64 `json:"record_s,omitempty"`
	Runs    *float64 `json:"runs_of_each,omitempty"`
	// Samples and Spacing are those of a plane: its error is taken to fall with the root of the
	// number of samples.
	Samples *float64 `json:"samples,omitempty"`
	Spacing *float64 `json:"spacing_m,omitempty"`
}

// New plans for a change of drag area, m², from a pilot. The change is positive.
func New(change float64, p Pilot) *Plan {
	out := &Plan{Change: change, Percent: 100 * change / math.Abs(p.DragArea), Pilot: p}
	b := uncertainty.NewBudget(p.items()...)
	out.AreaBudget, out.States = uncertainty.AreaBudget(b), b.States
	out.Judgement = uncertainty.Judge(change, &b)
	if b.Standard > 0 {
		out.Dominates, _ = uncertainty.Need(change, &b)
	}
	out.needs(&b)
	return out
}

// items are those of a difference of two configurations like the pilot: what is common to
// both cancels, the rest counts twice.
func (p *Pilot) items() []uncertainty.Item {
	var out []uncertainty.Item
	twice := func(it uncertainty.Item) {
		if it.Kind == uncertainty.Common && it.Standard != 0 {
			whole := it.Standard
			it.Standard, it.Cancelled = 0, &whole
		}
		it.Standard *= math.Sqrt2
		out = append(out, it)
	}
	if p.Plane != nil {
		items := p.Plane.Items
		if r := p.Record; r != nil && r.Rerun {
			items = uncertainty.Without(uncertainty.TimeAverage, items)
		}
		for _, it := range items {
			twice(it)
		}
		if uncertainty.StateOf(uncertainty.Reference, items).How == uncertainty.Unknown {
			out = append(out, uncertainty.Declared(uncertainty.Reference, uncertainty.Absent, "one inflow for both is taken for granted"))
		}
	} else {
		for _, c := range []uncertainty.Category{uncertainty.Sampling, uncertainty.Reference} {
			out = append(out, uncertainty.Declared(c, uncertainty.Absent, "no plane is asked about"))
		}
	}
	if r := p.Record; r != nil && r.Standard != nil && r.Rerun {
		twice(uncertainty.Item{Name: "time average", Category: uncertainty.TimeAverage, Kind: uncertainty.Random, Standard: *r.Standard, DOF: r.DOF})
		out = append(out, uncertainty.Declared(uncertainty.RunToRun, uncertainty.Estimated, "a rerun is another stretch of the flow, in the record"))
	}
	if s := uncertainty.NewSample(p.Runs); s.N > 1 {
		dof := float64(s.N - 1)
		out = uncertainty.Without(uncertainty.RunToRun, out)
		twice(uncertainty.Item{Name: "repeats", Category: uncertainty.RunToRun, HoldsTime: true, Kind: uncertainty.Random, Standard: s.SD, DOF: &dof})
	}
	return out
}

// needs fills in what each category would have to become.
func (p *Plan) needs(b *uncertainty.Budget) {
	p.Needs = []Need{}
	for _, c := range uncertainty.Categories {
		n := Need{Category: c}
		f := uncertainty.NeedOf(p.Change, b, c)
		known := !math.IsNaN(f)
		if known {
			n.Factor = &f
		}
		switch r, plane := p.Pilot.Record, p.Pilot.Plane; {
		case c == uncertainty.TimeAverage && r != nil && (known || r.Standard == nil):
			// What is too short to be judged has its own need.
			v := r.Need
			if known {
				v = up(math.Max(f/math.Pow(1+r.Chance, 2)*float64(r.N), uncertainty.LeastScales*r.Scale))
				runs := math.Max(1, up(f))
				n.Runs = &runs
			}
			n.Values = &v
			if r.Step > 0 {
				t := v * r.Step
				n.Seconds = &t
			}
		case c == uncertainty.RunToRun && known:
			runs := math.Max(2, up(f))
			n.Runs = &runs
		case c == uncertainty.Sampling && known && plane != nil:
			samples, spacing := up(f*float64(plane.Samples)), plane.Spacing/math.Sqrt(f)
			n.Samples, n.Spacing = &samples, &spacing
		case !known:
			continue
		}
		p.Needs = append(p.Needs, n)
	}
}

// up is the next whole number, but for rounding.
func up(x float64) float64 { return math.Ceil(x * (1 - 1e-12)) }

// area writes drag areas.
var area = uncertainty.Format{Scale: 1, Decimals: 4, Unit: "m²"}

// WriteText writes the plan for people, in twelve lines at most without the notes.
func (p *Plan) WriteText(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "A change of %s m² (%.2g %% of the drag) between two configurations, each measured as the pilot\n", area.In(p.Change, p.Change), p.Percent)
	if r := p.Pilot.Record; r != nil {
		fmt.Fprintf(&b, "record   %s: %s m²", r.File, area.In(r.Mean, p.Change/10))
		if r.Standard != nil {
			fmt.Fprintf(&b, ", u = %s m² by %d blocks", area.In(*r.Standard, *r.Standard), len(r.Blocks))
		}
		fmt.Fprintf(&b, "; %s, integral time scale %s\n", r.length(float64(r.N)), r.length(r.Scale))
	}
	if q := p.Pilot.Plane; q != nil {
		fmt.Fprintf(&b, "plane    %s: %s m², %d samples %.3g mm apart\n", q.File, area.In(p.Pilot.DragArea, p.Change/10), q.Samples, 1000*q.Spacing)
	}
	if n := len(p.Pilot.Runs); n > 1 {
		s := uncertainty.NewSample(p.Pilot.Runs)
		fmt.Fprintf(&b, "runs     %d of the pilot: standard deviation %s m²\n", n, area.In(s.SD, s.SD))
	}
	budget := uncertainty.Budget{Standard: p.Standard, Expanded: p.Expanded, Coverage: p.Coverage, DOF: p.DOF, Items: p.Items, States: p.States}
	fmt.Fprintf(&b, "verdict  ± %s m² on the difference: %s\n", area.In(p.Expanded, p.Expanded), p.Sentence(p.Change, &budget, area, math.Abs(p.Pilot.DragArea), "drag"))
	if p.Dominates != "" {
		fmt.Fprintf(&b, "largest  %s\n", p.Dominates)
	}
	for _, n := range p.Needs {
		if text := p.need(&n); text != "" {
			fmt.Fprintf(&b, "%s\n", text)
		}
	}
	for i, n := range p.Warnings {
		fmt.Fprintf(&b, "[%d] %s (%s)\n", i+1, n.Text, n.Code)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// need is the line of a category, with the rest as it is.
func (p *Plan) need(n *Need) string {
	enough := ""
	if n.Factor != nil && *n.Factor <= 1 {
		enough = "; the pilot's are enough"
	}
	switch {
	case n.Category == uncertainty.TimeAverage && n.Values != nil:
		s := "needed   a record of " + p.Pilot.Record.length(*n.Values) + " of each"
		if n.Factor == nil {
			return s + " at least, to judge its mean at all"
		}
		if *n.Runs > 1 {
			s += fmt.Sprintf(", or %.0f runs of each as long as the pilot", *n.Runs)
		}
		return s + strings.Replace(enough, "pilot's are", "pilot's is", 1)
	case n.Category == uncertainty.RunToRun && n.Runs != nil:
		return fmt.Sprintf("needed   %.0f runs of each", *n.Runs)
	case n.Samples != nil:
		return fmt.Sprintf("needed   planes of %.0f samples, %.2g mm apart", *n.Samples, 1000**n.Spacing) + enough
	case n.Factor != nil && enough == "":
		return fmt.Sprintf("needed   a reference known %.2g times as well", math.Sqrt(*n.Factor))
	}
	return ""
}

// length writes a length of the record in s, or in values.
func (r *Record) length(values float64) string {
	if r.Step > 0 {
		return fmt.Sprintf("%.3g s", values*r.Step)
	}
	return fmt.Sprintf("%.4g snapshots", values)
}

// WriteJSON writes the plan as one JSON document.
func (p *Plan) WriteJSON(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(struct {
		Schema   string         `json:"schema"`
		Warnings []wake.Warning `json:"warnings"`
		*Plan
	}{Schema, append([]wake.Warning{}, p.Warnings...), p})
}
