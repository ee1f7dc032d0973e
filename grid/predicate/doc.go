// Package predicate decides on which side of a line, and inside or outside of
// which circle, a point lies, and is never wrong about it.
//
// In go points with float64 coordinates, taken as the exact numbers they are;
// out comes a sign. Both predicates first evaluate the determinant in floating
// point and compare it with a bound on the rounding error. Only when the bound
// cannot exclude a wrong sign do they compute it with pairs of float64, and where
// these leave it open with numbers of any length. Lattices and refined grids are full
// of collinear and co-circular samples: what is known about them by symmetry, or by pairs,
// allocates nothing, and few are left.
//
// Limits. Any finite coordinates are allowed; differences that are not zero and lie
// outside [2⁻²¹⁵, 2²⁵⁰] are for the long numbers, which take a hundred times as long.
// A NaN or infinite coordinate has no position: the answer is then 0, and callers that
// must tell this from a degenerate position have to check their points first.
//
// On every CPU the same bits come out: products that feed a sum are rounded
// explicitly, so that a compiler may not fuse them, and fused multiply-add is
// used on purpose only, to get the rounding error of a product.
//
// References
//
//	[Shewchuk] J. R. Shewchuk, "Adaptive Precision Floating-Point Arithmetic
//	and Fast Robust Geometric Predicates", Discrete & Computational Geometry
//	18 (1997), 305–363.
package predicate
