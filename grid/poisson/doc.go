// Package poisson solves ∇²ψ = −f on a uniform lattice for four kinds of border:
//
//   - FreeAir: nothing round the lattice, ψ → −(1/2π)(∫f) ln r far away;
//   - OverFloor: free air above a straight floor, on which ψ or its normal
//     derivative is zero;
//   - Box with Dirichlet: ψ = 0 on all four sides of the lattice's box;
//   - Box with Neumann: ∂ψ/∂n = 0 on all four sides.
//
// In go a Lattice and one value of f a sample, row by row; out comes ψ at the
// same samples. FromLines and Resample make a uniform lattice from what a survey
// has; Slopes differentiates on it. The package knows mathematics only.
//
// Convergence for a smooth f that fades before the border: fourth order for
// FreeAir and OverFloor, faster than any power for Box (see each function for what a
// rough f does). All results are the same bits for any number of processors.
package poisson
