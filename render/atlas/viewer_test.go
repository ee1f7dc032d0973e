package atlas

import (
	"context"
	"errors"
	"image"
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/waketest"
)

// linear is a field whose velocities are linear in y and z, so that every linear
// interpolation of it is exact.
func linear(k float64) waketest.Field {
	return func(y, z float64) waketest.State {
		return waketest.State{U: 0.9 + 0.02*y - 0.03*z + k, V: 0.1*y + 0.05*z, W: 0.2 - 0.04*y}
	}
}

// must gives a value whose error is none of a test's business.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func measured(t *testing.T, s *wake.Samples, support grid.Support) *measure.Measurement {
	t.Helper()
	return must(measure.Take(waketest.Plane(t, s, wake.PlaneOptions{Support: support, SupportBy: "flag"}), measure.Options{Reference: waketest.Reference()}))
}

func outcomeOf(ms ...*measure.Measurement) (*study.Outcome, []study.Fields) {
	o := &study.Outcome{Baseline: "a", Stations: []study.StationOutcome{{Name: "one", Normal: "x", Position: 1}}}
	for i, m := range ms {
		name := string(rune('a' + i))
		o.Configurations = append(o.Configurations, study.ConfigurationOutcome{Name: name})
		o.Stations[0].Surveys = append(o.Stations[0].Surveys, study.StationSurvey{Configuration: name, Result: m.Result})
	}
	return o, []study.Fields{{Single: ms, Compared: ms}}
}

// TestViewerTakesSamplesAsTheyAre: on lattices that share their lines nothing is
// interpolated, for nodes and for cells.
func TestViewerTakesSamplesAsTheyAre(t *testing.T) {
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		o, f := outcomeOf(measured(t, waketest.Lattice(linear(0), -2, 2, 0, 2, 21, 11), support), measured(t, waketest.Lattice(linear(0.1), -2, 2, 0, 2, 21, 11), support))
		v := must(Viewer(t.Context(), o, f, Options{Quantities: []string{"u/U", "Cpt"}}))
		st := v.Stations[0]
		if len(st.X) != 21 || len(st.Y) != 11 || st.Cells != (support == grid.Cells) || st.Resampled != "" {
			t.Fatalf("%s: %d × %d lines, cells %v, %q", support, len(st.X), len(st.Y), st.Cells, st.Resampled)
		}
		for c, k := range []float64{0, 0.1} {
			for i, got := range st.Configurations[c].Fields[0] {
				if want := linear(k)(st.X[i%21], st.Y[i/21]).U; float32(want) != got {
					t.Errorf("%s: sample %d is %g, want %g", support, i, got, want)
				}
			}
		}
		if q := v.Quantities[0]; len(q.Scale.Colors) != len(q.Scale.Levels)-1 || q.Change.Levels[0] != -q.Change.Levels[len(q.Change.Levels)-1] {
			t.Errorf("scales %v and %v", q.Scale.Levels, q.Change.Levels)
		}
		for i, w := range st.Configurations[0].Vectors.Dx {
			vec := st.Configurations[0].Vectors
			y, z := vec.X[i%len(vec.X)], vec.Y[i/len(vec.X)]
			if math.Abs(y) > 2 || z < 0 || z > 2 {
				continue // between the outermost cell centres and their borders the field is constant
			}
			s := linear(0)(y, z)
			if math.Abs(float64(w)-s.V) > 1e-6 || math.Abs(float64(vec.Dy[i])-s.W) > 1e-6 {
				t.Errorf("vector at %g, %g: %g, %g", y, z, w, vec.Dy[i])
			}
		}
	}
}

// TestViewerResamples: where the samples do not share lines, a linear field comes
// out the same on the even grid, and the page is told.
func TestViewerResamples(t *testing.T) {
	o, f := outcomeOf(measured(t, waketest.Lattice(linear(0), -2, 2, 0, 2, 21, 11), grid.Nodes), measured(t, waketest.Scatter(linear(0.1), -2, 2, 0, 2, 31, 17, 5), grid.Nodes))
	f[0].Compared = nil // on no common samples
	v := must(Viewer(t.Context(), o, f, Options{Quantities: []string{"u/U"}}))
	st := v.Stations[0]
	if st.Resampled == "" || len(st.X)*len(st.Y) > viewSamples {
		t.Errorf("%d × %d lines, %q", len(st.X), len(st.Y), st.Resampled)
	}
	for c, k := range []float64{0, 0.1} {
		n := 0
		for i, got := range st.Configurations[c].Fields[0] {
			if got != got {
				continue
			}
			n++
			if want := linear(k)(st.X[i%len(st.X)], st.Y[i/len(st.X)]).U; math.Abs(float64(got)-want) > 1e-6 {
				t.Fatalf("configuration %d, place %d: %g, want %g", c, i, got, want)
			}
		}
		if n < len(st.X)*len(st.Y)*9/10 {
			t.Errorf("%d of %d places have a value", n, len(st.X)*len(st.Y))
		}
	}
}

// TestSimplified: no point of the line lies further from what is kept than a tenth
// of the spacing, ends stay, and a circle of 400 points needs few.
func TestSimplified(t *testing.T) {
	var l isoline.Line
	for k := range 400 {
		s, c := math.Sincos(2 * math.Pi * float64(k) / 400)
		l.Points = append(l.Points, grid.Point{X: c, Y: s})
	}
	l.Closed = true
	const spacing = 0.05
	out := simplified([]isoline.Line{l, {Points: l.Points[:2]}}, spacing)
	if len(out) != 1 || len(out[0]) > 80 || out[0][0] != out[0][len(out[0])-1] {
		t.Fatalf("%d lines, the first of %d points", len(out), len(out[0]))
	}
	for _, p := range l.Points {
		best := math.Inf(1)
		for i := 1; i < len(out[0]); i++ {
			a, b := out[0][i-1], out[0][i]
			best = min(best, fromChord([2]float64{p.X, p.Y}, a, b))
		}
		if best > spacing/10*(1+1e-9) {
			t.Errorf("%v is %g off", p, best)
		}
	}
}

// When the context has ended, no picture is drawn and no step is told.
func TestStops(t *testing.T) {
	o, f := twoStations(t)
	m := f[0].Single[0]
	ctx, cancel := context.WithCancel(t.Context())
	opt := Options{Quantities: []string{"u/U"}, Size: image.Pt(480, 300)}
	pictures, err := Study(ctx, o, f, opt, cancel) // ended by the first station's step
	if !errors.Is(err, context.Canceled) || pictures != nil {
		t.Errorf("%d pictures, %v", len(pictures), err)
	}
	steps := 0
	if _, err := Study(ctx, o, f, opt, func() { steps++ }); !errors.Is(err, context.Canceled) || steps > 0 {
		t.Errorf("%d steps, %v", steps, err)
	}
	if _, err := Plane(ctx, m, "plane", opt); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	if _, err := Viewer(ctx, o, f, opt); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}
