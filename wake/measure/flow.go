package measure

import (
	"math"

	"wakeledger/wake"
)

// flow is a plane's fields made non-dimensional with the reference.
type flow struct {
	ref wake.Freestream
	// q is the nominal dynamic pressure; cptInf = (pt∞−p∞)/q, 1 unless pt∞ was given
	// or anchored.
	q, cptInf float64
	// Fields of the plane; nil where absent.
	u, v, w, p, rho, uu []float64
	// uuScale takes uu to <u'u'>: 1 for a stress column, ⅔ for k.
	uuScale float64
}

// newFlow picks the fields. Pressure comes from p, else from cp, else from pt or
// cpt and the three velocities.
func newFlow(p *wake.Plane, opt *Options) *flow {
	f := &flow{
		ref: opt.Reference, q: opt.Reference.Dynamic(),
		u: p.Field[wake.U], v: p.Field[wake.V], w: p.Field[wake.W],
		rho: p.Field[wake.Rho], p: p.Field[wake.P],
	}
	if math.IsNaN(f.ref.TotalPressure) {
		f.ref.TotalPressure = f.ref.Pressure + f.q
	}
	f.cptInf = (f.ref.TotalPressure - f.ref.Pressure) / f.q
	if f.p == nil {
		f.p = f.pressure(p)
	}
	switch opt.Turbulence {
	case "isotropic":
		f.uu, f.uuScale = p.Field[wake.K], 2.0/3
	case "none":
	default:
		f.uu, f.uuScale = p.Field[wake.UU], 1
	}
	return f
}

// pressure works out p from what else the plane has, or returns nil.
func (f *flow) pressure(p *wake.Plane) []float64 {
	var of func(i int) float64
	// kinetic is ½ρ|V|² at sample i.
	kinetic := func(i int) float64 {
		return f.density(i) / 2 * (f.u[i]*f.u[i] + f.v[i]*f.v[i] + f.w[i]*f.w[i])
	}
	all := f.u != nil && f.v != nil && f.w != nil
	cp, pt, cpt := p.Field[wake.Cp], p.Field[wake.Pt], p.Field[wake.Cpt]
	switch {
	case cp != nil:
		of = func(i int) float64 { return f.ref.Pressure + f.q*cp[i] }
	case pt != nil && all:
		of = func(i int) float64 { return pt[i] - kinetic(i) }
	case cpt != nil && all:
		of = func(i int) float64 { return f.ref.Pressure + f.q*cpt[i] - kinetic(i) }
	default:
		return nil
	}
	out := make([]float64, len(p.Mesh.Points))
	for i := range out {
		out[i] = of(i)
	}
	return out
}

func (f *flow) density(i int) float64 {
	if f.rho != nil {
		return f.rho[i]
	}
	return f.ref.Density
}

// momentum reports whether the full momentum integral can be had.
func (f *flow) momentum() bool { return f.u != nil && f.v != nil && f.w != nil && f.p != nil }

// at returns the non-dimensional state of sample i: density ratio, velocities and
// pressure coefficient. It needs momentum().
func (f *flow) at(i int) (r, u, v, w, cp float64) {
	s := f.ref.Speed
	return f.density(i) / f.ref.Density, f.u[i] / s, f.v[i] / s, f.w[i] / s, (f.p[i] - f.ref.Pressure) / f.q
}

// terms returns the four parts of the local drag of sample i.
func (f *flow) terms(i int) (tp, ax, cf, tu float64) {
	r, u, v, w, cp := f.at(i)
	tp, ax, cf = ThreeTerms(f.cptInf, cp, r, u, v, w)
	if f.uu != nil {
		tu = TurbulenceTerm(r, f.uuScale*f.uu[i]/(f.ref.Speed*f.ref.Speed))
	}
	return tp, ax, cf, tu
}

// local is the local drag of sample i: the sum of its terms.
func (f *flow) local(i int) float64 {
	tp, ax, cf, tu := f.terms(i)
	return tp + ax + cf + tu
}

// weight returns the weight field, or nil where the plane lacks what it needs.
func (f *flow) weight(w Weight) []float64 {
	if f.u == nil || (w == WeightTotalPressure || w == WeightDrag) && !f.momentum() {
		return nil
	}
	out := make([]float64, len(f.u))
	for i := range out {
		u := f.u[i] / f.ref.Speed
		switch w {
		case WeightDeficit:
			out[i] = 1 - u
		case WeightMomentum:
			out[i] = u * (1 - u)
		case WeightDrag:
			out[i] = f.local(i)
		default:
			out[i], _, _, _ = f.terms(i)
		}
	}
	return out
}
