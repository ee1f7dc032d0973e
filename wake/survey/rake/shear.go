package rake

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
)

// References:
//
//	[young]     A. D. Young and J. N. Maas, The behaviour of a pitot tube in a
//	            transverse total-pressure gradient, ARC R&M 1770 (1936) (constants from
//	            memory).
//	[macmillan] F. A. MacMillan, Experiments on pitot-tubes in shear flow, ARC R&M
//	            3028 (1957) (from memory).
//	[mckeon]    B. J. McKeon et al., Pitot probe corrections in fully developed
//	            turbulent pipe flow, Meas. Sci. Technol. 14 (2003) 1449 (from memory).

// displacementShare is the part of the displacement that is its standard uncertainty.
const displacementShare = 0.3

// displacement is the shift δ of the effective centre of a round tube toward the
// higher velocity, m: 0.131 D + 0.082 d for the bore d [young], 0.15 D where the bore
// is not known [macmillan].
func displacement(diameter, bore float64) float64 {
	if math.IsNaN(bore) {
		return 0.15 * diameter
	}
	return 0.131*diameter + 0.082*bore
}

// fade is the part of the displacement that is left in weak shear, tanh(4√α) with
// α = (D/2u) du/dn [mckeon]; 1 in strong shear, 0 where there is none.
func fade(diameter, u, slope float64) float64 {
	if slope == 0 {
		return 0
	}
	if !(u > 0) {
		return 1
	}
	return math.Tanh(4 * math.Sqrt(diameter/(2*u)*slope))
}

// wallFactor is 1 + Δu/u of a tube whose axis is y above a wall: Δu/u = 0.015
// exp(−3.5(y/D − ½)) for y < 2D [macmillan], else 0.
func wallFactor(y, diameter float64) float64 {
	if !(y >= diameter/2 && y < 2*diameter) {
		return 1
	}
	return 1 + 0.015*math.Exp(-3.5*(y/diameter-0.5))
}

// slopes gives |∇Cpt| at the samples, 1/m, across the surveyed plane or along the
// line; NaN where neighbours lack.
func (r *reduction) slopes() []float64 {
	slope := slices.Repeat([]float64{nan}, len(r.out.Samples))
	if r.out.Kind != "line" {
		planeSlopes(r.out.Samples, slope)
		return slope
	}
	for _, l := range lineGroups(r.out.Samples) {
		lineSlopes(l, r.out.Samples, slope)
	}
	return slope
}

// planeSlopes differentiates across the planes of the samples with a Cpt. The group of the one
// source of errors that each then has, without errors, tells the sample.
func planeSlopes(samples []Sample, slope []float64) {
	s := &wake.Samples{File: "rake"}
	rows := wake.SampleError{Groups: len(samples)}
	for k, p := range samples {
		if math.IsNaN(p.Cpt) {
			continue
		}
		for q, x := range map[wake.Quantity]float64{wake.X: p.X, wake.Y: p.Y, wake.Z: p.Z, wake.Cpt: p.Cpt} {
			s.Col[q] = append(s.Col[q], x)
		}
		rows.Group = append(rows.Group, int32(k))
		s.N++
	}
	s.Errors = []wake.SampleError{rows}
	planes, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil {
		return
	}
	for _, p := range planes {
		dx, dy := p.Mesh.Gradient(p.Field[wake.Cpt])
		for i, k := range p.Errors[0].Group {
			// A missing derivative in one direction leaves the other.
			slope[k] = math.Hypot(orZero(dx[i]), orZero(dy[i]))
		}
	}
}

