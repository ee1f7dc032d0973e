package study_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// TestSnapshots: a configuration given by snapshots is measured on their mean, which is that
// of the closed form averaged over the depths, in the order of the numbers, with a time average
// from the blocks of the record; and surveys may be named by wildcards.
func TestSnapshots(t *testing.T) {
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(8, 21))
	// A draw without a chance trend, which one in twenty has and which is refused as drift.
	var mean, square float64
	const n = 120
	for i := range n {
		eps := 0.4 + 0.02*rng.NormFloat64()
		mean += eps / n
		square += eps * eps / n
		plane(t, dir, fmt.Sprintf("s_%d.csv", i+1), 1, eps, 0.3)
	}
	plane(t, dir, "b1.csv", 1, 0.5, 0.3)
	text := strings.NewReplacer(`surveys = ["a1.csv", "a2.csv"]`, "snapshots = \"s_*.csv\"\ntime_step = \"10 ms\"", `"b1.csv"`, `"b*.csv"`).Replace(wakeStudy)
	o := mustRun(t, dir, text)
	s := o.Stations[0].Surveys
	// The momentum integral of the mean plane has the mean's square and the resolved stress: in
	// all, the mean of the snapshots' integrals.
	want := 2 * math.Pi * 0.04 * (2*mean - square)
	if d := s[0].Result.Drag.Momentum.DragArea; !(math.Abs(d-want) < 2e-5) {
		t.Errorf("drag of the mean of snapshots %g, want %g", d, want)
	}
	if d, want := s[1].Result.Drag.Momentum.DragArea, 2*math.Pi*0.04*0.75; !(math.Abs(d-want) < 1e-5) {
		t.Errorf("drag of the survey behind a wildcard %g, want %g", d, want)
	}
	items := s[0].Result.Uncertainty.DragArea.Items
	k := slices.IndexFunc(items, func(it uncertainty.Item) bool { return it.Category == uncertainty.TimeAverage })
	if k < 0 {
		t.Fatalf("no time average among %+v; %+v", len(items), s[0].Result.Warnings)
	}
	// Independent depths: u = ∂C/∂ε·σ/√n, known from 8 to 20 blocks within a factor of two.
	if u, want := items[k].Standard, 2*math.Pi*0.04*2*(1-mean)*0.02/math.Sqrt(n); !(u > want/2 && u < 2*want) {
		t.Errorf("u of the time average %g, want about %g", u, want)
	}
	in := o.Inputs[slices.IndexFunc(o.Inputs, func(in study.Input) bool { return in.File == "s_*.csv" })]
	if len(in.Paths) != n || !strings.HasSuffix(in.Paths[9], "s_10.csv") {
		t.Errorf("%d files, the tenth %s: order by number is expected", len(in.Paths), in.Paths[9])
	}
	if _, _, err := run(t, dir, strings.Replace(text, "s_*.csv", "q_*.csv", 1)); err == nil || !strings.Contains(err.Error(), `no file matches "q_*.csv"`) {
		t.Errorf("a wildcard that names nothing: %v", err)
	}
}

// TestShortSnapshots: of a record of snapshots that is too short neither a longer force record tells the time
// average, nor do repeats of longer records; a force record of the same time does.
func TestShortSnapshots(t *testing.T) {
	dir, rng := t.TempDir(), rand.New(rand.NewPCG(8, 21))
	for i := range 6 {
		plane(t, dir, fmt.Sprintf("s_%d.csv", i+1), 1, 0.4+0.02*rng.NormFloat64(), 0.3)
	}
	for i, name := range []string{"b1.csv", "b2.csv", "b3.csv"} {
		plane(t, dir, name, 1, 0.5+1e-4*float64(i*i), 0.3)
	}
	force := "time [s],drag [N]\n"
	for i := range 300 {
		force += fmt.Sprintf("%g,%.6f\n", 0.01*float64(i), 0.08+1e-4*rng.NormFloat64())
	}
	put(t, dir, "f.csv", force)
	const record, repeats = `force = { record = "f.csv" }`, `repeats = ["b2.csv", "b3.csv"]`
	for _, c := range []struct {
		step, force, repeats string
		known                bool
	}{
		{`time_step = "0.5 s"`, record, "", true}, {`time_step = "0.01 s"`, record, "", false}, {"", record, "", false},
		{"", "", repeats, false}, {`time_step = "0.5 s"`, record, repeats, true},
	} {
		o := mustRun(t, dir, strings.NewReplacer(`surveys = ["a1.csv", "a2.csv"]`, `surveys = ["b1.csv"]`+"\n"+c.repeats, `surveys = ["b1.csv"]`, "snapshots = \"s_*.csv\"\n"+c.step,
			`force = { drag_area = "0.16 m2", standard_uncertainty = "0.005 m2" }`, c.force, `force = { drag_area = "0.188 m2" }`, c.force).Replace(wakeStudy))
		d := o.Stations[0].Comparison.Variants[0].Delta
		if known := !slices.Contains(d.Missing, uncertainty.TimeAverage); known != c.known {
			t.Errorf("%+v: %s, missing %v", c, d.Verdict, d.Missing)
		}
		if codes := codesOf(o.Stations[0].Comparison.Warnings); strings.Contains(codes, "force-longer") != (c.force != "" && !c.known) {
			t.Errorf("%+v: warnings %s", c, codes)
		}
	}
}
