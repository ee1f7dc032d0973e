package measure

import (
	"math"
	"math/rand/v2"

	"wakeledger/grid"
	"wakeledger/wake"
)

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

// timePairs are the mean velocities with the stress that each is uncertain by.
var timePairs = [3][2]wake.Quantity{{wake.U, wake.UU}, {wake.V, wake.VV}, {wake.W, wake.WW}}

// TimeErrors gives the errors of the time average with a number of effective samples
// and a correlation length. nil where that number is below 1, and where the plane has
// no weight or no <u'u'>. The gains are central differences over one standard
// uncertainty to either side, which are exact derivatives: every weight is at most
// quadratic in the velocities.
func (m *Measurement) TimeErrors(samples, length float64) *TimeErrors {
	if !(samples >= 1) || m.Weight == nil || m.Plane.Field[wake.U] == nil || m.Plane.Field[wake.UU] == nil {
		return nil
	}
	used, err := ParseWeight(m.Result.Wake.Weight)
	if err != nil {
		return nil
	}
	t := &TimeErrors{Samples: samples, Length: length, seed: m.seedOf()}
	for k, q := range timePairs {
		mean, stress := m.Plane.Field[q[0]], m.Plane.Field[q[1]]
		if mean == nil || stress == nil {
			continue
		}
		var side [2][]float64
		for s, sign := range [2]float64{1, -1} {
			p := *m.Plane
			off := make([]float64, len(mean))
			for i, v := range mean {
				off[i] = v + sign*math.Sqrt(math.Max(0, stress[i])/samples)
			}
			p.Field[q[0]] = off
			side[s] = m.flowOf(&p).weight(used)
		}
		t.Gain[k] = side[0]
		for i, v := range side[1] {
			t.Gain[k][i] = (t.Gain[k][i] - v) / 2
		}
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

// randomOn is randomField at the points of a mesh; what is outside the box is not to
// be used. On a lattice the waves are products of functions of one coordinate each,
//
//	cos(kx x + ky y + φ) = cos(kx x) cos(ky y + φ) − sin(kx x) sin(ky y + φ)
//
// which takes two multiplications a place instead of a cosine.
func randomOn(r *rand.Rand, mesh *grid.Mesh, box grid.Box, L float64, out []float64) {
	if mesh.Kind != grid.KindLattice || !(L > 0) {
		var at []int32
		var inside []grid.Point
		for i, p := range mesh.Points {
			if box.Contains(p) {
				at, inside = append(at, int32(i)), append(inside, p)
			}
		}
		values := make([]float64, len(inside))
		randomField(r, inside, L, values)
		for k, i := range at {
			out[i] = values[k]
		}
		return
	}
	l := mesh.Lattice
	nx, ny := len(l.X), len(l.Y)
	cx, sx := make([]float64, waves*nx), make([]float64, waves*nx)
	cy, sy := make([]float64, waves*ny), make([]float64, waves*ny)
	for k := range waves {
		size := math.Sqrt(-2*math.Log1p(-(float64(k)+r.Float64())/waves)) / L
		sin, cos := math.Sincos(2 * math.Pi * r.Float64())
		kx, ky, phase := size*cos, size*sin, 2*math.Pi*r.Float64()
		for i, x := range l.X {
			sx[k*nx+i], cx[k*nx+i] = math.Sincos(kx * x)
		}
		for j, y := range l.Y {
			sy[k*ny+j], cy[k*ny+j] = math.Sincos(ky*y + phase)
		}
	}
	scale := math.Sqrt(2.0 / waves)
	row := make([]float64, nx)
	first, last := 0, nx
	for first < nx && l.X[first] < box.Min.X {
		first++
	}
	for last > first && l.X[last-1] > box.Max.X {
		last--
	}
	for j, y := range l.Y {
		if y < box.Min.Y || y > box.Max.Y {
			continue
		}
		clear(row)
		part := row[first:last]
		for k := range waves {
			c, s := cy[k*ny+j], sy[k*ny+j]
			a, b := cx[k*nx+first:k*nx+last], sx[k*nx+first:k*nx+last]
			for i := range part {
				part[i] += c*a[i] - s*b[i]
			}
		}
		for i := first; i < last; i++ {
			if q := l.Index[j*nx+i]; q >= 0 {
				out[q] = scale * row[i]
			}
		}
	}
}
