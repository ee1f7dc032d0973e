package force

import (
	"math"
	"slices"

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
	// Needed is the length of record that would judge the change, s, where one is shorter than
	// its own slow changes ask for; 0 for none.
	Needed float64 `json:"record_needed_s,omitempty"`
	uncertainty.AreaBudget
	uncertainty.Judgement
}

// NewLedger compares the records a of the baseline and b of the variant, part by part in the order
// of a, those of b alone last; nil without parts in both. A part that is zero throughout is
// none: records write a column for a device that is not there.
func NewLedger(a, b *Mean) *Ledger {
	pa, pb := a.present(), b.present()
	if len(pa) == 0 || len(pb) == 0 {
		return nil
	}
	l := &Ledger{Parts: []Change{}}
	var itself, others [2][]Part
	for _, p := range pa {
		if q := find(pb, p.Name); q != nil {
			l.Parts = append(l.Parts, change(p.Name, a, b, &p, q))
			others[0], others[1] = append(others[0], p), append(others[1], *q)
		} else {
			l.Parts = append(l.Parts, change(p.Name, a, b, &p, nil))
			itself[0] = append(itself[0], p)
		}
	}
	for _, q := range pb {
		if find(pa, q.Name) == nil {
			l.Parts = append(l.Parts, change(q.Name, a, b, nil, &q))
			itself[1] = append(itself[1], q)
		}
	}
	if len(itself[0])+len(itself[1]) > 0 && len(others[0]) > 0 {
		i := change("itself", a, b, a.sum(itself[0]), b.sum(itself[1]))
		o := change("the rest", a, b, a.sum(others[0]), b.sum(others[1]))
		l.Itself, l.Others = &i, &o
	}
	l.Total = change("total", a, b, a.sum(pa), b.sum(pb))
	if whole := *l.Total.Baseline; whole != 0 {
		for _, c := range append([]*Change{&l.Total, l.Itself, l.Others}, pointers(l.Parts)...) {
			if c != nil {
				p := 100 * c.Delta / math.Abs(whole)
				c.Percent = &p
			}
		}
	}
	l.Left = b.Mean - a.Mean - l.Total.Delta
	return l
}

func pointers(c []Change) []*Change {
	out := make([]*Change, len(c))
	for i := range c {
		out[i] = &c[i]
	}
	return out
}

// present are the parts that are not zero throughout.
func (m *Mean) present() []Part {
	var out []Part
	for _, p := range m.Parts {
		if slices.ContainsFunc(p.values, func(v float64) bool { return v != 0 }) {
			out = append(out, p)
		}
	}
	return out
}

func find(parts []Part, name string) *Part {
	if i := slices.IndexFunc(parts, func(p Part) bool { return p.Name == name }); i >= 0 {
		return &parts[i]
	}
	return nil
}

// sum is the part that parts of one run are together, nil for none.
func (m *Mean) sum(parts []Part) *Part {
	if len(parts) == 0 {
		return nil
	}
	v := make([]float64, len(m.index))
	for _, p := range parts {
		for i, x := range p.values {
			v[i] += x
		}
	}
	return &Part{TimeMean: *uncertainty.NewTimeMean(m.index, v, nil), values: v}
}

// change is q − p with its verdict; nil for a part that is not there, which has no error.
func change(name string, a, b *Mean, p, q *Part) Change {
	c := Change{Name: name}
	var items []uncertainty.Item
	for k, x := range []*Part{p, q} {
		if x == nil {
			continue
		}
		mean, of := x.Mean, []*Mean{a, b}[k]
		if k == 0 {
			c.Baseline, c.Delta = &mean, c.Delta-mean
		} else {
			c.Variant, c.Delta = &mean, c.Delta+mean
		}
		if x.Standard == nil {
			c.Needed = max(c.Needed, x.Need*of.Step)
			items = append(items, uncertainty.Declared(uncertainty.TimeAverage, uncertainty.Unknown, "the record "+of.File+" is too short, or drifts"))
			continue
		}
		items = append(items, uncertainty.Item{
			Name: "time average, " + of.File, Category: uncertainty.TimeAverage, Kind: uncertainty.Independent, Standard: *x.Standard, DOF: x.DOF,
		})
	}
	bud := uncertainty.Only("two records of one set-up, with one reference", items...)
	c.AreaBudget, c.Judgement = uncertainty.AreaBudget(bud), uncertainty.Judge(c.Delta, &bud)
	return c
}
