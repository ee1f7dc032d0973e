package measure

import (
	"math"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// References:
//
//	[jones]  B. M. Jones (Cambridge University Aeronautics Laboratory), The
//	         measurement of profile drag by the pitot-traverse method, ARC R&M 1688
//	         (1936) (from memory).

// JonesDensity is the integrand of the pitot-static method [jones] in units of q:
//
//	2 r u (1 − √(cpt/r))
//
// Each streamtube, of its own density r, is followed to where its pressure is p∞, without
// further loss of total pressure: there its speed is √(cpt/r), and r u is the mass that
// passes the plane. u is the axial component. In yaw cpt is that seen drifting with the
// stream, which a streamtube keeps as long as it keeps its v; a pitot survey has no v, and
// its wake is taken to keep the stream's direction. ok is false where cpt ≤ 0 or u ≤ 0: the
// method has no meaning there, √cpt counts as 0, and the caller states the area.
func JonesDensity(cpt, r, u float64) (density float64, ok bool) {
	if !(cpt > 0) {
		return 2 * r * u, false
	}
	return 2 * r * u * (1 - math.Sqrt(cpt/r)), u > 0
}

// Jones is the pitot-static method; Invalid is the area where it has no meaning (Cpt ≤ 0 or
// u ≤ 0) as a part of the wake's, and 1 where it is larger than that.
type Jones struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	Invalid  float64  `json:"invalid_area_fraction"`
	// Turbulence is the turbulence term, part of DragArea; nil where it is not known.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
	// WithVortex is DragArea with the vortex part, which this method omits by
	// definition: what the momentum integral is set against. nil where it is not known.
	WithVortex *float64 `json:"with_vortex_m2,omitempty"`
	// Bracket is what cp = ±0.1 makes of the drag area of a pitot survey whose static pressure is
	// not known and taken as p∞.
	Bracket *[2]float64 `json:"bracket_m2,omitempty"`
}

func (d *Jones) drag() (float64, *float64) { return d.DragArea, d.Cd }

var jonesMethod = &Method{
	Key: ByJones, Short: "Jones", Long: "Jones's pitot-static method", Quotable: true,
	Formula:   "2∫(u/U)(1 − √Cpt) dS − 2∫<u'u'>/U² dS",
	Source:    "B. M. Jones, ARC R&M 1688 (1936).",
	Of:        func(d *Drag) (float64, *float64, bool) { return had(d.Jones) },
	needs:     func(f *flow) bool { return f.momentum() || f.pt != nil },
	measure:   func(s *station, n *numbers, d *Drag) { d.Jones = s.jones(n, d) },
	integrand: func(s *station, _ *Drag) func(i int) float64 { return s.flow.jonesAt },
	items:     jonesItems,
}

// bracketCp is how far the unknown static pressure is taken to lie from p∞, in
// units of q, for the bracket of a pitot survey.
const bracketCp = 0.1

// jones states the pitot-static result with the part of the wake's area where it
// has no meaning. Of a pitot survey without u, √(cpt−cp) takes its place: that is
// |V|, which is above u by half the square of the flow angle. Without static pressure
// p∞ is taken, and the result is bracketed with cp = ±0.1.
func (s *station) jones(n *numbers, d *Drag) *Jones {
	f, sum := s.flow, n.sums
	j := &Jones{DragArea: sum[sumJones], Cd: s.coefficient(sum[sumJones]), Turbulence: f.known(sum[sumStressAll])}
	if sum[sumLost] > 0 {
		j.Invalid = math.Min(1, sum[sumInvalid]/sum[sumLost])
	}
	switch {
	case f.momentum() && d.WakeOnly != nil:
		j.WithVortex = new(j.DragArea + d.WakeOnly.Vortex)
	case f.p == nil && f.u == nil:
		lo, hi := s.wakeSums(bracketCp)[sumJones], s.wakeSums(-bracketCp)[sumJones]
		j.Bracket = &[2]float64{math.Min(lo, hi), math.Max(lo, hi)}
	}
	return j
}

// jonesItems are those of a pitot survey, whose headline Jones's drag area is.
func jonesItems(m *measuring, d *Drag) []uncertainty.Item {
	items := m.scatterOf(m.flow.jonesAt).Items(m.whole, m.scale)
	rectangular := func(name string, c uncertainty.Category, full float64) {
		items = append(items, uncertainty.Item{Name: name, Category: c, Kind: uncertainty.Common, Standard: math.Abs(full) / 2 / math.Sqrt(3), Distribution: uncertainty.Rectangular})
	}
	if b := d.Jones.Bracket; b != nil {
		rectangular("unknown static pressure, cp within 0.1", uncertainty.Reference, b[1]-b[0])
	}
	if d.Betz != nil {
		rectangular("method, Jones or Betz", uncertainty.Sampling, d.Betz.DragArea-d.Jones.DragArea)
	}
	return items
}

// Sound says whether Jones's method has a meaning in all but a hundredth of the wake.
func (j *Jones) Sound() bool { return j.Invalid <= wake.SoundJones }

// pitotAt is the total pressure, on the scale where pt∞ is 1, and u/U of a sample of a
// pitot survey; cp stands in for an unknown static pressure.
func (f *flow) pitotAt(i int, cp float64) (cpt, u float64) {
	cpt = (f.pt[i] - f.ref.Pressure) / f.dynamic / f.cptInf
	if f.p != nil {
		cp = (f.p[i] - f.ref.Pressure) / f.dynamic
	}
	if f.u != nil {
		return cpt, f.u[i] / f.speed
	}
	return cpt, math.Sqrt(math.Max(cpt-cp, 0))
}

// jonesAt is Jones's integrand of a sample with the turbulence term, with Cp = 0 where
// the static pressure is not known.
func (f *flow) jonesAt(i int) float64 {
	d, _ := f.jones(i, 0)
	return d
}
