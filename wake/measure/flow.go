package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// flow is a plane's fields made non-dimensional with the reference.
type flow struct {
	// ref is the reference as given, with pt∞ as used.
	ref wake.Freestream
	// q is the nominal dynamic pressure, which areas are formed with.
	q float64
	// speed is the U, along x, that integrands are formed with: that of the reference, or
	// after anchoring the one that belongs to pt∞ at p∞. dynamic is ½ρ∞·speed², and norm takes what was
	// formed with it to the nominal q.
	speed, dynamic, norm float64
	// stated is speed before any anchor.
	stated float64
	// cptInf = (pt∞−p∞)/dynamic, 1 unless pt∞ was given by itself.
	cptInf float64
	// onset is the free stream's v over speed.
	onset float64
	// Fields of the plane; nil where absent.
	u, v, w, p, rho, uu []float64
	// uuScale takes uu to <u'u'>: 1 for a stress column, ⅔ for k.
	uuScale float64
	// pt is the measured total pressure of a plane without the three velocities.
	pt []float64
	// wake is the region that the wake's own integrals take in; nil for all.
	wake *region
}

// newFlow picks the fields. Pressure comes from p, else from cp, else from pt or
// cpt and the three velocities.
func newFlow(p *wake.Plane, opt *Options) *flow {
	f := &flow{
		ref: opt.Reference, q: opt.Reference.Dynamic(),
		u: p.Field[wake.U], v: p.Field[wake.V], w: p.Field[wake.W],
		rho: p.Field[wake.Rho], p: p.Field[wake.P],
	}
	sin, cos := math.Sincos(opt.Yaw * math.Pi / 180)
	f.speed, f.norm, f.onset = f.ref.Speed*cos, cos*cos, sin/cos
	f.dynamic = f.q * f.norm
	f.stated = f.speed
	if math.IsNaN(f.ref.TotalPressure) {
		f.ref.TotalPressure = f.ref.Pressure + f.dynamic*(1+f.across())
	}
	f.cptInf = (f.ref.TotalPressure - f.ref.Pressure) / f.dynamic
	if f.p == nil {
		f.p = f.pressure(p)
	}
	if opt.PressureIncludesK && f.p != nil {
		f.p = f.withoutK(p)
	}
	if f.u == nil || f.v == nil || f.w == nil {
		f.pt = f.pitot(p)
	}
	switch opt.Turbulence {
	case TurbulenceIsotropic:
		f.uu, f.uuScale = energy(p), 2.0/3
	case TurbulenceNone:
	default:
		f.uu, f.uuScale = p.Field[wake.UU], 1
	}
	return f
}

// energy is the turbulence energy: k, or half the sum of the normal stresses; nil
// where neither is there.
func energy(p *wake.Plane) []float64 {
	if k := p.Field[wake.K]; k != nil || !p.Has(wake.UU, wake.VV, wake.WW) {
		return k
	}
	return grid.Fill(len(p.Mesh.Points), func(i int) float64 {
		return (p.Field[wake.UU][i] + p.Field[wake.VV][i] + p.Field[wake.WW][i]) / 2
	})
}

// withoutK takes the ⅔ρk out of a pressure that a turbulence model has put in, or
// returns the pressure as it is when there is no k.
func (f *flow) withoutK(p *wake.Plane) []float64 {
	k := energy(p)
	if k == nil {
		return f.p
	}
	return grid.Fill(len(f.p), func(i int) float64 { return f.p[i] - 2.0/3*f.density(i)*k[i] })
}

// pitot is the total pressure as measured, from pt or cpt.
func (f *flow) pitot(p *wake.Plane) []float64 {
	if pt := p.Field[wake.Pt]; pt != nil {
		return pt
	}
	cpt := p.Field[wake.Cpt]
	if cpt == nil {
		return nil
	}
	return grid.Fill(len(cpt), func(i int) float64 { return f.ref.Pressure + f.q*cpt[i] })
}

