package rake

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Drag is what the surveyed window holds, with its uncertainty.
type Drag struct {
	measure.PitotWindow
	// CentroidSigma is the standard uncertainty of the centroid, from the samples, not from
	// their spacing or the window.
	CentroidSigma *[2]float64 `json:"centroid_standard_m,omitempty"`
	// Standard is the standard uncertainty of DragArea, the root of the sum of squares
	// of Items.
	Standard float64 `json:"standard_m2"`
	Items    []Item  `json:"items"`
}

// jonesSlopes are the derivatives of 2u(1−√Cpt) by Cpt and by Cp for u = √(Cpt−Cp). Near u = 0 and
// Cpt = 0 they have no limit: both are taken no nearer than the sample's noise.
func jonesSlopes(s *Sample) (byCpt, byCp float64) {
	noise := math.Sqrt(math.Hypot(s.SigmaCpt, s.SigmaCp))
	v := math.Max(s.Speed, noise)
	root := math.Sqrt(math.Max(s.Cpt, 0))
	if v == 0 {
		return 0, 0
	}
	byCp = -(1 - root) / v
	return -byCp - v/math.Max(root, noise), byCp
}

// planeWeights gives the weights of the samples where they are one plane normal to x; no
// mesh where they are not.
func (r *reduction) planeWeights() (mesh *grid.Mesh, area float64, list []weighted) {
	var at [][3]float64
	var cpt []float64
	// A plane has one sample where several repeat a position exactly: they share its
	// weight.
	here := map[grid.Point][]*Sample{}
	for i := range r.out.Samples {
		if x := &r.out.Samples[i]; !math.IsNaN(x.Cpt) {
			p := grid.Point{X: x.Y, Y: x.Z}
			here[p], at, cpt = append(here[p], x), append(at, [3]float64{x.X, x.Y, x.Z}), append(cpt, x.Cpt)
		}
	}
	if len(at) == 0 {
		return nil, 0, nil // velocities alone
	}
	planes, err := planesOf(r.out.Log, at, cpt)
	switch {
	case err != nil:
		r.warn("no-plane", "see where the samples are on the map of positions", "the samples make no plane, so nothing is integrated: %v", err)
		return nil, 0, nil
	case len(planes) != 1 || planes[0].Normal != wake.AxisX:
		r.warn("no-single-plane", "give each station its own log", "the samples lie on %d planes normal to %s: integrals are for one plane normal to x", len(planes), planes[0].Normal)
		return nil, 0, nil
	}
	mesh = planes[0].Mesh
	w := quad.NewWeights(mesh, nil)
	for k, weight := range w.Weight {
		i := w.Sample(k)
		group := here[mesh.Points[i]]
		for _, x := range group {
			list = append(list, weighted{x, weight / float64(len(group)), i})
		}
	}
	return mesh, w.Area(), list
}

func (r *reduction) plane() {
	mesh, area, list := r.planeWeights()
	if mesh == nil {
		return
	}
	sub := mesh.Interleave()
	points := make([]measure.PitotPoint, len(list))
	for k, x := range list {
		points[k] = measure.PitotPoint{Area: x.w, Y: x.s.Y, Z: x.s.Z, Cpt: x.s.Cpt, Cp: x.s.Cp, U: x.s.axial()}
		if sub != nil {
			points[k].Subset = sub[x.point]
		}
	}
	d := &Drag{PitotWindow: *measure.NewPitotWindow(area, points), Items: standard(list, r.lay.Uncertainty.Q, jonesSlopes)}
	r.out.Drag = d
	if !d.Sound() {
		r.warn("jones-invalid", "quote the loss of total pressure, or survey further downstream", "Jones's method has no meaning in %.1f %% of the wake's area (Cpt <= 0 or u <= 0), and is not quoted", 100*d.Invalid)
	}
	if sub != nil {
		d.Items = append(d.Items, Item{"sampling distance", "random", measure.SubsetSampling(points)})
	}
	d.Standard = total(d.Items)
	if c := d.Centroid; c != nil {
		d.CentroidSigma = new([2]float64)
		for k := range c {
			lever := func(s *Sample) (float64, float64) {
				return ([2]float64{s.Y, s.Z}[k] - c[k]) / d.Loss, 0
			}
			d.CentroidSigma[k] = math.Hypot(total(standard(list, r.lay.Uncertainty.Q, lever)), r.lay.Uncertainty.Position)
		}
	}
}
