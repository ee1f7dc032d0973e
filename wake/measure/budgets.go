package measure

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// budgets completes the budgets of the headline numbers, which so far hold what
// the plane itself tells, with the areas', the spread of the methods, the stated
// inputs and, where asked for, the trials.
func (m *measuring) budgets(ofAreas bool) error {
	if err := m.respond(); err != nil {
		return err
	}
	changes, err := m.Simulate(0)
	if err != nil {
		return err
	}
	if ofAreas {
		m.respondAreas()
	}
	// finish adds the items of headline number i to a budget.
	finish := func(b *uncertainty.Budget, i int, extra ...uncertainty.Item) {
		*b = b.With(slices.Concat(extra, RepeatItems(i, m.Measurement), InputItems(i, m.Measurement), TimeItems(m.Measurement))...)
		*b = uncertainty.NewBudget(WithoutKnownScatter(b.Items)...)
		b.MonteCarlo = uncertainty.NewMonteCarlo(m.Values[i], Change(changes, i), m.given.Uncertainty.Trials, b)
	}
	of := func(k int, u *Uncertainty, w *Wake) {
		if u.DragArea != nil {
			i, items := m.Layout.Drag(k), []uncertainty.Item(nil)
			if k == Whole {
				i = m.Layout.Method(m.Result.Drag.Headline)
			}
			if k == Whole && m.Result.Drag.Headline == ByMomentum {
				m.pressed = m.meanPressed()
				items = MethodItems(m.Measurement)
			}
			finish(u.DragArea, i, slices.Concat(items, SolutionItems(i, m.Measurement), StressItems(i, smallTerm*math.Abs(m.Values[i]), m.Measurement))...)
		}
		if u.Centroid != nil {
			for axis := range u.Centroid {
				var items []uncertainty.Item
				if w.Spread != nil {
					items = m.given.Uncertainty.PlaceItems(w.Spread[axis], 1)
				}
				finish(&u.Centroid[axis], m.Layout.Centroid(k, axis), items...)
			}
		}
		if w == nil || m.areas == nil {
			return
		}
		for t, a := range w.Areas {
			i := m.Layout.Area(k, t)
			b := uncertainty.NewBudget(m.areas[i]...)
			items := SolutionItems(i, m.Measurement)
			if m.openings != nil {
				items = append(m.WithoutSamples(m.boxes()[k+1], m.Above(a.Threshold)), items...)
			}
			finish(&b, i, items...)
			u.Areas = append(u.Areas, b)
		}
	}
	of(Whole, &m.Result.Uncertainty, m.Result.Wake)
	for k := range m.Result.Regions {
		of(k, &m.Result.Regions[k].Uncertainty, m.Result.Regions[k].Wake)
	}
	return nil
}

// Change picks headline number i from what Simulate found; nil for nil.
func Change(changes []Vector, i int) []float64 {
	if changes == nil {
		return nil
	}
	return grid.Fill(len(changes), func(t int) float64 { return changes[t][i] })
}

// SolutionItems is the analyst's band for the solver's error on the drag area at
// index i of a survey, or of the difference of two: each solution errs by itself,
// so nothing cancels.
func SolutionItems(i int, ms ...*Measurement) []uncertainty.Item {
	band, u := ms[0].given.Uncertainty.Solution, 0.0
	for _, m := range ms {
		u = math.Hypot(u, wake.Deref(band)*m.Values[i])
	}
	if band == nil || math.IsNaN(u) {
		return nil
	}
	return []uncertainty.Item{solutionItem(*band, u)}
}

func solutionItem(band, u float64) uncertainty.Item {
	return uncertainty.Item{Name: fmt.Sprintf("solution, band of %.3g %%", 100*band), Category: uncertainty.RunToRun, How: uncertainty.Stated, Kind: uncertainty.Independent, Standard: u}
}

// PlaceItems is the analyst's band for a place that is a mean over the wake, of a wake with
// the given spread about it, in a survey or in the difference of n: when that part of the
// wake's integral is wrong a spread away from the middle, the middle is off by the
// band times the spread (a model of our own, no source).
func (u *Inputs) PlaceItems(spread float64, n int) []uncertainty.Item {
	if u.Solution == nil {
		return nil
	}
	return []uncertainty.Item{solutionItem(*u.Solution, *u.Solution*spread*math.Sqrt(float64(n)))}
}

// TimeItems say that steady solutions have no time average.
func TimeItems(ms ...*Measurement) []uncertainty.Item {
	if slices.ContainsFunc(ms, func(m *Measurement) bool { return !m.given.Uncertainty.Steady }) {
		return nil
	}
	return []uncertainty.Item{uncertainty.Declared(uncertainty.TimeAverage, uncertainty.Absent, "a steady solution")}
}

// RepeatItems is what headline number i of one survey, or of the difference of two, scatters
// by when it is repeated.
func RepeatItems(i int, ms ...*Measurement) []uncertainty.Item {
	u := &ms[0].given.Uncertainty
	if i >= len(u.Repeat) || i >= len(u.RepeatDOF) || !(u.Repeat[i] >= 0 && u.RepeatDOF[i] > 0) {
		return nil
	}
	return []uncertainty.Item{uncertainty.Repeats(u.Repeat[i]*math.Sqrt(float64(len(ms))), u.RepeatDOF[i])}
}

// recovered: Jones's method speaks of the drag where it is sound and the pressure
// coefficient's mean magnitude over the wake is within this.
const recovered = 0.02

// meanPressed is the mean magnitude of the pressure coefficient over the wake, 0
// without one.
func (m *measuring) meanPressed() float64 {
	f := m.flow
	sum := m.whole.IntegrateAll(2, func(i int, w float64, s []float64) {
		if f.loss(i) > wake.WakeLoss {
			_, _, _, _, cp := f.at(i)
			// What isotropic turbulence has lowered the pressure by, the turbulence term
			// gives back.
			s[0] += w * math.Abs(cp-f.stress(i)/f.norm)
			s[1] += w
		}
	})
	if sum[1] == 0 {
		return 0
	}
	return sum[0] / sum[1]
}

// smallTerm is the part of a drag area within which a missing turbulence term is let pass without a word.
const smallTerm = 0.01

// methodValues are the drag areas by the momentum integral and by Jones with the vortex
// part, who supposes more; ok is false where what he supposes does not hold in the plane.
func (m *Measurement) methodValues() (values [2]float64, ok bool) {
	d := m.Result.Drag
	if d == nil || d.Momentum == nil || d.Jones == nil || d.Jones.WithVortex == nil || !d.Jones.Sound() || m.pressed > recovered {
		return values, false
	}
	return [2]float64{d.Momentum.DragArea, *d.Jones.WithVortex}, true
}

// sign is that of number n in one survey, or in the difference of two, second minus first.
func sign(n int, ms []*Measurement) float64 {
	if n == 0 && len(ms) == 2 {
		return -1
	}
	return 1
}

// MethodItems is the spread of the methods on a survey or on the difference second
// minus first, as a rectangular distribution. nil where the static pressure has
// not recovered in the plane, so that Jones's method does not speak of the drag.
func MethodItems(ms ...*Measurement) []uncertainty.Item {
	var v [2]float64
	for n, m := range ms {
		x, ok := m.methodValues()
		if !ok {
			return nil
		}
		for k := range v {
			v[k] += sign(n, ms) * x[k]
		}
	}
	return []uncertainty.Item{uncertainty.HalfWidth("method, momentum or Jones with the vortex part", (v[0]-v[1])/2)}
}
