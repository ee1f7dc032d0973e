package rake

import (
	"math"

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

// plane integrates the survey where it is one plane normal to x.
func (r *reduction) plane() {
	s := r.out.columns()
	if s.N == 0 {
		return // velocities alone
	}
	planes, err := wake.Planes(s, wake.PlaneOptions{})
	switch {
	case err != nil:
		r.warn("no-plane", "see where the samples are on the map of positions", "the samples make no plane, so nothing is integrated: %v", err)
		return
	case len(planes) != 1 || planes[0].Normal != wake.AxisX:
		r.warn("no-single-plane", "give each station its own log", "the samples lie on %d planes normal to %s: integrals are for one plane normal to x", len(planes), planes[0].Normal)
		return
	}
	m := planes[0].Mesh
	w := quad.NewWeights(m, nil)
	list := make([]weighted, 0, len(m.Points))
	// A plane has one sample where several repeat a position exactly: they share its
	// weight.
	at := map[grid.Point][]*Sample{}
	for i := range r.out.Samples {
		if x := &r.out.Samples[i]; !math.IsNaN(x.Cpt) {
			p := grid.Point{X: x.Y, Y: x.Z}
			at[p] = append(at[p], x)
		}
	}
	var sample []int32 // of the mesh, by entry of the list
	for k, weight := range w.Weight {
		i := w.Sample(k)
		here := at[m.Points[i]]
		for _, x := range here {
			list = append(list, weighted{x, weight / float64(len(here))})
			sample = append(sample, int32(i))
		}
	}
	d := &Drag{Area: w.Area()}
	var invalid, wakeArea, lo, hi, my, mz float64
	known := false
	for _, x := range list {
		u := x.s.axial()
		density, ok := jones(x.s.Cpt, u)
		d.DragArea += x.w * density
		loss := 1 - x.s.Cpt
		d.Loss += x.w * loss
		my += x.w * loss * x.s.Y
		mz += x.w * loss * x.s.Z
		if loss > wake.WakeLoss {
			wakeArea += x.w
		}
		if !ok {
			invalid += x.w
		}
		known = known || x.s.Cp == x.s.Cp
		low, _ := jones(x.s.Cpt, math.Sqrt(math.Max(x.s.Cpt+0.1, 0)))
		high, _ := jones(x.s.Cpt, math.Sqrt(math.Max(x.s.Cpt-0.1, 0)))
		lo += x.w * low
		hi += x.w * high
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
	if sub := m.Interleave(); sub != nil {
		d.Items = append(d.Items, Item{"sampling distance", "random", subsets(list, sample, sub)})
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
	r.out.Drag = d
}

// subsets recomputes Jones's integral from each of the four interleaved subsets of
// the samples of the mesh, which sample gives by entry of the list; half the range
// over √3 is the standard uncertainty of sampling.
func subsets(list []weighted, sample []int32, sub []uint8) float64 {
	var area, sum, all [4]float64
	total := 0.0
	for k, x := range list {
		s := sub[sample[k]] % 4
		area[s] += x.w
		density, _ := jones(x.s.Cpt, x.s.axial())
		sum[s] += x.w * density
		total += x.w
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for s := range 4 {
		if !(area[s] > 0) {
			return 0
		}
		all[s] = total * sum[s] / area[s]
		lo, hi = math.Min(lo, all[s]), math.Max(hi, all[s])
	}
	return (hi - lo) / 2 / math.Sqrt(3)
}

// columns makes Samples of the positions with a total pressure.
func (r *Result) columns() *wake.Samples {
	s := &wake.Samples{File: r.Log}
	for i := range r.Samples {
		p := &r.Samples[i]
		if math.IsNaN(p.Cpt) {
			continue
		}
		for k, x := range [3]float64{p.X, p.Y, p.Z} {
			q := wake.X + wake.Quantity(k)
			s.Col[q] = append(s.Col[q], x)
		}
		s.N++
	}
	return s
}
