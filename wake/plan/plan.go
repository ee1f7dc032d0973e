// Package plan answers before a run what it takes to resolve a change of drag: how long a
// record, how many runs of each configuration, how fine a plane. In goes a pilot: what one
// run of one configuration is uncertain by; out comes the budget of a difference of two
// such, and what each category of it would have to become (uncertainty.Judge and NeedOf).
package plan

import (
	"math"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

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
	if r := p.Record; r != nil && r.Rerun {
		it := uncertainty.Item{Name: "time average", Category: uncertainty.TimeAverage, Kind: uncertainty.Random, DOF: r.DOF}
		switch {
		case r.Standard != nil:
			it.Standard = *r.Standard
		case r.AtLeast != nil:
			it.Standard, it.DOF = *r.AtLeast, r.AtLeastDOF
		}
		twice(it)
		if r.Standard == nil {
			out = append(out, uncertainty.Declared(uncertainty.TimeAverage, uncertainty.Unknown, r.Doubt))
		}
		out = append(out, uncertainty.Declared(uncertainty.RunToRun, uncertainty.Estimated, "a rerun is another stretch of the flow, in the record"))
	}
	if s := uncertainty.NewSample(p.Runs); s.N > 1 {
		out = uncertainty.Without(uncertainty.RunToRun, out)
		twice(uncertainty.Repeats(s.SD, float64(s.N-1)))
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
		case c == uncertainty.TimeAverage && r != nil && (known || r.Standard == nil && r.Need > 0):
			// What is too short to be judged has its own need.
			v := r.Need
			if known {
				v = f * float64(r.N)
				if r.Standard != nil { // which holds Chance
					v /= math.Pow(1+r.Chance, 2)
				}
				v = up(math.Max(v, uncertainty.LeastScales*r.Scale))
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
