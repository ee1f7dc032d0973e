// Package parts finds the parts of a wake in the field itself, names and matches them,
// follows them from one station to the next, and says where a drag difference sits.
//
//	Find        field → parts above a threshold, split where saddles are deep
//	Match       parts of two fields → pairs with a score; splits, merges
//	Follow      parts station by station → paths
//	NewTopView  plane normal to z → wake edges y(x) on both sides
//	NewLedger   two fields → where the drag difference sits
//
// The weight is counted from its mean on the open edge of the survey (measure's
// Level), for all configurations alike.
//
// In a plane normal to x the coordinates are y (to the right) and z (up), here X
// and Y of a grid.Point.
//
// References:
//
//	[carr] H. Carr, J. Snoeyink, U. Axen, Computing contour trees in all
//	dimensions, Comput. Geom. 24 (2003) 75 (from memory): the join tree.
package parts
