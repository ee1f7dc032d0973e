// Package grid holds the plane geometry that every later stage stands on:
// points, boxes and the mesh that joins the samples of a survey plane.
//
// In go sample positions in the two coordinates of the plane; out comes a Mesh
// that covers the surveyed part of the plane with elements and leaves the rest
// (a body, a contact patch) open. The package knows mathematics only: it has no
// notion of velocity, pressure or files.
//
// Axes. The two in-plane coordinates are called X and Y here whatever the plane
// is. For the usual cross-flow plane, normal to the vehicle's x axis and looked
// at from behind the vehicle, X is the vehicle's y (to the right) and Y is the
// vehicle's z (up). Areas of triangles are positive when the corners run
// anticlockwise from X to Y.
package grid
