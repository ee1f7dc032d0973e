// Package vtk reads the open file formats of the Visualization Toolkit library as far as
// they can carry a survey plane: in go the bytes of a file (and a way to open the files that
// it names), out come data sets of points, polygons and arrays of values on either. It has
// no notion of velocity, units or frames.
//
// Read are legacy files (.vtk), text and binary, of versions 1 to 5.1; XML files (.vtp,
// .vtu, .vts, .vtr, .vti) of one or several pieces, as text, base64 or raw appended data,
// plain or compressed with zlib, LZ4 or LZMA, in both byte orders; parallel indices of such
// (.pvtp …) and the multi-block index (.vtm). Flat cells are kept, vertices and lines left
// out with their values, volumes refused with the advice to export a slice.
//
// Nothing in a file is believed before it is checked: counts against the bytes that are
// there, sizes against their payload, point numbers against the number of points,
// compression ratios against what the method can reach. So a damaged file takes about the
// memory of the intact one, and damage to its structure ends in an error that names the
// byte. What is legal but doubtful is said in the Notes of the data set.
//
// Reference: the file format chapter of The VTK User's Guide, 11th edition [mem],
// and the files that the library's own writers make, against which the tests compare.
package vtk
