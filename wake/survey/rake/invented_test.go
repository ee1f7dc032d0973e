package rake

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

func mustReduce(t *testing.T, log, layout []byte, opt Options) *Result {
	t.Helper()
	r, err := tryReduce(log, layout, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// dragOf is Jones's drag area of a plane, m², with its standard uncertainty, as measure has them
// by what the log tells of the samples' errors.
func dragOf(t *testing.T, r *Result) (area, standard float64, m *measure.Result) {
	t.Helper()
	in := r.Nominal()
	planes, err := wake.Planes(r.Survey(in), wake.PlaneOptions{Support: grid.Nodes})
	if err != nil {
		t.Fatal(err)
	}
	taken, err := measure.Take(planes[0], measure.Options{Reference: wake.Freestream{Speed: in.Speed, Density: 2 * in.Dynamic / (in.Speed * in.Speed), TotalPressure: nan}})
	if err != nil {
		t.Fatal(err)
	}
	m = taken.Result
	if m.Drag == nil || m.Drag.Jones == nil || m.Uncertainty.DragArea == nil {
		t.Fatalf("no drag: %+v", m.Warnings)
	}
	return m.Drag.Jones.DragArea, m.Uncertainty.DragArea.Standard, m
}

func tryReduce(log, layout []byte, opt Options) (*Result, error) {
	lay, err := ParseLayout("rake.toml", layout)
	if err != nil {
		return nil, err
	}
	l, err := ParseLog("log.csv", string(log))
	if err != nil {
		return nil, err
	}
	return Reduce(context.Background(), l, lay, opt)
}

// off is a layout with a correction switched off.
func off(layout []byte, c Correction) []byte {
	const table = "[corrections]\n"
	if !bytes.Contains(layout, []byte(table)) {
		layout = append(slices.Clip(layout), table...)
	}
	return bytes.Replace(layout, []byte(table), fmt.Appendf(nil, "%s%s = false\n", table, c), 1)
}

const constantLaw = "[corrections]\nlaw = \"constant\"\n"

// wakeRake is a Gaussian wake of σ = 20 mm through tubes of 2 mm whose centre is
// displaced by 0.15 D, the case of METHOD 1i.
func wakeRake(eps float64) waketest.Rake {
	return waketest.Rake{
		Field: waketest.Gaussian(eps, 0.02, 0, 0), Half: 0.1, Step: 0.005, Shift: 0.15 * 0.002,
		Zeros: 2, Drifts: 0.5, Noise: 0.0005, Wander: 0.01, Seed: 11,
	}
}

// The closed form is C_D·A = 2πσ²ε(2−ε). Left uncorrected, a displacement δ changes
// it by −2πδ∫f dr with f = 2u(1−u), which is −δ√(π/2)/σ = −1.88 % for a weak wake.
func TestInventedWake(t *testing.T) {
	const sigma, delta = 0.02, 0.0003
	for _, eps := range []float64{0.05, 0.5} {
		for seed := range uint64(4) {
			k := wakeRake(eps)
			k.Seed = seed
			if seed > 0 {
				k.Step = 0.01
			}
			log, layout, _ := k.Log()
			layout = append(layout, constantLaw...)
			want := 2 * math.Pi * sigma * sigma * eps * (2 - eps)
			if got, u, _ := dragOf(t, mustReduce(t, log, layout, Options{})); !(math.Abs(got-want) <= 2*u) || !(u < 0.03*want) {
				t.Errorf("ε %g, seed %d: %.7f m2 with standard uncertainty %.7f, closed form %.7f", eps, seed, got, u, want)
			}
			if seed > 0 {
				continue
			}
			// Without any noise the miss is that of the displacement alone.
			k.Zeros, k.Drifts, k.Noise, k.Wander = 0, 0, 0, 0
			log, _, _ = k.Log()
			miss := *mustReduce(t, log, off(layout, Displacement), Options{}).jones()/want - 1
			line := 2 * (eps*math.Sqrt(math.Pi/2) - eps*eps*math.Sqrt(math.Pi)/2) * sigma
			law := -2 * math.Pi * delta * line / want
			if !(math.Abs(miss-law) <= 3e-4) { // second order, δ²/σ² = 2e-4
				t.Errorf("ε %g: without the displacement %.5f, by the formula %.5f", eps, miss, law)
			}
			if eps == 0.05 && !(math.Abs(miss+0.0188) < 5e-4) {
				t.Errorf("weak wake: %.4f, about -0.0188 is expected", miss)
			}
			left := *mustReduce(t, log, layout, Options{}).jones()/want - 1
			if !(math.Abs(left) < 0.001) {
				t.Errorf("ε %g: %.5f is left after the correction", eps, left)
			}
		}
	}
}

// Zeros and drift come back to within their noise, q's drift is taken out, and each
// switch brings its error back.
func TestInventedZerosAndSwitches(t *testing.T) {
	k := wakeRake(0.5)
	log, layout, truth := k.Log()
	layout = append(layout, constantLaw...)
	r := mustReduce(t, log, layout, Options{Worth: true})
	noise := k.Noise / 5 * 375 // of a wind-off reading; means of three, drift of two
	for i, want := range truth.Zero {
		if got := r.Tubes[i].Zero; !(math.Abs(got-want) < 5*noise/math.Sqrt(3)) {
			t.Errorf("%s: zero %.3f Pa, %.3f Pa went in", r.Tubes[i].Name, got, want)
		}
		if got := *r.Tubes[i].Drift; !(math.Abs(got-truth.Drift[i]) < 5*noise*math.Sqrt(2.0/3)) {
			t.Errorf("%s: drift %.3f Pa, %.3f Pa went in", r.Tubes[i].Name, got, truth.Drift[i])
		}
	}
	if got := *r.Rows.Repeatability; !(math.Abs(got/k.Noise-1) < 0.2) {
		t.Errorf("repeatability %.6f, noise %.6f", got, k.Noise)
	}
	worth := map[Correction]Worth{}
	for _, w := range r.Worth {
		worth[w.Name] = w
	}
	// A zero of 2 Pa is 0.0053 q; q wanders by 1 %; the shift is δ|∇Cpt|, at most about
	// 0.3 mm × 2ε/(σ√e)·… < 0.01.
	for c, limits := range map[Correction][2]float64{Zero: {0.004, 0.008}, Drift: {0.0003, 0.002}, Rows: {0.003, 0.01}, Displacement: {0.0005, 0.01}} {
		o := mustReduce(t, log, off(layout, c), Options{})
		i := slices.IndexFunc(o.Steps, func(s Step) bool { return s.Name == c })
		if !o.Steps[i].Off || o.Steps[i].Applied {
			t.Errorf("%s switched off: %+v", c, o.Steps[i])
		}
		if d := *r.jones() - *o.jones(); d != *worth[c].DragArea {
			t.Errorf("%s changes it by %g in the table and %g by a run", c, *worth[c].DragArea, d)
		}
		var ss float64
		for i, s := range o.Samples {
			ss += sq(s.Cpt - r.Samples[i].Cpt)
		}
		if rms := math.Sqrt(ss / float64(len(o.Samples))); !(limits[0] < rms && rms < limits[1]) {
			t.Errorf("%s changes Cpt by %.5f rms, %v expected", c, rms, limits)
		}
	}
}

// The stated uncertainty of a sample covers the truth as often as it says.
func TestSampleUncertainty(t *testing.T) {
	inside, all := 0, 0
	for seed := range uint64(6) {
		k := wakeRake(0.5)
		k.Seed, k.Step = seed, 0.01
		k.Zeros, k.Drifts, k.Noise = 2, 0.5, 0.004
		log, layout, _ := k.Log()
		for _, s := range mustReduce(t, log, append(layout, constantLaw...), Options{}).Samples {
			u := k.Field(s.Y, s.Z).U
			all++
			if math.Abs(s.Cpt-u*u) <= 2*s.SigmaCpt {
				inside++
			}
		}
	}
	if share := float64(inside) / float64(all); !(0.93 < share && share < 0.99) {
		t.Errorf("%.4f of %d samples lie within twice their standard uncertainty", share, all)
	}
}

// Each fault is found in the right tube and in no other; sound rakes have none.
func TestFaultyTubes(t *testing.T) {
	for seed := range uint64(5) {
		for _, c := range []struct {
			state string
			tube  int
			set   func(k *waketest.Rake)
		}{
			{"", 0, func(*waketest.Rake) {}},
			{"blocked", 4, func(k *waketest.Rake) { k.Blocked = 4 }},
			{"blocked", 9, func(k *waketest.Rake) { k.Blocked = 9 }},
			{"leaking", 7, func(k *waketest.Rake) { k.Leaking, k.Leak = 7, 0.1 }},
			{"lagging", 11, func(k *waketest.Rake) { k.Lagging, k.Lag = 11, 0.3 }},
		} {
			k := wakeRake(0.5)
			k.Step, k.Noise, k.Seed = 0.01, 0.003, seed
			c.set(&k)
			log, layout, _ := k.Log()
			r := mustReduce(t, log, layout, Options{})
			for i, tube := range r.Tubes {
				want := "good"
				if i+1 == c.tube {
					want = c.state
				}
				if tube.State != want {
					t.Errorf("seed %d, %s in tube %d: %s is %s (%s)", seed, c.state, c.tube, tube.Name, tube.State, tube.Why)
				}
			}
			warned := slices.ContainsFunc(r.Warnings, func(w wake.Warning) bool { return strings.HasPrefix(w.Code, "tube-") })
			if warned != (c.tube > 0) {
				t.Errorf("seed %d, %s: warned %v: %v", seed, c.state, warned, r.Warnings)
			}
			if c.tube > 0 && r.Tubes[c.tube-1].Treated != "filled" {
				t.Errorf("%s tube is %s", c.state, r.Tubes[c.tube-1].Treated)
			}
		}
	}
}

// A filled tube is as good as its stated uncertainty; with fill off it leaves a gap,
// and next to another bad tube it is not filled at all.
func TestFill(t *testing.T) {
	k := wakeRake(0.5)
	k.Step, k.Blocked = 0.01, 9
	log, layout, _ := k.Log()
	r := mustReduce(t, log, layout, Options{})
	n, inside := 0, 0
	for _, s := range r.Samples {
		if s.State == "filled" {
			n++
			u := k.Field(s.Y, s.Z).U
			if math.Abs(s.Cpt-u*u) <= 2*s.SigmaCpt {
				inside++
			}
		}
	}
	if n != 21 || inside < 19 || r.Counts.Filled != n {
		t.Errorf("%d of %d filled samples within their uncertainty, %d counted", inside, n, r.Counts.Filled)
	}
	o := mustReduce(t, log, off(layout, Fill), Options{})
	if len(r.Samples)-len(o.Samples) != 21 || o.Counts.Missing != 21 || o.Tubes[8].Treated != "left out" {
		t.Errorf("without fill %d samples of %d, %d missing, tube %s", len(o.Samples), len(r.Samples), o.Counts.Missing, o.Tubes[8].Treated)
	}
	beside := mustReduce(t, log, append([]byte("ignore = [\"T08\", \"T10\"]\n"), layout...), Options{})
	if got := beside.Tubes[8].Treated; got != "left out" {
		t.Errorf("between two ignored tubes a blocked one is %s", got)
	}
	if got := beside.Tubes[7].Treated; got != "filled" {
		t.Errorf("an ignored tube beside one bad tube is %s", got)
	}
}
