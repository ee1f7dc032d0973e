// Package wake holds the vocabulary of a wake survey: quantities, the vehicle
// frame, the free-stream reference, samples, planes and warnings.
//
// The work runs one way, each step a package of its own:
//
//  1. read     wake/survey   files → Samples, in SI units and in the one frame
//  2. plane    wake          Samples → Plane, with the mesh of package grid
//  3. measure  wake/measure  Plane → Result: drag terms, areas, centroid
//  4. compare  wake/compare  Results → differences, shifts, verdicts
//  5. render   render        fields → maps; render/report: results → text, page
//
// wake/study runs the steps for all configurations and stations of a study file.
//
// Frame. Right-handed; x aft (downstream), y to the vehicle's right, z up; the
// origin on the ground at mid-wheelbase (SAE J1594:2010). Units are SI. Flow
// leaves a cross-flow plane toward +x.
package wake
