// Package measure turns one survey plane into numbers: what drag it carries, by
// every method that the data allows and in its terms, the shape and place of the
// wake, the share of named regions, and a first budget of uncertainty.
//
// In goes a wake.Plane and Options with the reference; out comes a Result, which
// is plain data. Each integral has a file of its own, named for it and opening
// with its references. All drags are drag areas D/q in m², with q = ½ρ∞U² of the
// reference that was given.
//
// In formulas u, v, w represent velocities over U, cp = (p−p∞)/q, cpt =
// (pt−p∞)/q and r = ρ/ρ∞.
package measure
