package measure

import (
	"math"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// bracketCp is how far the unknown static pressure is taken to lie from p∞, in
// units of q, for the bracket of a pitot survey.
const bracketCp = 0.1

// pitot adds the methods of a survey with total-pressure tubes: Jones always, Betz
// where the static pressure is known. Without u, √(cpt−cp) stands for it: that is
// |V|, which is above u by half the square of the flow angle. Without static pressure
// p∞ is taken, and the result is bracketed with cp = ±0.1. Where Jones's method has no
// meaning in more than a hundredth of the wake, its value is given but not quoted.
func (m *measuring) pitot(d *Drag) {
	f := m.flow
	jones := func(cp float64) []float64 { return m.wakeSums(cp) }
	sum := jones(0)
	d.Jones = m.jones(sum)
	if d.Jones.Sound() {
		d.Headline = "jones"
	}
	sampling := m.scatterOf(func(i int) float64 {
		return f.jonesAt(i)
	})
	items := sampling.Items(m.whole, m.scale)
	if f.p != nil || f.u != nil {
		d.Jones.Static = "measured"
	} else {
		d.Jones.Static = "taken as p∞"
		lo, hi := jones(bracketCp)[sumJones], jones(-bracketCp)[sumJones]
		d.Jones.Bracket = &[2]float64{math.Min(lo, hi), math.Max(lo, hi)}
		items = append(items, uncertainty.Item{Name: "unknown static pressure, cp within 0.1", Category: uncertainty.Reference, Kind: uncertainty.Common, Standard: math.Abs(hi-lo) / 2 / math.Sqrt(3), Distribution: uncertainty.Rectangular})
		m.warn("no-static", "survey the static pressure too", "the static pressure is not known and taken as p∞; with cp = ±%g Jones's drag area lies between %.4f and %.4f m2", bracketCp, d.Jones.Bracket[0], d.Jones.Bracket[1])
	}
	if f.u == nil {
		m.warn("speed-from-pressure", "survey the flow angles too", "u is taken from the pressures, so it is |V| and too large by half the square of the flow angle in radians")
	}
	if f.p != nil {
		d.Betz = m.betz(sum)
		betz := d.Betz.DragArea
		items = append(items, uncertainty.Item{Name: "method, Jones or Betz", Category: uncertainty.Sampling, Kind: "common", Standard: math.Abs(betz-d.Jones.DragArea) / 2 / math.Sqrt(3), Distribution: uncertainty.Rectangular})
	}
	if d.Headline != "" {
		items = append(items, m.uncovered(nil, "the plane", d.Jones.DragArea, f.jonesAt)...)
		b := uncertainty.NewBudget(items...)
		m.out.Uncertainty.DragArea = &b
	}
}

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

// Pitot returns Jones's integrand of each sample of a pitot survey, or nil for
// another survey.
func (m *Measurement) Pitot() []float64 {
	if d := m.Result.Drag; d == nil || d.Headline != "jones" {
		return nil
	}
	out := make([]float64, len(m.Plane.Mesh.Points))
	for i := range out {
		out[i] = m.flow.jonesAt(i)
	}
	return out
}

// Sound says whether Jones's method has a meaning in all but a hundredth of the wake.
func (j *Jones) Sound() bool { return j.Invalid <= wake.SoundJones }

// RakeFactor is F in c_d c = F∫(1−Cpt)dy for an integrating rake in a wake whose
// total-pressure loss is η cos² with peak η, at p∞: Jones's integral over that of
// the loss (Silverstein & Katzoff, J. Aeronaut. Sci. 7 (1940) 295, from memory, for
// the idea). It is 1 for η → 0 and NaN outside 0 … 1.
//
// The integrals over a period are summed at equal steps, which is exact to rounding
// for a periodic function whose derivatives are bounded.
func RakeFactor(eta float64) float64 {
	if !(eta >= 0 && eta <= 1) {
		return math.NaN()
	}
	if eta == 0 {
		return 1
	}
	const n = 1 << 14
	jones, loss := 0.0, 0.0
	for k := range n {
		c := math.Cos(math.Pi * (float64(k) + 0.5) / n)
		g := 1 - eta*c*c
		jones += 2 * math.Sqrt(g) * (1 - math.Sqrt(g))
		loss += eta * c * c
	}
	return jones / loss
}
