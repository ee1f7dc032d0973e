// Package survey reads files of wake samples. In go files of delimited text in
// any of the dialects that solvers and loggers write, files of the VTK formats, and NumPy
// arrays, plain or compressed, or several files of the same points; out come wake.Samples
// in SI units and in the program's frame, or an error that names file, line and field.
//
// The steps inside:
//
//  1. open     what the bytes are, from the bytes: compression, encoding, format
//  2. dialect  separator, decimal mark, preface, header, units row
//  3. columns  which column is which quantity, and in which unit
//  4. parse    blocks of lines by all cores, independent of their number
//  5. finish   SI units, frame, checks over whole columns
//
// Nothing is guessed twice: where two columns claim a quantity the reader stops
// and says which option decides.
package survey
