package rake

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Drag is what a plane of pitot and static pressures holds, over the surveyed window
// alone: not the vehicle's drag unless the window holds its wake and cuts no body.
type Drag struct {
	// DragArea is Jones's integral 2∫(u/U)(1−√Cpt)dS, m² (measure.JonesDensity).
	DragArea float64 `json:"jones_m2"`
	// Loss is ∫(1−Cpt)dS, m².
	Loss float64 `json:"total_pressure_loss_m2"`
	// Area is the surveyed area, Invalid the part of the wake's (1−Cpt > 0.01) where
	// Jones has no meaning (Cpt ≤ 0 or u ≤ 0).
	Area    float64 `json:"area_m2"`
	Invalid float64 `json:"invalid_area_fraction"`
	// Bracket is the drag area with Cp 0.1 lower and higher, where no static pressure
	// was measured.
	Bracket *[2]float64 `json:"bracket_m2,omitempty"`
	// Centroid of the loss in y and z, m, with its standard uncertainty (from the samples,
	// not from their spacing or the window); absent where
	// the loss has no positive sum.
	Centroid      *[2]float64 `json:"centroid_m,omitempty"`
	CentroidSigma *[2]float64 `json:"centroid_standard_m,omitempty"`
	// Standard is the standard uncertainty of DragArea, the root of the sum of squares
	// of Items.
	Standard float64 `json:"standard_m2"`
	Items    []Item  `json:"items"`
}

// Sound says whether Jones's method has a meaning in all but a hundredth of the wake;
// else it is not quoted.
func (d *Drag) Sound() bool { return d.Invalid <= wake.SoundJones }

// jones is the integrand 2u(1−√Cpt), ok whether it has a meaning.
func jones(cpt, u float64) (density float64, ok bool) { return measure.JonesDensity(cpt, 1, u) }

// jonesSlopes are its derivatives by Cpt and by Cp for u = √(Cpt−Cp). Near u = 0 and
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

// plane integrates the survey where it is one plane normal to x.
func (r *reduction) plane() {
	mesh, area, list := r.planeWeights()
	if mesh == nil {
		return
	}
	d := &Drag{Area: area}
	r.out.Drag = d
	var invalid, wakeArea, lo, hi, my, mz float64
	known := false
	for _, x := range list {
		density, ok := jones(x.s.Cpt, x.s.axial())
		low, _ := jones(x.s.Cpt, math.Sqrt(math.Max(x.s.Cpt+0.1, 0)))
		high, _ := jones(x.s.Cpt, math.Sqrt(math.Max(x.s.Cpt-0.1, 0)))
		loss := 1 - x.s.Cpt
		d.DragArea += x.w * density
		lo, hi = lo+x.w*low, hi+x.w*high
		d.Loss += x.w * loss
		my += x.w * loss * x.s.Y
		mz += x.w * loss * x.s.Z
		if loss > wake.WakeLoss {
			wakeArea += x.w
		}
		if !ok {
			invalid += x.w
		}
		known = known || !math.IsNaN(x.s.Cp)
	}
	if wakeArea > 0 {
		d.Invalid = invalid / wakeArea
	}
	if !d.Sound() {
		r.warn("jones-invalid", "quote the loss of total pressure, or survey further downstream", "Jones's method has no meaning in %.1f %% of the wake's area (Cpt <= 0 or u <= 0), and is not quoted", 100*d.Invalid)
	}
	if !known {
		d.Bracket = &[2]float64{math.Min(lo, hi), math.Max(lo, hi)}
	}
	d.Items = standard(list, r.lay.Uncertainty.Q, jonesSlopes)
	if sub := mesh.Interleave(); sub != nil {
		d.Items = append(d.Items, Item{"sampling distance", "random", subsets(list, sub)})
	}
	d.Standard = total(d.Items)
	if d.Loss > 0.01*d.Area {
		c := [2]float64{my / d.Loss, mz / d.Loss}
		var sigma [2]float64
		for k := range 2 {
			lever := func(s *Sample) (float64, float64) {
				return ([2]float64{s.Y, s.Z}[k] - c[k]) / d.Loss, 0
			}
			sigma[k] = math.Hypot(total(standard(list, r.lay.Uncertainty.Q, lever)), r.lay.Uncertainty.Position)
		}
		d.Centroid, d.CentroidSigma = &c, &sigma
	}
}

// subsets recomputes Jones's integral from each of the four interleaved subsets of
// the samples of the mesh; half the range over √3 is the standard uncertainty of sampling.
func subsets(list []weighted, sub []uint8) float64 {
	var area, sum [4]float64
	total := 0.0
	for _, x := range list {
		s := sub[x.point] % 4
		density, _ := jones(x.s.Cpt, x.s.axial())
		area[s] += x.w
		sum[s] += x.w * density
		total += x.w
	}
	for s := range sum {
		sum[s] = total * sum[s] / area[s]
	}
	if slices.Min(area[:]) > 0 {
		return (slices.Max(sum[:]) - slices.Min(sum[:])) / 2 / math.Sqrt(3)
	}
	return 0
}
