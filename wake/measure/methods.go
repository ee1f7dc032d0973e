package measure

import (
	"wakeledger/wake/uncertainty"

	"wakeledger/grid"
)

// The keys of the methods.
const (
	ByMomentum     = "momentum"
	ByWakeOnly     = "wake_only"
	ByJones        = "jones"
	ByBetz         = "betz"
	ByVelocityOnly = "velocity_only"
	ByEnergy       = "energy"
)

// Method is one way from a plane to a drag area. It has a file of its own with its
// integrand, its result and its entry here; results, tables and tests walk the list.
type Method struct {
	// Key names the method in results, Short in tables, Long in sentences.
	Key, Short, Long string
	// Formula is the integral over q, Source where it is from.
	Formula, Source string
	// Quotable: its drag area can be the headline. It is then measured again with every
	// stated input off.
	Quotable bool
	// Deficit: it is of the velocity alone, and no drag.
	Deficit bool
	// Of is its drag area in a result; ok is false where there is none.
	Of func(d *Drag) (area float64, cd *float64, ok bool)
	// needs reports whether a plane that cuts no body has what the method takes, measure
	// puts what it gives into d.
	needs   func(f *flow) bool
	measure func(s *station, n *numbers, d *Drag)
	// integrand is what its drag area is integrated from and items what it errs by, for
	// those that are quotable.
	integrand func(s *station, d *Drag) func(i int) float64
	items     func(m *measuring, d *Drag) []uncertainty.Item
}

// Methods lists all, in the order in which they are shown.
var Methods []*Method

func init() {
	Methods = []*Method{momentumMethod, wakeOnlyMethod, jonesMethod, betzMethod, velocityOnlyMethod, energyMethod}
}

// MethodOf finds a method by its key; nil for another word.
func MethodOf(key string) *Method {
	for _, m := range Methods {
		if m.Key == key {
			return m
		}
	}
	return nil
}

// had is the drag area of a method's result, if there is one.
func had[T any, R interface {
	*T
	drag() (area float64, cd *float64)
}](r R) (area float64, cd *float64, ok bool) {
	if r == nil {
		return 0, nil, false
	}
	area, cd = r.drag()
	return area, cd, true
}

// Quoted is the drag area of the method that a result quotes.
func (d *Drag) Quoted() (area float64, cd *float64, ok bool) {
	if d == nil || d.Headline == "" {
		return 0, nil, false
	}
	return MethodOf(d.Headline).Of(d)
}

// Integrand returns, for each sample, what the drag area of a method is integrated from, in
// units of the nominal q, for comparing surveys sample by sample; nil where the method gave
// none.
func (m *Measurement) Integrand(key string) []float64 {
	d, method := m.Result.Drag, MethodOf(key)
	if d == nil || method.integrand == nil {
		return nil
	}
	if _, _, ok := method.Of(d); !ok {
		return nil
	}
	return m.each(method.integrand(m.station, d))
}

// each is a function of the samples as a list.
func (s *station) each(f func(i int) float64) []float64 {
	return grid.Fill(len(s.mesh.Points), f)
}
