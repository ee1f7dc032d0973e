package grid

import "math"

// References:
//
//	[neumaier] A. Neumaier, Rundungsfehleranalyse einiger Verfahren zur Summation
//	endlicher Summen, ZAMM 54 (1974) 39 (from memory).

// Sum adds up compensated [neumaier]. The zero value is zero.
type Sum struct{ s, c float64 }

// Add adds v. Once a NaN or an infinity was added the value is not finite.
func (a *Sum) Add(v float64) {
	t := a.s + v
	if math.Abs(a.s) >= math.Abs(v) {
		a.c += (a.s - t) + v
	} else {
		a.c += (v - t) + a.s
	}
	a.s = t
}

// Value is the sum so far.
func (a *Sum) Value() float64 { return a.s + a.c }
