// Package render turns a field on a survey plane into a picture. In go a mesh,
// one value a sample, a scale and what is to be marked; out comes an image or a
// PNG. It is the last stage: it measures nothing, and every number on a picture
// was given to it.
//
// The steps of a picture are
//
//  1. a Scale says which values the colours span (limits.go, scale.go) and a
//     ColorMap which colours those are (colormap.go);
//  2. a Sampler finds the element under every pixel centre once, and samples any
//     number of fields there (raster.go): pictures have no seams between elements;
//  3. level lines come from grid/isoline and are the exact borders of the bands;
//  4. Draw lays out one Map and DrawSheet a comparison, from measured text (layout.go);
//  5. EncodePNG writes the bytes with title, source and method inside.
//
// Same input gives the same bytes, whatever GOMAXPROCS is.
package render
