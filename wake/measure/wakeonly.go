package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// vortexSamples is the size of the lattice that scattered samples are brought to at
// most for the vortex part: 512 × 512 resolve a core that fills a fiftieth of the
// window to better than 1 % (see the orders measured in vortex_test.go), and a
// million cost more than all other integrals together.
const vortexSamples = 1 << 18

// vortexOptions are those of the vortex part. The flow is surrounded by the section's walls
// when a section is stated, by a ground when the window stands on a floor, else by free air.
func (m *station) vortexOptions() VortexOptions {
	o := VortexOptions{Speed: m.flow.ref.Speed, Boundary: FreeAir, Half: m.opt.Half}
	if w, h := m.opt.Section[0], m.opt.Section[1]; w > 0 && h > 0 {
		o.Boundary, o.Section = SectionWalls, grid.Box{Min: grid.Point{X: -w / 2}, Max: grid.Point{X: w / 2, Y: h}}
	} else if m.floor {
		o.Boundary = GroundImage
	}
	if len(m.mesh.Points) > vortexSamples {
		o.Spacing = math.Sqrt(m.area / vortexSamples)
	}
	return o
}

// WakeOnly is the drag from the wake alone, which a window may cut short of the
// outer flow: profile part by the artificial velocity, vortex part from streamwise
// vorticity under the boundary named.
type WakeOnly struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	Profile  float64  `json:"profile_m2"`
	Vortex   float64  `json:"vortex_m2"`
	// BlockageSpeed is u_b, m/s; 0 in free air.
	BlockageSpeed float64 `json:"blockage_speed_m_s"`
	Boundary      string  `json:"boundary"`
	// Source is the displacement part of the cross-flow, and Axial, negative, the
	// unevenness of the artificial velocity: in the drag area where WithSource says so,
	// which it does in a closed section.
	Source     float64 `json:"source_m2"`
	Axial      float64 `json:"axial_m2"`
	WithSource bool    `json:"with_source,omitempty"`
	// Unmasked is the profile part of the whole plane instead of the wake's region.
	Unmasked float64 `json:"unmasked_m2"`
	// Turbulence is −2∫⟨u'u'⟩/U² over the wake's region, part of DragArea; nil where the
	// stress is not known or not used.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
}

func (d *WakeOnly) drag() (float64, *float64) { return d.DragArea, d.Cd }

var wakeOnlyMethod = &Method{
	Key: ByWakeOnly, Short: "wake only", Long: "the wake alone (profile and vortex part)", Quotable: true,
	Formula: "∫_W [(1 − Cpt) + (u* − u)(u* + u − 2U − 2u_b)/U²] dS + ∫ψξ dS/U² − 2∫_W <u'u'>/U² dS",
	Source:  "E. C. Maskell, RAE TR 72232 (1973); G. W. Brune, Journal of Aircraft 31 (1994) 249.",
	Of:      func(d *Drag) (float64, *float64, bool) { return had(d.WakeOnly) },
	needs:   (*flow).momentum,
	measure: func(s *station, n *numbers, d *Drag) {
		d.WakeOnly, n.vortex, n.lack = s.wakeOnly(n.sums)
	},
	integrand: func(s *station, d *Drag) func(i int) float64 { return s.profile(d.WakeOnly) },
	items:     wakeOnlyItems,
}

// wakeOnly is the drag from the wake alone: the profile part by the artificial
// velocity with the turbulence term, and the cross-flow's. The error says why
// the vortex part is not computable.
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
func (m *station) wakeOnly(sum []float64) (*WakeOnly, []wake.Warning, error) {
	f := m.flow
	o := m.vortexOptions()
	v, err := VortexDrag(m.plane, o)
	if err != nil {
		return nil, nil, err
	}
	b := 0.0
	if o.Boundary == SectionWalls {
		b = sum[sumDisplaced] / (2 * m.opt.Section[0] * m.opt.Section[1])
	}
	by := b + f.faster(&m.opt)
	c := by + b // u*−U−2u_b is u*−1−c
	out := &WakeOnly{
		Profile: sum[sumBetz] - 2*by*sum[sumMass], Unmasked: sum[sumBetzAll] - 2*by*sum[sumMassAll],
		Vortex: v.DragArea, Source: v.Source, Axial: -(sum[sumAxial] - 2*c*sum[sumAxial1] + c*c*sum[sumAxial0]),
		BlockageSpeed: b * f.speed, Boundary: o.Boundary, Turbulence: f.known(sum[sumStress]),
	}
	out.DragArea = out.Profile + sum[sumStress] + out.Vortex
	if o.Boundary == SectionWalls {
		out.DragArea += out.Source + out.Axial
		out.WithSource = true
	}
	out.Cd = m.coefficient(out.DragArea)
	return out, v.Warnings, nil
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
	return uncertainty.HalfWidth("method, source part", gap)
}

// wakeOnlyItems are what the wake-only drag depends on: the sampling of its profile
// part, the level that its loss is counted from, as a rectangular distribution, the
// form itself, and what lies beyond the window.
func wakeOnlyItems(m *measuring, d *Drag) []uncertainty.Item {
	sampling := m.scatterOf(m.profile(d.WakeOnly))
	return append(sampling.Items(m.whole, m.scale), uncertainty.HalfWidth("level of the outer flow", m.flow.wake.LevelHalf()), SourceItem(d.WakeOnly), WakeEdgeItem(m.Measurement))
}

// profile is the integrand of the profile part.
func (m *station) profile(w *WakeOnly) func(i int) float64 {
	b := w.BlockageSpeed/m.flow.speed + m.flow.faster(&m.opt)
	return func(i int) float64 { return m.flow.profileAt(i, b) }
}
