package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake/uncertainty"
)

// boundary says what surrounds the flow: the section's walls when a section is
// stated, a ground when the window stands on a floor, else free air. What is
// symmetric about z = 0 has the images of a ground there, and section walls half as
// high; words then says so.
func (m *measuring) boundary() (b Boundary, section grid.Box, words string) {
	w, h := m.opt.Section[0], m.opt.Section[1]
	upper := m.mirror == mirrorZ
	switch {
	case w > 0 && h > 0 && upper:
		return SectionWalls, grid.Box{Min: grid.Point{X: -w / 2}, Max: grid.Point{X: w / 2, Y: h / 2}}, string(SectionWalls) + ", symmetric about z = 0"
	case w > 0 && h > 0:
		return SectionWalls, grid.Box{Min: grid.Point{X: -w / 2}, Max: grid.Point{X: w / 2, Y: h}}, string(SectionWalls)
	case upper:
		return GroundImage, grid.Box{}, string(FreeAir) + ", symmetric about z = 0"
	case m.floor:
		return GroundImage, grid.Box{}, string(GroundImage)
	}
	return FreeAir, grid.Box{}, string(FreeAir)
}

// vortexSamples is the size of the lattice that scattered samples are brought to at
// most for the vortex part: 512 × 512 resolve a core that fills a fiftieth of the
// window to better than 1 % (see the orders measured in vortex_test.go), and a
// million cost more than all other integrals together.
const vortexSamples = 1 << 18

// vortexSpacing is the spacing of that lattice, 0 to leave it to the samples.
func (m *measuring) vortexSpacing() float64 {
	if len(m.plane.Mesh.Points) <= vortexSamples {
		return 0
	}
	return math.Sqrt(m.area / vortexSamples)
}

// wakeOnly is the drag from the wake alone: the profile part by the artificial
// velocity with the turbulence term, and the cross-flow's. It is nil, with a warning,
// where the vortex part is not computable.
//
// In a closed section the momentum integral is, with mass conserved and u* the
// artificial velocity,
//
//	∫(pt∞−pt) + ½ρ∫(U²−u²) + ½ρ∫(v²+w²) =
//	  profile part + ½ρ∫(v²+w²) − ½ρ∫(u*−U−2u_b)²,  ½ρ∫(v²+w²) = ½ρ∫ψξ − ½ρ∫φσ
//
// where the profile part takes u*−U as even [maskell, brune]. Nothing in this lets the source part
// be left out: it and the unevenness of u* are the same displacement flow, of opposite
// sign, and cancel when there is no wake. Behind a bluff body they do not: at 0.8 body
// heights behind the shuttle the source part is 0.09 m², the unevenness 0.015 m². So
// both are counted where the section is stated. In free air the source part of a window
// has no fixed value (its net outflow is not zero), and the published form leaves both
// out.
func (m *measuring) wakeOnly(sum []float64) *WakeOnly {
	f := m.flow
	boundary, section, words := m.boundary()
	v, err := VortexDrag(m.plane, VortexOptions{Spacing: m.vortexSpacing(), Speed: f.ref.Speed, Boundary: boundary, Section: section, Half: m.opt.Half && m.mirror != mirrorZ})
	if err != nil {
		m.warn("no-wake-only", "see the fix in the text, or read the momentum integral", "there is no wake-only drag: %v", err)
		return nil
	}
	m.out.Warnings = append(m.out.Warnings, v.Warnings...)
	// VortexDrag's results are those of both halves about y = 0, but of what lies above
	// z = 0 alone.
	if m.mirror == mirrorZ {
		v.DragArea *= m.scale
		v.Source *= m.scale
	}
	b := BlockageVelocity(sum[sumDisplaced], m.opt.Section[0]*m.opt.Section[1])
	by := b + f.faster(&m.opt)
	c := by + b // u*−U−2u_b is u*−1−c
	out := &WakeOnly{
		Profile: sum[sumBetz] - 2*by*sum[sumMass], Unmasked: sum[sumBetzAll] - 2*by*sum[sumMassAll],
		Vortex: v.DragArea, Source: v.Source, Axial: -(sum[sumAxial] - 2*c*sum[sumAxial1] + c*c*sum[sumAxial0]),
		BlockageSpeed: b * f.speed, Boundary: words, Turbulence: f.known(sum[sumStress]),
	}
	out.DragArea = out.Profile + sum[sumStress] + out.Vortex
	if boundary == SectionWalls || m.opt.SourcePart {
		out.DragArea += out.Source + out.Axial
		out.WithSource = true
	}
	out.Cd = m.coefficient(out.DragArea)
	return out
}

// faster is what the reference's speed is above the speed that belongs to an anchored
// pt∞, as a part of the latter: in a closed section U is the mean that conserves mass,
// which the level of a stream beside the wake does not change. In free air the two
// are one.
func (f *flow) faster(opt *Options) float64 {
	if opt.Section[0]*opt.Section[1] == 0 {
		return 0
	}
	return f.stated/f.speed - 1
}

// profileAt is the integrand of the profile part at sample i, with the turbulence term,
// in units of the nominal q; 0 outside the wake's region.
func (f *flow) profileAt(i int, b float64) float64 {
	if !f.wake.holds(i) {
		return 0
	}
	loss, r, u := f.fromLevel(i, 0)
	return f.norm*ArtificialDensity(loss, r, u, b) + f.stress(i)
}

// LevelHalf is half of what the wake-only drag would change by if the loss were counted
// from the edge's level instead of the stream's beside the wake, or that from zero
// where the reference is not anchored: which of them is the level that the wake had is
// not known any better.
func (w *WakeRegion) LevelHalf() float64 { return (w.EdgeLevel - w.Level) * w.Area / 2 }

// SourceItem is the uncertainty of the wake-only form itself, on one survey or on the
// difference of two, second minus first: the source part of the cross-flow less the
// unevenness of u* counts in a closed section and is left out of the published form, and
// neither is exact behind a body. What it comes to is the half-width of a rectangular
// distribution.
func SourceItem(ws ...*WakeOnly) uncertainty.Item {
	var gap float64
	for _, w := range ws {
		gap = w.Source + w.Axial - gap
	}
	return uncertainty.Item{Name: "method, source part", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(gap) / math.Sqrt(3), Distribution: uncertainty.Rectangular}
}

// wakeOnlyBudget has what the wake-only drag depends on: the sampling of its profile
// part, the level that its loss is counted from, as a rectangular distribution, and the
// form itself.
func (m *measuring) wakeOnlyBudget(w *WakeOnly) uncertainty.Budget {
	f := m.flow
	b := w.BlockageSpeed/f.speed + f.faster(&m.opt)
	sampling := m.scatterOf(func(i int) float64 { return f.profileAt(i, b) })
	return uncertainty.NewBudget(append(sampling.Items(m.whole, m.scale), uncertainty.Item{
		Name: "level of the outer flow", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(f.wake.LevelHalf()) / math.Sqrt(3), Distribution: uncertainty.Rectangular,
	}, SourceItem(w))...)
}

// Profile returns, for each sample, the integrand of the quoted wake-only profile
// drag in units of the nominal q, for comparing surveys sample by sample; nil when
// there is none.
func (m *Measurement) Profile() []float64 {
	d := m.Result.Drag
	if d == nil || d.WakeOnly == nil {
		return nil
	}
	f := m.flow
	b := d.WakeOnly.BlockageSpeed/f.speed + f.faster(&m.opt)
	out := make([]float64, len(m.Plane.Mesh.Points))
	for i := range out {
		out[i] = f.profileAt(i, b)
	}
	return out
}
