package study_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// inlet writes a plane of 20×20 samples with the given states, u and p.
func inlet(t *testing.T, dir, name string, state func(y, z float64) (u, p float64)) {
	t.Helper()
	var b strings.Builder
	b.WriteString("x [m],y [m],z [m],u [m/s],p [Pa]\n")
	for j := range 20 {
		for i := range 20 {
			y, z := 0.4*float64(i)-3.8, 0.4*float64(j)+0.2
			u, p := state(y, z)
			fmt.Fprintf(&b, "-6,%.3g,%.3g,%.17g,%.17g\n", y, z, u, p)
		}
	}
	put(t, dir, name, b.String())
}

// wakeAt writes a Gaussian wake of given depth in a stream of U = 1 whose static pressure is p.
func wakeAt(t *testing.T, dir, name string, eps, p float64) {
	t.Helper()
	s := waketest.Lattice(waketest.Gaussian(eps, 0.2, 0.3, 1), -1.5, 1.5, 0, 2.5, 61, 51)
	var b strings.Builder
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for i := range s.N {
		fmt.Fprintf(&b, "1,%g,%g,%.17g,0,0,%.17g\n", s.Col[wake.Y][i], s.Col[wake.Z][i], s.Col[wake.U][i], p)
	}
	put(t, dir, name, b.String())
}

