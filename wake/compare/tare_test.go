package compare_test

import (
	"math"
	"strings"
	"testing"

	gonumquad "gonum.org/v1/gonum/integrate/quad"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// A worked example: a 1/7-power floor layer of 0.1 m in a window 2.4 m wide, and a
// Gaussian wake u = u_e − ½ exp(−r²/2σ²) with σ = 0.2 m centred 0.3 m up. The four
// numbers worked out beforehand, 0.214473, 0.046656, 0.167818 and 0.170293, were summed on a
// raster; in Gauss's rule they are 0.214486, 0.046667 (= 7δ/36 · 2.4), 0.167819 and
// 0.170295.
const (
	tareDelta, tareHeight = 0.1, 0.3
	tareHalf, tareTop     = 1.2, 2.4
)

var (
	tareWake  = waketest.FloorLayer(waketest.Gaussian(0.5, 0.2, 0, tareHeight), tareDelta)
	tareEmpty = waketest.FloorLayer(waketest.Uniform(waketest.State{U: 1}), tareDelta)
)

// tareSum integrates over the window with Gauss's rule; z = δs⁷ in the layer makes its
// powers polynomials.
func tareSum(f func(y, z float64) float64) float64 {
	row := func(z float64) float64 {
		return gonumquad.Fixed(func(y float64) float64 { return f(y, z) }, -tareHalf, tareHalf, 60, gonumquad.Legendre{}, 0)
	}
	return gonumquad.Fixed(func(s float64) float64 {
		return row(tareDelta*math.Pow(s, 7)) * 7 * tareDelta * math.Pow(s, 6)
	}, 0, 1, 40, gonumquad.Legendre{}, 0) + gonumquad.Fixed(row, tareDelta, tareTop, 80, gonumquad.Legendre{}, 0)
}

var closeTo = gridtest.Near

func mustTare(t *testing.T, p, empty *wake.Plane, opt measure.Options) *measure.Measurement {
	t.Helper()
	m, err := compare.Tare(p, empty, opt)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func tarePlane(t *testing.T, name string, s *wake.Samples) *wake.Plane {
	t.Helper()
	s.File = name
	return waketest.Plane(t, s, wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"})
}

func warned(r *measure.Result, code string) string {
	for _, w := range r.Warnings {
		if w.Code == code {
			return w.Text
		}
	}
	return ""
}

func TestTare(t *testing.T) {
	car := tareSum(func(y, z float64) float64 { u := tareWake(y, z).U; return 2 * u * (1 - u) })
	empty := tareSum(func(y, z float64) float64 { u := tareEmpty(y, z).U; return 2 * u * (1 - u) })
	local := tareSum(func(y, z float64) float64 {
		return measure.LocalReferenceDensity(0, 1, tareWake(y, z).U, 0, tareEmpty(y, z).U)
	})
	// The table, within its raster, and the closed form of the empty section.
	closeTo(t, "I(car), table", car, 0.214473, 2e-5)
	closeTo(t, "I(empty), table", empty, 0.046656, 2e-5)
	closeTo(t, "I(empty), closed form", empty, 7*tareDelta/36*2*tareHalf, 1e-9)
	closeTo(t, "difference, table", car-empty, 0.167818, 2e-6)
	closeTo(t, "local reference, table", local, 0.170293, 3e-6)

	ys, zs := waketest.Steps(-tareHalf, tareHalf, 60), waketest.Graded(tareDelta, tareTop, 40)
	p := tarePlane(t, "car.csv", waketest.Rows(tareWake, ys, zs))
	e := tarePlane(t, "empty.csv", waketest.Rows(tareEmpty, ys, zs))
	opt := measure.Options{Reference: waketest.Reference(), FrontalArea: 2}
	alone, err := measure.Take(p, opt)
	if err != nil {
		t.Fatal(err)
	}
	if warned(alone.Result, measure.FloorLayerCode) == "" || alone.Tare != nil {
		t.Fatal("the plane alone should be warned of its floor layer")
	}
	m := mustTare(t, p, e, opt)
	r := m.Result
	if r.Tare == nil {
		t.Fatalf("no tare: %v", r.Warnings)
	}
	closeTo(t, "I(car)", r.Drag.Momentum.DragArea, car, 3e-4)
	closeTo(t, "I(empty)", r.Tare.Empty, empty, 3e-4)
	// What the rows miss of the layer is in both and cancels.
	closeTo(t, "difference", r.Tare.DragArea, car-empty, 3e-5)
	closeTo(t, "local reference", r.Tare.LocalReference, local, 3e-5)
	closeTo(t, "gap", r.Tare.Gap, local-(car-empty), 3e-5)
	closeTo(t, "C_D", *r.Tare.Cd, r.Tare.DragArea/2, 1e-12)
	if r.Tare.File != "empty.csv" || r.File != "car.csv" {
		t.Errorf("tare of %q on %q", r.Tare.File, r.File)
	}
	for _, code := range []string{measure.FloorLayerCode, "tare-window", "tare-reference", "resampled", "no-tare"} {
		if text := warned(r, code); text != "" {
			t.Errorf("warned needlessly [%s]: %s", code, text)
		}
	}
	said := ""
	for _, s := range r.Method {
		if s.Name == "tare" {
			said = s.Value
		}
	}
	if !strings.Contains(said, "empty.csv") || !strings.Contains(said, "same samples") {
		t.Errorf("the settings say %q of the tare", said)
	}
}

// The gap is ρ∫(U−u_e)(u−u_e)dS turned over, whatever the two planes are: an identity
// of the integrands, held here sample by sample with pressure and stress on.
func TestTareGapIsAnIdentity(t *testing.T) {
	state := func(k float64) waketest.Field {
		return func(y, z float64) waketest.State {
			return waketest.State{U: 1 - 0.3*k*math.Exp(-z*z-k*y*y), V: 0.1 * k * y, W: 0.05 * z, P: 0.02 * math.Sin(k*y+z)}
		}
	}
	a, b := waketest.Lattice(state(1.3), 0, 1, 0, 1, 21, 17), waketest.Lattice(state(0.4), 0, 1, 0, 1, 21, 17)
	for k, s := range []*wake.Samples{a, b} {
		s.Col[wake.UU] = make([]float64, s.N)
		for i := range s.N {
			s.Col[wake.UU][i] = 0.01 * float64(k+1) * s.Col[wake.Z][i]
		}
	}
	for _, half := range []bool{false, true} {
		m := mustTare(t, tarePlane(t, "a", a), tarePlane(t, "b", b), measure.Options{Reference: waketest.Reference(), Half: half})
		gap := tarePlane(t, "c", a)
		for i := range gap.Field[wake.P] {
			u, ue := a.Col[wake.U][i], b.Col[wake.U][i]
			// A plane of u = 1 and this pressure has the integrand −cp = 2(1−u_e)(u_e−u).
			gap.Field[wake.P][i] = -(1 - ue) * (ue - u)
		}
		want, err := measure.Take(onlyPressure(gap), measure.Options{Reference: waketest.Reference(), Half: half})
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "gap", m.Result.Tare.Gap, want.Drag.Momentum.DragArea, 1e-12)
	}
}

// onlyPressure makes a plane's stream uniform but for its pressure.
func onlyPressure(p *wake.Plane) *wake.Plane {
	q := *p
	n := len(p.Mesh.Points)
	q.Field[wake.U], q.Field[wake.V], q.Field[wake.W] = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		q.Field[wake.U][i] = 1
	}
	q.Field[wake.UU] = nil
	return &q
}

// What does not fit is said: another window, other samples, references anchored apart,
// and an empty section without pressure or at another station.
func TestTareDoubts(t *testing.T) {
	ys, zs := waketest.Steps(-tareHalf, tareHalf, 48), waketest.Steps(0, 1.2, 48)
	opt := measure.Options{Reference: waketest.Reference()}
	p := tarePlane(t, "car.csv", waketest.Rows(tareWake, ys, zs))
	take := func(e *wake.Samples, opt measure.Options) *measure.Result {
		t.Helper()
		return mustTare(t, p, tarePlane(t, "empty.csv", e), opt).Result
	}
	whole := take(waketest.Rows(tareEmpty, ys, zs), opt)

	wide := take(waketest.Rows(tareEmpty, ys, waketest.Steps(0, 1.5, 60)), opt)
	if text := warned(wide, "tare-window"); !strings.Contains(text, "2.8800 m2 of the 3.6000 m2 of empty.csv") {
		t.Errorf("a taller empty survey: %q", text)
	}
	closeTo(t, "tare of a taller survey", wide.Tare.DragArea, whole.Tare.DragArea, 1e-12)

	other := take(waketest.Rows(tareEmpty, waketest.Steps(-tareHalf, tareHalf, 40), waketest.Steps(0, 1.2, 40)), opt)
	if text := warned(other, "resampled"); !strings.Contains(text, "empty.csv") {
		t.Errorf("other samples: %q", text)
	}
	// The layer on 30 mm instead of 25 mm rows.
	closeTo(t, "tare of other samples", other.Tare.DragArea, whole.Tare.DragArea, 0.01)

	slow := waketest.Rows(tareEmpty, ys, zs)
	for i := range slow.N {
		slow.Col[wake.P][i] -= 0.005
	}
	anchored := opt
	anchored.Anchor = "edge"
	if text := warned(take(slow, anchored), "tare-reference"); !strings.Contains(text, "differ by +1 % of q") {
		t.Errorf("anchors 1 %% of q apart: %q", text)
	}

	bare := waketest.Rows(tareEmpty, ys, zs)
	bare.Col[wake.P] = nil
	if r := take(bare, opt); r.Tare != nil || !strings.Contains(warned(r, "no-tare"), "empty.csv") {
		t.Errorf("an empty survey without pressure: %+v, %q", r.Tare, warned(r, "no-tare"))
	}

	far := waketest.Rows(tareEmpty, ys, zs)
	for i := range far.N {
		far.Col[wake.X][i] = 3
	}
	if _, err := compare.Tare(p, tarePlane(t, "far.csv", far), opt); err == nil {
		t.Error("an empty survey 2 m away is taken without an error")
	}
}
