// Package statistics has the statistics of measurement that no field of a wake
// enters: propagation of uncertainty, degrees of freedom and coverage factors,
// comparison of means, pooling, batch means, and grid convergence.
//
// In go numbers, out come numbers; nothing here knows of planes or files. Sources
// stand at each function.
package statistics
