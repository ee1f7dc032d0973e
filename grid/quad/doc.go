// Package quad integrates sampled fields, and products of two, over the elements
// of a mesh, over the parts of them inside a box or a polygon, and over the parts
// above a level. Every integral is exact for the field that the mesh represents:
//
//   - lattice of nodes: bilinear in each quadrilateral with four present corners
//     (its level sets: linear in the four triangles about the centre);
//   - lattice of cells, given cells: constant in each cell;
//   - triangles, polygons: linear in each triangle;
//   - sample areas, where a mesh has them: value × area, whatever the elements.
//
// An integral of such a field is a sum of sample value × weight. Weights are
// worked out once for a mesh and a box, and every quantity after that is a dot
// product, which also makes regions and the rest add up to the total.
//
// Sums are compensated and made in blocks of fixed size, so they do not depend
// on the number of threads.
package quad
