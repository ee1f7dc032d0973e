// Package structure finds the parts of a wake in the field itself, follows them
// from one configuration to another and from one station to the next, and says
// how far they moved.
//
//	Find          field → parts above a threshold, split where saddles are deep
//	Match         parts of two fields → pairs with a score; splits, merges
//	ShiftBetween  a pair → its move in four ways, and whether these agree
//	Pair          moves of a left and a right part → their symmetric mean
//	Follow        parts station by station → paths
//	TopView       plane normal to z → wake edges y(x) on both sides
//	NewLedger     two fields on the same samples → where the drag difference sits
//
// The weight is counted from its mean on the open edge of the survey (measure's
// Level), for both configurations alike; what counting it from the nominal
// reference instead does to a move is part of the move's uncertainty.
//
// In a plane normal to x the coordinates are y (to the right) and z (up), here X
// and Y of a grid.Point. Inboard means toward y = 0 and is positive.
//
// References:
//
//	[carr] H. Carr, J. Snoeyink, U. Axen, Computing contour trees in all
//	dimensions, Comput. Geom. 24 (2003) 75 (from memory): the join tree.
//	[zhou] J. Zhou, R. J. Adrian, S. Balachandar, T. M. Kendall, Mechanisms for
//	generating coherent packets of hairpin vortices in channel flow, J. Fluid Mech.
//	387 (1999) 353 (from memory): swirling strength.
//	[birge] R. T. Birge, The calculation of errors by the method of least squares,
//	Phys. Rev. 40 (1932) 207 (from memory): consistency of a weighted mean.
package structure
