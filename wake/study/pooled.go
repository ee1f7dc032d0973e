package study

import (
	"math"
	"slices"

	"wakeledger/wake/uncertainty"
)

// Pooled is the change of drag from the configuration Minus to Of, from several stations.
type Pooled struct {
	Of    string `json:"of"`
	Minus string `json:"minus"`
	// Stations have the change at each, with its weight in the mean.
	Stations   []PooledStation `json:"stations"`
	Difference float64         `json:"difference_m2"`
	// ChiSquare, with one degree of freedom less than there are stations, sets their scatter
	// against what is of each by itself; nil where that is nothing. Agree: it is within its 95 % point.
	ChiSquare *float64 `json:"chi_square,omitempty"`
	Agree     bool     `json:"stations_agree"`
	uncertainty.AreaBudget
	uncertainty.Judgement
	Interval [2]float64 `json:"interval_m2"`
}

// PooledStation is the change at one station.
type PooledStation struct {
	Station    string  `json:"station"`
	Difference float64 `json:"difference_m2"`
	Weight     float64 `json:"weight"`

	position float64
	budget   *uncertainty.Budget
}

// pool pools the changes of drag over the stations. Of stations at one place, as of a window and
// the whole section, the first counts: the second has the same samples.
func (r *runner) pool() {
	var all []Pooled
	for _, st := range r.out.Stations {
		if st.Comparison == nil {
			continue
		}
		for _, b := range st.Comparison.Pairs {
			if !b.Closes {
				continue
			}
			k := slices.IndexFunc(all, func(p Pooled) bool { return p.Of == b.Of && p.Minus == b.Minus })
			if k < 0 {
				k, all = len(all), append(all, Pooled{Of: b.Of, Minus: b.Minus})
			}
			p := &all[k]
			if !slices.ContainsFunc(p.Stations, func(s PooledStation) bool { return math.Abs(s.position-st.Position) <= defaultTolerance }) {
				p.Stations = append(p.Stations, PooledStation{Station: st.Name, Difference: b.Delta.DragArea, position: st.Position, budget: &b.Delta.Budget})
			}
		}
	}
	for _, p := range all {
		if len(p.Stations) > 1 {
			p.mean()
			r.out.Pooled = append(r.out.Pooled, p)
		}
	}
}

func (p *Pooled) mean() {
	var values []float64
	var budgets []*uncertainty.Budget
	for _, s := range p.Stations {
		values, budgets = append(values, s.Difference), append(budgets, s.budget)
	}
	m := uncertainty.NewPool(values, budgets)
	for k := range p.Stations {
		p.Stations[k].Weight = m.Weights[k]
	}
	p.Difference, p.ChiSquare, p.Agree = m.Value, m.ChiSquare, m.Agree
	p.AreaBudget, p.Judgement, p.Interval = uncertainty.AreaBudget(m.Budget), uncertainty.Judge(m.Value, &m.Budget), m.Budget.Interval(m.Value)
}
