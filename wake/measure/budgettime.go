package measure

import (
	"math"
	"math/rand/v2"
	"sort"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

const (
	// timeDraws is the number of random error fields, and so the degrees of freedom
	// of what they tell.
	timeDraws = 24
	// waves is the number of plane waves that a correlated field is made of.
	waves = 40
)

// seedOf starts the few draws of a budget. It depends on the plane's values: few draws
// leave a standard uncertainty some 15 % off, and were they the same for every survey,
// every interval of a campaign would be too short or too long alike, instead of some
// being the one and some the other, which is what the degrees of freedom allow for.
func (m *station) seedOf() uint64 {
	h := uint64(uncertainty.Seed)
	for _, q := range []wake.Quantity{wake.U, wake.Pt, wake.Cpt, wake.P} {
		for _, v := range m.plane.Field[q] {
			// One round of a 64-bit mixing function, so that the order of the values counts.
			h = (h ^ math.Float64bits(v)) * 0x9e3779b97f4a7c15
			h ^= h >> 29
		}
	}
	return h
}

// respondTime measures again with the mean velocities off by random fields of
// their own uncertainty, √(normal stress/effective samples).
func (m *measuring) respondTime() error {
	u := m.given.Uncertainty
	if u.EffectiveSamples == 0 {
		return nil
	}
	standard := timeStandards(m.plane, u.EffectiveSamples)
	if standard[0] == nil {
		m.warn("no-stress", "export <u'u'>, or leave out the number of effective samples",
			"a number of effective samples is stated, but the plane has no normal stress: the budget holds no time average")
		return nil
	}
	first := m.seedOf()
	r := Response{Name: "time average", Category: uncertainty.TimeAverage, PointByPoint: true, Kind: uncertainty.Random, DOF: timeDraws}
	return m.draws(r, timeDraws, func(d int) *wake.Plane {
		rng := rand.New(rand.NewPCG(first, uint64(d)))
		noise := make([]float64, len(m.plane.Mesh.Points))
		p := *m.plane
		for k, q := range velocities {
			if f, s := p.Field[q], standard[k]; s != nil {
				randomOn(rng, p.Mesh, everywhere, u.CorrelationLength, noise)
				p.Field[q] = fill(len(f), func(i int) float64 { return f[i] + noise[i]*s[i] })
			}
		}
		return &p
	})
}

// velocities are the mean velocities, stresses those that each is uncertain by.
var velocities, stresses = [3]wake.Quantity{wake.U, wake.V, wake.W}, [3]wake.Quantity{wake.UU, wake.VV, wake.WW}

// timeStandards are the standard uncertainties √(normal stress/samples) of the mean velocities;
// nil for one that, or whose stress, the plane does not have, and for all without u.
func timeStandards(p *wake.Plane, samples float64) (out [3][]float64) {
	for k, q := range velocities {
		if stress := p.Field[stresses[k]]; p.Field[q] != nil && stress != nil && (k == 0 || out[0] != nil) {
			out[k] = fill(len(stress), func(i int) float64 { return math.Sqrt(math.Max(0, stress[i]) / samples) })
		}
	}
	return out
}

// TimeErrors are the errors that the finite time average can have left in a plane's
// weight, to first order: those of which respondTime measures what they do to the
// headline numbers, for what is measured from the weight elsewhere.
type TimeErrors struct {
	// Gain is what the weight changes by at each sample when the mean u, v or w is off
	// by its standard uncertainty √(normal stress/Samples); nil for a velocity that, or
	// whose stress, the plane does not have.
	Gain [3][]float64
	// Samples is the number of effective samples and Length the correlation length, m,
	// as in Inputs.
	Samples, Length float64

	seed uint64
}

// TimeDraws is the number of draws of TimeErrors that represent all: a standard
// uncertainty taken from them is 15 % off by itself.
const TimeDraws = timeDraws

// TimeErrors gives the errors of the time average with a number of effective samples
// and a correlation length. nil where that number is below 1, and where the plane has
// no weight or no <u'u'>. The gains are central differences over one standard
// uncertainty to either side, which are exact derivatives: every weight is at most
// quadratic in the velocities.
func (m *Measurement) TimeErrors(samples, length float64) *TimeErrors {
	if !(samples >= 1) || m.Weight == nil {
		return nil
	}
	standard := timeStandards(m.Plane, samples)
	if standard[0] == nil {
		return nil
	}
	t := &TimeErrors{Samples: samples, Length: length, seed: m.seedOf()}
	for k, q := range velocities {
		mean, s := m.Plane.Field[q], standard[k]
		if s == nil {
			continue
		}
		side := func(sign float64) []float64 {
			p := *m.Plane
			p.Field[q] = fill(len(mean), func(i int) float64 { return mean[i] + sign*s[i] })
			return m.weightOf(&p)
		}
		plus, minus := side(1), side(-1)
		t.Gain[k] = fill(len(plus), func(i int) float64 { return (plus[i] - minus[i]) / 2 })
	}
	return t
}

// Draw fills out with the weight's errors in draw number d, 0 to TimeDraws−1, at the
// points of a mesh within a box (0 elsewhere). gain is Gain at those points: the mesh
// may be another one than the plane's, since the errors are functions of the place.
// The same plane gives the same errors, and those of respondTime.
func (t *TimeErrors) Draw(d int, mesh *grid.Mesh, gain [3][]float64, box grid.Box, out []float64) {
	clear(out)
	rng := rand.New(rand.NewPCG(t.seed, uint64(d)))
	noise := make([]float64, len(out))
	for k := range gain {
		if gain[k] == nil {
			continue
		}
		randomOn(rng, mesh, box, t.Length, noise)
		for i, p := range mesh.Points {
			if box.Contains(p) {
				out[i] += gain[k][i] * noise[i]
			}
		}
	}
}

// everywhere is a box that holds all points.
var everywhere = grid.Box{Min: grid.Point{X: math.Inf(-1), Y: math.Inf(-1)}, Max: grid.Point{X: math.Inf(1), Y: math.Inf(1)}}

// randomOn fills out with a field of unit variance at the points of a mesh, with the
// correlation exp(−r²/2L²): plane waves of random direction and phase, with wave
// numbers of the Gaussian spectrum that belongs to it, one from each of as many
// equal shares of it, so that no field lacks the long waves that integrals feel. L = 0 gives
// one number for all points. What is outside the box is not to be used. On a lattice the
// waves are products of functions of one coordinate each,
//
//	cos(kx x + ky y + φ) = cos(kx x) cos(ky y + φ) − sin(kx x) sin(ky y + φ)
//
// which takes two multiplications a place instead of a cosine.
func randomOn(r *rand.Rand, mesh *grid.Mesh, box grid.Box, L float64, out []float64) {
	if L == 0 {
		v := r.NormFloat64()
		for i := range out {
			out[i] = v
		}
		return
	}
	var kx, ky, phase [waves]float64
	for k := range waves {
		// |k|L is distributed as the root of −2 ln(1−x) for x even between 0 and 1.
		size := math.Sqrt(-2*math.Log1p(-(float64(k)+r.Float64())/waves)) / L
		sin, cos := math.Sincos(2 * math.Pi * r.Float64())
		kx[k], ky[k], phase[k] = size*cos, size*sin, 2*math.Pi*r.Float64()
	}
	scale := math.Sqrt(2.0 / waves)
	if mesh.Kind != grid.KindLattice {
		for i, p := range mesh.Points {
			if !box.Contains(p) {
				continue
			}
			sum := 0.0
			for k := range waves {
				sum += math.Cos(kx[k]*p.X + ky[k]*p.Y + phase[k])
			}
			out[i] = scale * sum
		}
		return
	}
	l := mesh.Lattice
	nx := len(l.X)
	first := sort.SearchFloat64s(l.X, box.Min.X)
	last := first + sort.Search(nx-first, func(i int) bool { return l.X[first+i] > box.Max.X })
	cx, sx := make([]float64, waves*nx), make([]float64, waves*nx)
	for k := range waves {
		for i, x := range l.X {
			sx[k*nx+i], cx[k*nx+i] = math.Sincos(kx[k] * x)
		}
	}
	row := make([]float64, last-first)
	for j, y := range l.Y {
		if y < box.Min.Y || y > box.Max.Y {
			continue
		}
		clear(row)
		for k := range waves {
			s, c := math.Sincos(ky[k]*y + phase[k])
			a, b := cx[k*nx+first:k*nx+last], sx[k*nx+first:k*nx+last]
			for i := range row {
				row[i] += c*a[i] - s*b[i]
			}
		}
		for i, v := range row {
			if q := l.Index[j*nx+first+i]; q >= 0 {
				out[q] = scale * v
			}
		}
	}
}
