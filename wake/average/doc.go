// Package average makes a time mean of snapshots of one plane. In go the Samples
// of the snapshots, one after the other; out comes a mean plane with its resolved
// stresses, the time series of the momentum integral, and what both are uncertain
// by. It stands between reading (package survey) and measuring: its plane file is
// read like any other.
//
// The steps inside:
//
//  1. check    the same points and quantities as in the first snapshot
//  2. add      to the exact sums of values and products (exact.go, add.go)
//  3. merge    sums of several runs, in any order, to the same bytes (merge.go)
//  4. blocks   sums by stretches of the record, for means without one (blocks.go)
//  5. result   means, stresses, time series judged by blocks, plane file, text and JSON
//
// # Sums
//
// Values are counted in whole steps of a fixed quantum,
//
//	2⁻⁴⁰ m/s (9e-13) for velocities, and 2⁻⁴⁰ for cp, cpt and rho
//	2⁻²⁸ Pa (4e-9) for pressures
//
// and the sums Σn of values and Σnm of products of velocities are integers of 128
// bits. Integers do not round: any order, any grouping, any number of cores gives
// the same bits, and the co-moment N·Σnm − Σn·Σm is taken at the end, in whole
// numbers of any length, without cancellation.
//
// Bounds. A value must be below 2¹² in its unit (4096 m/s; 2²⁴ = 16.7 MPa for
// pressures), so that |n| ≤ 2⁵² and |nm| ≤ 2¹⁰⁴; up to 2²² = 4,194,304 snapshots
// then stay below 2¹²⁷. Larger values and more snapshots are refused. Taking a
// value to its quantum moves it by at most 2⁻⁴¹ = 4.6e-13 m/s (or 1.9e-9 Pa), and
// a stress by at most 2⁻⁴⁰·√<u'u'> to first order; the final conversion to
// float64 adds a relative error below 4·2⁻⁵³.
//
// Memory. A sample takes 24 bytes for its position, 16 for each mean and co-moment (184
// with u, v, w and p) and 56 for each of the up to 24 blocks of the record; a snapshot some
// 400 bytes.
package average