// pressure works out p from what else the plane has, or returns nil.
func (f *flow) pressure(p *wake.Plane) []float64 {
	n := len(p.Mesh.Points)
	switch cp, pt := p.Field[wake.Cp], f.pitot(p); {
	case cp != nil:
		return grid.Fill(n, func(i int) float64 { return f.ref.Pressure + f.q*cp[i] })
	case pt != nil && f.u != nil && f.v != nil && f.w != nil:
		return grid.Fill(n, func(i int) float64 { return pt[i] - f.density(i)*f.half2(i) })
	}
	return nil
}

func (f *flow) density(i int) float64 {
	if f.rho != nil {
		return f.rho[i]
	}
	return f.ref.Density
}

// momentum reports whether the full momentum integral is computable.
func (f *flow) momentum() bool { return f.u != nil && f.v != nil && f.w != nil && f.p != nil }

// at returns the non-dimensional state of sample i: density ratio, velocities and
// pressure coefficient. It needs momentum().
func (f *flow) at(i int) (r, u, v, w, cp float64) {
	s := f.speed
	return f.density(i) / f.ref.Density, f.u[i] / s, f.v[i] / s, f.w[i] / s, (f.p[i] - f.ref.Pressure) / f.dynamic
}

// terms returns the four parts of the local drag of sample i, in units of the
// nominal q. Their sum is the momentum integrand, which holds p∞ and U but no total
// pressure: the loss is counted from p∞ + ½ρ∞V∞², also where another pt∞ was given.
// The free stream's own v is taken out of the cross-flow term: v²+w² less that of the
// free stream.
func (f *flow) terms(i int) (tp, ax, cf, tu float64) {
	r, u, v, w, cp := f.at(i)
	across := f.across()
	tp, ax, cf = ThreeTerms(1+across, cp, r, u, v, w)
	cf -= across
	return f.norm * tp, f.norm * ax, f.norm * cf, f.stress(i)
}

// stress is the turbulence term of sample i in units of the nominal q, 0 where the stress
// is not known or not used. Every method that starts from the pressure of the mean flow
// takes it: turbulence has lowered that pressure by about as much, and one without the
// other is no drag.
func (f *flow) stress(i int) float64 {
	if f.uu == nil {
		return 0
	}
	return f.norm * TurbulenceTerm(f.density(i)/f.ref.Density, f.uuScale*f.uu[i]/(f.speed*f.speed))
}

// lost is the state of sample i that the wake integrals need: the loss of total pressure
// from a stream of the sample's own density, the density ratio and u. cp stands in for
// the static pressure of a pitot survey that lacks it.
//
// In yaw the loss is that in a frame which drifts sideways with the stream, where v is
// v−V and pt∞ lacks ½ρV²: the loss and 2rV(v−V). The momentum integrand becomes
//
//	−cp + 2ru(1−u) = loss − r(1−u)² + r[(v−V)²+w²]
//
// as without yaw, with nothing of the sideways momentum left in it; Jones's streamtubes
// keep their v there as far as they keep it in the stream.
func (f *flow) lost(i int, cp float64) (loss, r, u float64) {
	if f.momentum() {
		var v, w float64
		r, u, v, w, cp = f.at(i)
		loss = f.cptInf - (cp + r*(u*u+v*v+w*w)) + (r-1)*(1+f.across()) + f.sideways(r, v)
	} else {
		var cpt float64
		cpt, u = f.pitotAt(i, cp)
		loss, r = 1-cpt, 1
	}
	return loss, r, u
}

// sideways is 2rV(v−V), 0 without yaw.
func (f *flow) sideways(r, v float64) float64 { return 2 * r * f.onset * (v - f.onset) }

// fromLevel is lost, counted from the level of the wake's region.
func (f *flow) fromLevel(i int, cp float64) (loss, r, u float64) {
	loss, r, u = f.lost(i, cp)
	if f.wake == nil {
		return loss, r, u
	}
	level := f.wake.Level / f.norm
	if !f.momentum() {
		level /= f.cptInf
	}
	return loss - level, r, u
}

// head is the free stream's total pressure on the scale of lost: pitotAt's is 1.
func (f *flow) head() float64 {
	if f.momentum() {
		return f.cptInf - f.across()
	}
	return 1
}

// jones is Jones's integrand of sample i with the turbulence term, in units of the
// nominal q.
func (f *flow) jones(i int, cp float64) (density float64, ok bool) {
	loss, r, u := f.lost(i, cp)
	// On the scale where the total pressure of a stream of this density is r.
	d, ok := JonesDensity(r-loss/f.head(), r, u)
	return f.norm*d + f.stress(i), ok
}

