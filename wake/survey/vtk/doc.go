// Package vtk reads the open file formats of the Visualization Toolkit library
// as far as they can carry a survey plane: points, flat cells, and arrays of
// values on either. In go the bytes of a file (and a way to open the files that
// it names); out come data sets whose cells are polygons. The package knows the
// formats only: it has no notion of velocity, units or frames.
//
// Read:
//
//   - legacy files (.vtk), text and binary, of versions 1 to 5.1;
//   - XML files of polygonal data (.vtp), unstructured grids (.vtu), structured
//     grids (.vts), rectilinear grids (.vtr) and images (.vti), with one or
//     several pieces, as text, base64 or raw appended data, plain or compressed
//     with zlib, LZ4 or LZMA, in both byte orders;
//   - their parallel index files (.pvtp …) and the multi-block index (.vtm), which
//     name further files.
//
// Triangles, triangle strips (split), polygons, pixels and quadrilaterals are kept;
// vertices and lines are left out together with their cell values. A structured
// grid must be flat in one index direction and becomes quadrilaterals. Everything
// else is refused by name: volume cells with the advice to export a slice.
//
// Nothing in a file is believed before it is checked: counts against the bytes
// that are there, sizes in the headers against their payload, point numbers
// against the number of points, compression ratios against what the method can
// reach. So a damaged file takes about the memory of the same file intact, and
// damage to its structure ends in an error that names the byte; a changed digit in
// a plain value cannot be seen. What is legal but doubtful (cells written
// twice, arrays that some pieces lack, hidden or marked values), and a header that
// announces a wrong length of content that fits the counts, is mended where that is
// plain, and said in the Notes of the data set.
//
// Reference: the file format chapter of The VTK User's Guide, 11th edition [mem],
// and the files that the library's own writers make, against which the tests compare.
package vtk
