// Package shift says how far parts of a wake moved from one configuration to another.
//
//	Between  a part in two fields → its move in four ways, and whether these agree
//	InBox    the same for the wake in a box
//	Tops     two top views → the moves of their edges
//
// What counting the weight from the nominal reference instead of the open edge does to a
// move is part of its uncertainty. Inboard means toward y = 0 and is positive.
//
// References:
//
//	[birge] R. T. Birge, The calculation of errors by the method of least squares,
//	Phys. Rev. 40 (1932) 207 (from memory): consistency of a weighted mean.
package shift
