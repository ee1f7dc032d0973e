package force

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// Ledger sets the force of a variant beside that of a baseline by part of the vehicle: where
// a change of drag is carried. Two runs are independent; the parts of one run are not, and
// sums have the uncertainty of the summed record. One reference for both cancels.
type Ledger struct {
	Parts []Change `json:"parts"`
	// Itself is what parts carry that one of the two has alone (a device), Others what the
	// rest of the vehicle gains or loses; nil where both have the same parts.
	Itself *Change `json:"itself,omitempty"`
	Others *Change `json:"others,omitempty"`
	// Total is the sum of the parts. Left is the recorded total's change less that sum: what
	// the parts leave out.
	Total Change  `json:"total"`
	Left  float64 `json:"left_out_m2"`
}

// Change is that of one part, as drag area, m²; Baseline or Variant is nil where that one
// lacks the part.
type Change struct {
	Name     string   `json:"name"`
	Baseline *float64 `json:"baseline_m2,omitempty"`
	Variant  *float64 `json:"variant_m2,omitempty"`
	Delta    float64  `json:"delta_m2"`
	// Percent is that of the baseline's total.
	Percent *float64 `json:"percent_of_total,omitempty"`
	// Cd is the change of the drag coefficient, Counts that over the size of a count; nil
	// without a frontal area.
	Cd     *float64 `json:"drag_coefficient_change,omitempty"`
	Counts *float64 `json:"counts,omitempty"`
	// Doubt says why a record leaves the ± open: uncertainty.RecordShort or RecordDrifts. Needed
	// is the length of record that would judge the change, s, and AtLeast that the ± of the
	// budget is a lower bound: what the records show already.
	Doubt   string  `json:"record_doubt,omitempty"`
	Needed  float64 `json:"record_needed_s,omitempty"`
	AtLeast bool    `json:"expanded_is_at_least,omitempty"`
	uncertainty.AreaBudget
	uncertainty.Judgement
}

// NewLedger compares the records a of the baseline and b of the variant, part by part in the order
// of a, those of b alone last; nil without parts in both. A part that is zero throughout is
// none: records write a column for a device that is not there.
//
// runs are, for each configuration that was run again, the records of its runs. Their pooled
// scatter, which holds the time average, judges a change whose own records cannot.
func NewLedger(a, b *Mean, runs ...[]*Mean) *Ledger {
	pa, pb := a.present(), b.present()
	if len(pa) == 0 || len(pb) == 0 {
		return nil
	}
	of := func(name string, parts ...string) Change { return change(name, [2]*Mean{a, b}, parts, runs) }
	l := &Ledger{Parts: []Change{}}
	all, alone, both := slices.Clone(pa), []string{}, []string{}
	for _, name := range pb {
		if !slices.Contains(pa, name) {
			all = append(all, name)
		}
	}
	var sum [3]float64
	for _, name := range all {
		c := of(name, name)
		l.Parts = append(l.Parts, c)
		if c.Baseline != nil && c.Variant != nil {
			both = append(both, name)
		} else {
			alone = append(alone, name)
		}
		sum[0] += c.Delta
		for k, x := range []*float64{c.Baseline, c.Variant} {
			sum[1+k] += wake.Deref(x)
		}
	}
	if len(alone) > 0 && len(both) > 0 {
		l.Itself, l.Others = new(of("itself", alone...)), new(of("the rest", both...))
	}
	l.Total = of("total", all...)
	// To the last digit that is written.
	l.Total.Delta, *l.Total.Baseline, *l.Total.Variant = sum[0], sum[1], sum[2]
	if whole := *l.Total.Baseline; whole != 0 {
		for _, c := range l.all() {
			c.Percent = new(100 * c.Delta / math.Abs(whole))
		}
	}
	l.Left = b.Mean - a.Mean - l.Total.Delta
	return l
}

// Over gives the changes as coefficients over a frontal area, m², and as counts of a size.
func (l *Ledger) Over(area, count float64) {
	if !(area > 0 && count > 0) {
		return
	}
	for _, c := range l.all() {
		c.Cd, c.Counts = new(c.Delta/area), new(c.Delta/area/count)
	}
}

