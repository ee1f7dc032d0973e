// Package rake is the tunnel half of reading: a log of tube pressures and the
// layout of the rake go in, a corrected survey with an uncertainty for every
// sample comes out, which is a plane or, behind a two-dimensional body, a line.
//
// The steps, each with a switch and its size in the result, are
//
//  1. readings: calibration factor, zero offsets and their drift between wind-off
//     rows (zero.go), tubes that are blocked, lagging or leaking (tubes.go);
//  2. rows: each row is normalised by its own reference (rows.go), repeated
//     positions are averaged and say how well a reading repeats (places.go, meet.go);
//  3. places: static pressure between the static tubes (static.go), displacement
//     of the effective centre in shear and the wall (shear.go), uncertainty
//     (reduce.go);
//  4. result: samples (result.go), which of them err together by how much (sources.go),
//     the integrals that measure makes of a line (line.go), what each correction changes
//     (worth.go), the plane file (write.go).
//
// The variable steps (reduce.go) lists them in order.
//
// Cp = (p−p_ref)/q_ref and Cpt = (pt−p_ref)/q_ref, each row with its own reference:
// the free stream has Cp = 0 and Cpt = 1. A pitot tube with a static tube gives the
// speed |V| = U √(Cpt−Cp), not the component u; what is written says so.
package rake
