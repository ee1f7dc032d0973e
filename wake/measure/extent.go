package measure

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/wake/uncertainty"
)

// Extent is how far the wake reaches within its plane: the box round the lines where
// the weight has the threshold.
type Extent struct {
	Threshold float64 `json:"threshold"`
	// Y and Z are the limits along the plane's two axes, m, lower first.
	Y [2]float64 `json:"y_m"`
	Z [2]float64 `json:"z_m"`
	// Expanded are the expanded uncertainties of Y and of Z that the time average makes, m, for
	// a mean kept by blocks of its record; else nil.
	Expanded *[2][2]float64 `json:"expanded_m,omitempty"`
}

// extentSpeck is the part of the longest line's length below which a line is a speck
// and does not count: the outermost speck of noise is no edge of a wake.
const extentSpeck = 0.1

// Extent takes the box round the lines of the weight at the middle one of the
// thresholds that areas are given for, without lines shorter than a tenth of the
// longest. It is nil where the plane has no weight, no threshold, or no line at it. A
// wake that reaches the window's border is cut there.
func (m *Measurement) Extent() *Extent {
	e := m.extent(m.Weight)
	if e == nil || m.Plane.Blocks == nil {
		return e
	}
	// The edges without each block of the record (wake.Blocks).
	var edges [4][]float64
	for j := range m.Plane.Blocks.Field {
		without := m.extent(m.weightOf(m.Plane.Without(j)))
		if without == nil {
			return e
		}
		for k, v := range [4]float64{without.Y[0], without.Y[1], without.Z[0], without.Z[1]} {
			edges[k] = append(edges[k], v)
		}
	}
	g := float64(len(m.Plane.Blocks.Field))
	e.Expanded = &[2][2]float64{}
	for k, v := range edges {
		e.Expanded[k/2][k%2] = uncertainty.Coverage(g-1) * (g - 1) / math.Sqrt(g) * stat.StdDev(v, nil)
	}
	return e
}

// extent is that of a weight at the samples.
func (m *Measurement) extent(weight []float64) *Extent {
	w := m.Result.Wake
	if weight == nil || w == nil || len(w.Areas) == 0 {
		return nil
	}
	e := &Extent{Threshold: w.Areas[len(w.Areas)/2].Threshold}
	mesh, f := m.Plane.Mesh.Nodal(weight)
	lines := isoline.Lines(mesh, f, e.Threshold)
	longest := 0.0
	for _, l := range lines {
		longest = max(longest, l.Length())
	}
	if !(longest > 0) {
		return nil
	}
	var points []grid.Point
	for _, l := range lines {
		if !(l.Length() < extentSpeck*longest) {
			points = append(points, l.Points...)
		}
	}
	b := grid.Bounds(points)
	e.Y, e.Z = [2]float64{b.Min.X, b.Max.X}, [2]float64{b.Min.Y, b.Max.Y}
	return e
}