// all are the changes of parts, of what parts are together, and the total.
func (l *Ledger) all() []*Change {
	out := []*Change{&l.Total}
	for _, c := range []*Change{l.Itself, l.Others} {
		if c != nil {
			out = append(out, c)
		}
	}
	for i := range l.Parts {
		out = append(out, &l.Parts[i])
	}
	return out
}

// present names the parts that are not zero throughout.
func (m *Mean) present() []string {
	var out []string
	for _, p := range m.Parts {
		if !p.empty {
			out = append(out, p.Name)
		}
	}
	return out
}

// sum is what the named parts of one run are together, of those that it has; nil for none.
func (m *Mean) sum(names []string) *uncertainty.TimeMean {
	var v []float64
	for _, p := range m.Parts {
		if p.empty || !slices.Contains(names, p.Name) {
			continue
		}
		if v == nil {
			v = make([]float64, len(m.index))
		}
		floats.Add(v, p.values)
	}
	if v == nil {
		return nil
	}
	return uncertainty.NewTimeMean(m.index, v, nil)
}

// change is that of the named parts together from one record to the other, with its verdict. A
// part that is not there has no error. What is stated beside a record is of its total: how it divides is not
// known, so any part may carry all of it.
func change(name string, m [2]*Mean, parts []string, runs [][]*Mean) Change {
	c := Change{Name: name}
	var unknown, guess, stated []uncertainty.Item
	items := []uncertainty.Item{uncertainty.Declared(uncertainty.RunToRun, uncertainty.Estimated, "a rerun is another stretch of the flow, in the records")}
	seen := 0.0
	for k, to := range []**float64{&c.Baseline, &c.Variant} {
		x := m[k].sum(parts)
		if x == nil {
			continue
		}
		seen++
		*to = &x.Mean
		c.Delta += float64(2*k-1) * x.Mean
		it := uncertainty.Item{Name: "time average, " + m[k].File, Category: uncertainty.TimeAverage, Kind: uncertainty.Independent, DOF: x.DOF}
		switch {
		case x.Standard != nil:
			it.Standard = *x.Standard
		case x.AtLeast != nil:
			it.Standard, it.DOF = *x.AtLeast, x.AtLeastDOF
		}
		if x.Doubt != "" {
			unknown = append(unknown, uncertainty.Declared(uncertainty.TimeAverage, uncertainty.Unknown, x.Doubt+", "+m[k].File))
			if need := x.Need * m[k].Step; c.Doubt == "" || need > c.Needed {
				c.Doubt, c.Needed = x.Doubt, need
			}
		}
		if u := m[k].Stated; u != nil {
			stated = append(stated, uncertainty.Item{Name: "force, " + m[k].File, Category: uncertainty.Reference, How: uncertainty.Stated, Kind: uncertainty.Independent, Standard: *u})
		}
		items = append(items, it)
		it.Standard = x.Guess
		guess = append(guess, it)
	}
	const why = "two records of one set-up, with one reference"
	b := uncertainty.Only(why, append(items, stated...)...)
	if unknown != nil {
		// Repeats of another configuration that scatter by less than the record suggests do not
		// know its slow changes.
		if r := uncertainty.Only(why, scatter(parts, seen, runs)...); r.Expanded > 0 && r.Expanded >= uncertainty.NewBudget(guess...).Expanded {
			b, c.Doubt, c.Needed = uncertainty.Only(why, append(scatter(parts, seen, runs), stated...)...), "", 0
		} else {
			b, c.AtLeast = b.With(unknown...), true
		}
	}
	c.AreaBudget, c.Judgement = uncertainty.AreaBudget(b), uncertainty.Judge(c.Delta, &b)
	return c
}

// scatter is what runs of one configuration differ by in the named parts, pooled, in a
// difference of n of them; none where nothing was run again.
func scatter(parts []string, n float64, runs [][]*Mean) []uncertainty.Item {
	var samples []uncertainty.Sample
	for _, set := range runs {
		var v []float64
		for _, m := range set {
			if x := m.sum(parts); x != nil {
				v = append(v, x.Mean)
			}
		}
		samples = append(samples, uncertainty.NewSample(v))
	}
	return uncertainty.Scatter(n, samples...)
}
