// Package uncertainty has what no field of a wake enters: the budget of a number and
// its items, propagation of uncertainty, degrees of freedom and coverage factors,
// Monte Carlo trials beside a budget, comparison of means, pooling, batch means, and
// grid convergence.
//
// In go numbers, out come numbers; nothing here knows of planes or files. Sources
// stand at each function.
package uncertainty