// Two cases with inlet pressures of their own, 0.4 % of q apart. With one reference for both, no
// difference is judged, and the reason is told; with the inlet of each, uniform or not, or its
// stated pressure, the difference is that of the closed form and inside its U.
func TestOwnReferences(t *testing.T) {
	dir := t.TempDir()
	const pa, pb = 0.010, 0.012
	wakeAt(t, dir, "a.csv", 0.4, pa)
	wakeAt(t, dir, "b.csv", 0.5, pb)
	wakeAt(t, dir, "c.csv", 0.5, pa)
	even := func(p float64) func(y, z float64) (float64, float64) {
		return func(float64, float64) (float64, float64) { return 1, p }
	}
	inlet(t, dir, "a_inlet.csv", even(pa))
	inlet(t, dir, "b_inlet.csv", even(pb))
	inlet(t, dir, "b_uneven.csv", func(y, z float64) (float64, float64) { return 1, pb + 2e-5*y*(z-4) })
	text := `
baseline = "a"
[reference]
speed = 1
density = 1
pressure = 0.010
[uncertainty]
steady = true
solution = "0.01 %"
[[configuration]]
name = "a"
surveys = ["a.csv"]
A
[[configuration]]
name = "b"
surveys = ["b.csv"]
B
`
	want := 2 * math.Pi * 0.04 * (0.5*1.5 - 0.4*1.6)
	for _, c := range []struct {
		name, a, b, surveys, stated, verdict string
		missing                              bool
	}{
		{name: "one reference", verdict: uncertainty.NotResolved, missing: true},
		{name: "inlets", a: `reference = { plane = "a_inlet.csv" }`, b: `reference = { plane = "b_inlet.csv" }`, verdict: uncertainty.Resolved},
		{name: "uneven inlet", a: `reference = { plane = "a_inlet.csv" }`, b: `reference = { plane = "b_uneven.csv", speed = 1 }`, verdict: uncertainty.Resolved},
		{name: "of a survey", a: `reference = { plane = "a_inlet.csv" }`, surveys: `surveys = [{ file = "b.csv", reference = { plane = "b_inlet.csv" } }]`, verdict: uncertainty.Resolved},
		{name: "stated", b: `reference = { pressure = "0.012 Pa" }`, verdict: uncertainty.NotJudged, missing: true},
		// What is known of one says nothing of the other.
		{name: "inlet of one", b: `reference = { plane = "b_uneven.csv", speed = 1 }`, verdict: uncertainty.NotJudged, missing: true},
		// A stated place says nothing of the inflow.
		{name: "stated, and the place", stated: `position = "1 mm"`, b: `reference = { pressure = "0.012 Pa" }`, verdict: uncertainty.NotJudged, missing: true},
		{name: "one number, stated for each", a: `reference = { pressure = "0.010 Pa" }`, b: `reference = { pressure = "0.010 Pa" }`, surveys: `surveys = ["c.csv"]`, verdict: uncertainty.NotJudged, missing: true},
		// What is stated of a reference does not cancel where only the first has it as its own.
		{name: "one of its own", stated: `pressure = "0.005 Pa"`, a: `reference = { pressure = "0.010 Pa" }`, surveys: `surveys = ["c.csv"]`, verdict: uncertainty.NotResolved},
		// References of their own are no better than the edges beside the wakes.
		{name: "one off by more than stated", stated: `pressure = "0.0001 Pa"`, a: `reference = { pressure = "0.010 Pa" }`, b: `reference = { pressure = "0.012 Pa" }`, surveys: `surveys = ["c.csv"]`, verdict: uncertainty.NotJudged, missing: true},
		{name: "one inlet for each", a: `reference = { plane = "a_inlet.csv" }`, b: `reference = { plane = "a_inlet.csv" }`, verdict: uncertainty.NotResolved, missing: true},
		{name: "one off by what is stated", stated: `pressure = "0.001 Pa"`, a: `reference = { pressure = "0.010 Pa" }`, b: `reference = { pressure = "0.012 Pa" }`, surveys: `surveys = ["c.csv"]`, verdict: uncertainty.Resolved},
	} {
		s := strings.NewReplacer("\nA\n", "\n"+c.a+"\n", "\nB\n", "\n"+c.b+"\n", "steady = true", "steady = true\n"+c.stated).Replace(text)
		if c.surveys != "" {
			s = strings.Replace(s, `surveys = ["b.csv"]`, c.surveys, 1)
		}
		o, _, err := run(t, dir, s)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		cmp := o.Stations[0].Comparison
		d := cmp.Variants[0].Delta
		if d.Verdict != c.verdict || (fmt.Sprint(d.Missing) == "[reference]") != c.missing {
			t.Errorf("%s: %s, missing %v", c.name, d.Verdict, d.Missing)
		}
		told := strings.Contains(codesOf(cmp.Warnings), "references-differ")
		if told != slices.Contains([]string{"one reference", "one off by more than stated", "one inlet for each"}, c.name) {
			t.Errorf("%s: warnings %s", c.name, codesOf(cmp.Warnings))
		}
		one := strings.HasPrefix(c.name, "one ")
		if !one && !(math.Abs(d.DragArea-want) < math.Max(d.Expanded, 1e-5)) {
			t.Errorf("%s: difference %g ± %g, want %g", c.name, d.DragArea, d.Expanded, want)
		}
		if r := o.Stations[0].Surveys[1].Result.Reference; !one && !(math.Abs(r.Pressure-pb) < 1e-4*pb) {
			t.Errorf("%s: p∞ = %g, want %g", c.name, r.Pressure, pb)
		}
	}
}

func codesOf(ws []wake.Warning) string {
	var s string
	for _, w := range ws {
		s += w.Code + " "
	}
	return s
}

// One inflow of which the total pressure beside the wakes scatters is one reference for both.
func TestScatterIsNoOtherReference(t *testing.T) {
	at := func(eps, seed float64) *wake.Plane {
		s := waketest.Lattice(waketest.Gaussian(eps, 0.2, 0.3, 1), -1.5, 1.5, 0, 2.5, 61, 51)
		for i := range s.Col[wake.P] {
			s.Col[wake.P][i] += 2e-3*math.Sin(7*s.Col[wake.Y][i]+seed) + 1e-3*seed
		}
		return waketest.Plane(t, s, wake.PlaneOptions{})
	}
	opt := measure.Options{Reference: wake.Freestream{Speed: 1, Density: 1, TotalPressure: math.NaN()}, Uncertainty: measure.Inputs{Steady: true, Solution: new(float64)}}
	c := comparison(t, opt, at(0.4, 0), at(0.5, 0.5))
	if strings.Contains(codesOf(c.Warnings), "references-differ") || c.Variants[0].Delta.Missing != nil {
		t.Errorf("%s; missing %v", codesOf(c.Warnings), c.Variants[0].Delta.Missing)
	}
}