// lineSlopes differentiates along a line: the parabola through three neighbours.
func lineSlopes(l lineGroup, samples []Sample, slope []float64) {
	var xs, f []float64
	var of []int
	var index []int32
	for k, i := range l.index {
		if cpt := samples[i].Cpt; !math.IsNaN(cpt) {
			index, of = append(index, int32(len(of))), append(of, i)
			xs, f = append(xs, l.at[k]), append(f, cpt)
		}
	}
	// A lattice of one row.
	line := grid.Mesh{Kind: grid.KindLattice, Points: make([]grid.Point, len(xs)), Lattice: &grid.Lattice{X: xs, Y: []float64{0}, Index: index}}
	d, _ := line.Gradient(f)
	for k, i := range of {
		slope[i] = math.Abs(d[k])
	}
}

// shear takes each reading of a total tube back from its effective centre to the
// tube's own place: Cpt − δ|∇Cpt|, first order in δ, so that a lattice of tubes stays
// one. Its standard uncertainty is 30 % of the shift, and with the faded law also what
// the unfaded displacement would be more, as a rectangular distribution (over √12):
// which law holds in a wake is not settled. Left in, all of it is uncertainty.
func (r *reduction) shear() {
	s := Step{Name: Displacement, Unit: "1", Text: "no total tubes"}
	slope := r.slopes()
	var far, n, sum float64
	var sized, unsized bool
	for i := range r.out.Samples {
		p := &r.out.Samples[i]
		known := !math.IsNaN(slope[i])
		if known {
			p.parts[byPosition] = r.lay.Uncertainty.Position * slope[i]
		}
		if p.tube < 0 {
			continue
		}
		tube := r.lay.Tubes[p.tube]
		sized, unsized = sized || !math.IsNaN(tube.Diameter), unsized || math.IsNaN(tube.Diameter)
		if !known || math.IsNaN(tube.Diameter) {
			continue
		}
		whole := displacement(tube.Diameter, tube.Bore)
		delta := whole
		if r.lay.Corrections.Law == "faded" {
			u := math.Sqrt(math.Max(p.Cpt-orZero(p.Cp), 0))
			delta *= fade(tube.Diameter, u, slope[i]/(2*math.Max(u, 1e-9)))
		}
		shift := delta * slope[i]
		if !r.on(Displacement) {
			p.parts[byShear] = shift / math.Sqrt(3)
			continue
		}
		p.Cpt -= shift
		p.parts[byShear] = math.Hypot(displacementShare*shift, (whole-delta)*slope[i]/math.Sqrt(12))
		s.Size, far = math.Max(s.Size, shift), math.Max(far, delta)
		sum += shift * shift
		n++
	}
	s.Applied = n > 0
	switch {
	case sized:
		s.Text = fmt.Sprintf("up to %.2f mm toward higher velocity (%s law, ±30 %%), Cpt lower by up to %.4f, rms %.4f", 1000*far, r.lay.Corrections.Law, s.Size, math.Sqrt(sum/math.Max(n, 1)))
	case unsized:
		s.Text = "the diameter of the tubes is not known"
		r.warn("no-diameter", "add diameter and bore to [[tubes]]", "the diameter of the total tubes is not known: the displacement of their effective centre is not corrected")
	}
	r.step(s)
}

func (r *reduction) wall() {
	near := 0
	s := Step{Name: Wall, Unit: "1", Text: "the layout names no floor"}
	floor := r.lay.Corrections.Floor
	if !math.IsNaN(floor) {
		s.Text = "no tube is within two diameters of the floor"
	}
	for i := range r.out.Samples {
		p := &r.out.Samples[i]
		if p.tube < 0 {
			continue
		}
		f := wallFactor(p.Z-floor, r.lay.Tubes[p.tube].Diameter)
		if f == 1 {
			continue
		}
		near++
		s.Size = math.Max(s.Size, f-1)
		if r.on(Wall) && p.Cpt > orZero(p.Cp) {
			p.Cpt = orZero(p.Cp) + (p.Cpt-orZero(p.Cp))*f*f
		}
	}
	s.Applied = near > 0
	if s.Size > 0 {
		s.Text = fmt.Sprintf("%d places within two tube diameters of the floor, speed up to %.2f %% higher", near, 100*s.Size)
	}
	r.step(s)
}
