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
// velocity, and the vortex part from streamwise vorticity. It is nil, with a
// warning, where the vortex part cannot be had.
//
// The published form has no turbulent stress. Its pressure is lowered by the
// turbulence, of which −2⟨u'u'⟩ gives back about as much in the momentum integral;
// here both stay out of the drag and the stress is stated beside it.
func (m *measuring) wakeOnly() *WakeOnly {
	f := m.flow
	boundary, section, words := m.boundary()
	v, err := VortexDrag(m.plane, VortexOptions{Spacing: m.vortexSpacing(), Speed: f.ref.Speed, Boundary: boundary, Section: section, Half: m.opt.Half && m.mirror != mirrorZ})
	if err != nil {
		m.warn("no-wake-only", "see the cure in the text, or read the momentum integral", "there is no wake-only drag: %v", err)
		return nil
	}
	m.out.Warnings = append(m.out.Warnings, v.Warnings...)
	// VortexDrag's results are those of both halves about y = 0, but of what lies above
	// z = 0 alone.
	if m.mirror == mirrorZ {
		v.DragArea *= m.scale
		v.Source *= m.scale
	}
	state := func(i int) (loss, r, u float64) {
		r, u, tv, tw, cp := f.at(i)
		return f.cptInf - (cp + r*(u*u+tv*tv+tw*tw)), r, u
	}
	displaced := m.scale * m.whole.IntegrateFunc(func(i int) float64 {
		loss, r, u := state(i)
		return ArtificialVelocity(loss, r, u) - u
	})
	b := BlockageVelocity(displaced, m.opt.Section[0]*m.opt.Section[1])
	sum := m.whole.IntegrateAll(3, func(i int, w float64, s []float64) {
		loss, r, u := state(i)
		s[0] += w * f.norm * ArtificialDensity(loss, r, u, b)
		// The same without the mask, where u* can be had: noise of either sign then
		// cancels instead of adding up.
		if star := u*u + loss/r; star > 0 {
			root := math.Sqrt(star)
			s[1] += w * f.norm * (loss + r*(root-u)*(root+u-2*(1+b)))
		}
		if loss > 0 {
			_, _, _, tu := f.terms(i)
			s[2] += w * tu
		}
	})
	out := &WakeOnly{
		Profile: m.scale * sum[0], Vortex: v.DragArea, Source: v.Source,
		BlockageSpeed: b * f.speed, Boundary: words, Unmasked: m.scale * sum[1],
	}
	if f.uu != nil {
		tu := m.scale * sum[2]
		out.Turbulence = &tu
	}
	out.DragArea = out.Profile + out.Vortex
	if m.opt.SourcePart {
		out.DragArea += out.Source
		out.WithSource = true
	}
	out.Cd = m.coefficient(out.DragArea)
	return out
}

// wakeOnlyBudget has what the wake-only drag hangs on: the sampling of its profile
// part, the mask (with and without it), and the turbulent stress (in and out), the
// last two as rectangular distributions between the two results.
func (m *measuring) wakeOnlyBudget(w *WakeOnly) uncertainty.Budget {
	f := m.flow
	b := w.BlockageSpeed / f.speed
	sampling := m.scatterOf(func(i int) float64 {
		r, u, v, tw, cp := f.at(i)
		return f.norm * ArtificialDensity(f.cptInf-(cp+r*(u*u+v*v+tw*tw)), r, u, b)
	})
	half := func(d float64) float64 { return math.Abs(d) / 2 / math.Sqrt(3) }
	items := append(sampling.Items(m.whole, m.scale),
		uncertainty.Item{Name: "wake mask", Kind: "independent", Standard: half(w.Profile - w.Unmasked), Distribution: uncertainty.Rectangular},
	)
	if w.Turbulence != nil {
		items = append(items, uncertainty.Item{Name: "turbulent stress in or out", Kind: "common", Standard: half(*w.Turbulence), Distribution: uncertainty.Rectangular})
	}
	return uncertainty.NewBudget(items...)
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
	b := d.WakeOnly.BlockageSpeed / f.speed
	out := make([]float64, len(m.Plane.Mesh.Points))
	for i := range out {
		r, u, v, w, cp := f.at(i)
		out[i] = f.norm * ArtificialDensity(f.cptInf-(cp+r*(u*u+v*v+w*w)), r, u, b)
	}
	return out
}