// unstressed reports whether the turbulence term, though not left out as asked, is in no method's drag.
func (s *station) unstressed() bool {
	return s.flow.momentum() && s.flow.uu == nil && s.opt.Turbulence != TurbulenceNone
}

// lowPressure is ∫cp dS over a part of the wake, from the pressure beside it, 0 where it is not low.
func (s *station) lowPressure(part quad.Weights) float64 {
	cp := func(i int) float64 { return (s.flow.p[i] - s.flow.ref.Pressure) / s.flow.q }
	outer, _, _ := s.edge.level(cp)
	return math.Min(0, s.scale*part.IntegrateFunc(func(i int) float64 {
		if !s.flow.wake.holds(i) {
			return 0
		}
		return cp(i) - outer
	}))
}

// StressItems say of the drag area at index i of a survey, or of the difference of two, that the
// turbulence term is missing. Nothing else in a plane tells how large it is: the low pressure of the wake does
// so to a third or three times, with a difference of either sign (measured on planes of a simulation with
// the stress left out). So it is not known, unless the low pressures together are within the given
// area, which it then cannot make up. Where one of two has the term, that size is in the difference.
//
// A steady solution, or one with k, has a turbulence model, whose pressure may hold the term.
func StressItems(i int, within float64, ms ...*Measurement) []uncertainty.Item {
	var low, term float64
	lack, modelled := 0, false
	for _, m := range ms {
		part := m.whole
		if k := m.Layout.region(i); k != Whole {
			part = m.parts[k]
		}
		if m.unstressed() {
			lack++
			modelled = modelled || m.given.Uncertainty.Steady || m.plane.Field[wake.K] != nil
			low -= m.lowPressure(part)
		} else if m.flow.uu != nil {
			term = m.scale * part.IntegrateFunc(m.flow.stress)
		}
	}
	if lack == 0 || lack == len(ms) && (modelled || low <= within) || lack < len(ms) && term == 0 {
		return nil
	}
	return []uncertainty.Item{{Name: uncertainty.TurbulenceTerm, Kind: uncertainty.Independent, Category: uncertainty.Sampling, How: uncertainty.Unknown, Standard: math.Abs(term)}}
}

// local is the local drag of sample i: the sum of its terms.
func (f *flow) local(i int) float64 {
	tp, ax, cf, tu := f.terms(i)
	return tp + ax + cf + tu
}

// across is the square of the free stream's v over that of its u.
func (f *flow) across() float64 { return f.onset * f.onset }

// loss is (pt∞−pt)/q of sample i with pt∞ as given, from the velocities or as a
// pitot tube gave it.
func (f *flow) loss(i int) float64 {
	if f.momentum() {
		r, u, v, w, cp := f.at(i)
		return f.norm * (f.cptInf - (cp + r*(u*u+v*v+w*w)))
	}
	return (f.ref.TotalPressure - f.pt[i]) / f.q
}

// lossLike is the loss, or that of the speed alone, 1 − (u/U)², where it is not computable.
func (f *flow) lossLike(i int) float64 {
	if f.hasLoss() {
		return f.loss(i)
	}
	u := f.u[i] / f.speed
	return 1 - u*u
}

// hasLoss reports whether the loss is computable.
func (f *flow) hasLoss() bool { return f.momentum() || f.pt != nil }

// weight returns the weight field, or nil where the plane lacks what it needs.
func (f *flow) weight(w Weight) []float64 {
	switch {
	case w == WeightTotalPressure && f.hasLoss():
		return grid.Fill(max(len(f.u), len(f.pt)), f.loss)
	case w == WeightDrag && f.momentum():
		return grid.Fill(len(f.u), f.local)
	case w == WeightDeficit && f.u != nil:
		return grid.Fill(len(f.u), func(i int) float64 { return 1 - f.u[i]/f.speed })
	case w == WeightMomentum && f.u != nil:
		return grid.Fill(len(f.u), func(i int) float64 {
			u := f.u[i] / f.speed
			return u * (1 - u)
		})
	}
	return nil
}
