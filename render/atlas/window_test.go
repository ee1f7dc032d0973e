package atlas

import (
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// TestWindow: pictures open on a wake 0.6 m wide and high in the middle of a plane of
// 6 m by 3 m, with a margin of a tenth of its side, or on what was asked for, and say so.
// What is asked for beside the plane is refused.
func TestWindow(t *testing.T) {
	square := func(y, z float64) waketest.State {
		if math.Abs(y) < 0.3 && z < 0.6 {
			return waketest.State{U: 0.5}
		}
		return waketest.State{U: 1}
	}
	o, fields := outcomeOf(measured(t, waketest.Lattice(square, -3, 3, 0, 3, 121, 61), grid.Nodes))
	for _, c := range []struct {
		name string
		opt  Options
		want [4]float64
		said string
	}{
		{"default", Options{}, [4]float64{-0.36, 0.36, 0, 0.66}, " · shown: y -0."},
		{"whole", Options{WholeWindow: true}, [4]float64{-3, 3, 0, 3}, ""},
		{"asked", Options{Window: map[string][2]float64{"y": {-1, 2}, "x": {8, 9}}}, [4]float64{-1, 2, 0, 0.66}, " · shown: y -1 to 2 m, z 0 to 0.6"},
		{"asked beyond", Options{Window: map[string][2]float64{"y": {-9, 9}, "z": {1, 9}}}, [4]float64{-3, 3, 1, 3}, " · shown: y -3 to 3 m, z 1 to 3 m of -3 to 3 m, 0 to 3 m"},
		{"silhouette", Options{Silhouette: corner(1, 2)}, [4]float64{-0.5, 1.2, 0, 2.2}, " · shown: "},
		{"spare height", Options{Silhouette: corner(2.5, 2.9)}, [4]float64{-0.59, 2.79, 0, 3}, " · shown: "},
		{"beside", Options{Window: map[string][2]float64{"z": {3, 4}}}, [4]float64{}, ""},
	} {
		c.opt.Quantities = []string{"u/U"}
		opt, err := c.opt.For(t.Context(), fields)
		if c.name == "beside" {
			if err == nil || !strings.Contains(err.Error(), "z from 3 to 4 m, is beside the planes, which reach from 0 to 3 m") {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		b := opt.shared.windows[wake.AxisX]
		for k, got := range []float64{b.Min.X, b.Max.X, b.Min.Y, b.Max.Y} {
			if math.Abs(got-c.want[k]) > 0.06 {
				t.Errorf("%s: shown is %v, want %v", c.name, b, c.want)
			}
		}
		files, err := Study(t.Context(), o, fields, opt, nil)
		if err != nil || len(files) != 1 {
			t.Fatalf("%s: %d pictures, %v", c.name, len(files), err)
		}
		alone, err := Plane(t.Context(), fields[0].Single[0], "one", c.opt)
		if err != nil || len(alone) != 1 {
			t.Fatalf("%s: %d pictures of the plane alone, %v", c.name, len(alone), err)
		}
		if got, want := note(t, alone[0].PNG, "Method"), note(t, files[0].PNG, "Method"); got != want {
			t.Errorf("%s: the plane alone says %q, the study %q", c.name, got, want)
		}
		if got := note(t, files[0].PNG, "Method"); !strings.Contains(got, c.said) || c.said == "" && strings.Contains(got, "shown:") {
			t.Errorf("%s: the footer says %q, want %q", c.name, got, c.said)
		}
	}
}

// corner is a silhouette that reaches from the wake to y and z.
func corner(y, z float64) []isoline.Line {
	return []isoline.Line{{Points: []grid.Point{{X: 0, Y: 0}, {X: y, Y: 0}, {X: y, Y: z}}}}
}
