package measure_test

import (
	"math"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// stressed is a Gaussian wake with a normal stress that grows with the deficit.
func stressed(t *testing.T, weight measure.Weight, in measure.Inputs) *measure.Measurement {
	t.Helper()
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.15, 0.1, -0.05), -1, 1, -1.2, 1.2, 41, 49)
	for _, q := range []wake.Quantity{wake.UU, wake.VV, wake.WW} {
		s.Col[q] = make([]float64, s.N)
		for i, u := range s.Col[wake.U] {
			s.Col[q][i] = 0.04 * (1 - u)
		}
	}
	m, err := measure.Take(waketest.Plane(t, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference(), Weight: weight, Section: [2]float64{0.1, 0.1}, Uncertainty: in})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// The errors of the weight are those with which the budgets are drawn: the centroid
// that a draw gives, y + ∫(y−ȳ)e/∫w to first order, is the one that was measured with
// the mean velocities off in that draw. With so many samples that the errors are small
// the second order is next to nothing.
func TestTimeErrorsAreThoseOfTheBudget(t *testing.T) {
	in := measure.Inputs{EffectiveSamples: 1e8, CorrelationLength: 0.2}
	for _, weight := range []measure.Weight{measure.WeightDeficit, measure.WeightTotalPressure, measure.WeightMomentum} {
		m := stressed(t, weight, in)
		e := m.TimeErrors(in.EffectiveSamples, in.CorrelationLength)
		draws := m.Responses[slices.IndexFunc(m.Responses, func(r measure.Response) bool { return r.Name == "time average" })].Draws
		if len(draws) != measure.TimeDraws {
			t.Fatalf("%d draws", len(draws))
		}
		at := m.Layout.Centroid(measure.Whole, 0)
		y0 := m.Result.Wake.Centroid[0]
		mesh := m.Plane.Mesh
		out := make([]float64, len(mesh.Points))
		for d, v := range draws {
			e.Draw(d, mesh, e.Gain, mesh.Window(), out)
			// The trapezoidal sums of an evenly spaced lattice, whose border the wake does
			// not reach.
			var sum, move float64
			for i, p := range mesh.Points {
				sum += m.Weight[i]
				move += (p.X - y0) * out[i]
			}
			got, want := move/sum, v[at]-y0
			if !(math.Abs(got-want) <= 0.01*math.Abs(want)+1e-9) {
				t.Errorf("%v, draw %d: the centroid moves by %.6g, want %.6g", weight, d, got, want)
			}
		}
	}
}

// On a lattice the random fields are made from products of functions of one
// coordinate: they are the fields that are made point by point elsewhere. Outside the
// box there is nothing.
func TestTimeErrorsOnLattice(t *testing.T) {
	m := stressed(t, measure.WeightDeficit, measure.Inputs{})
	e := m.TimeErrors(20, 0.15)
	points := &grid.Mesh{Kind: grid.KindTriangles, Points: m.Plane.Mesh.Points}
	box := grid.Box{Min: grid.Point{X: -0.33, Y: -0.5}, Max: grid.Point{X: 0.6, Y: 0.21}}
	a, b := make([]float64, len(points.Points)), make([]float64, len(points.Points))
	for d := range 3 {
		e.Draw(d, m.Plane.Mesh, e.Gain, box, a)
		e.Draw(d, points, e.Gain, box, b)
		some := false
		for i, p := range points.Points {
			some = some || a[i] != 0
			if !(math.Abs(a[i]-b[i]) <= 1e-12) || !box.Contains(p) && a[i] != 0 {
				t.Fatalf("draw %d at %v: %g on the lattice, %g by points", d, p, a[i], b[i])
			}
		}
		if !some {
			t.Fatal("no errors at all")
		}
	}
	if m.TimeErrors(0, 0.1) != nil {
		t.Error("errors of a mean of no samples")
	}
}
