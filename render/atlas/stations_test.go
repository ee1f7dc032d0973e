package atlas

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/render"
	"wakeledger/wake"
	"wakeledger/wake/study"
	"wakeledger/wake/waketest"
)

// TestStationsSheet: a sheet a variant and quantity on the study's scales, with a row
// a station; one station alone, or a variant at one station only, makes none.
func TestStationsSheet(t *testing.T) {
	o, fields := twoStations(t)
	opt := Options{Quantities: []string{"u/U", "k"}} // the planes have no k
	var want string
	var one int
	for _, f := range must(Study(t.Context(), o, fields, opt, nil)) {
		if f.Name == "01_change_u-over-u" {
			want = note(t, f.PNG, "Scale")
			one = must(png.DecodeConfig(bytes.NewReader(f.PNG))).Height
		}
	}
	// along are the sheets of no station.
	along := func(o *study.Outcome, fields []study.Fields) (files []File) {
		for _, f := range must(Study(t.Context(), o, fields, opt, nil)) {
			if f.Station == "" {
				files = append(files, f)
			}
		}
		return files
	}
	files := along(o, fields)
	if len(files) != 1 || files[0].Name != "stations_b_u-over-u" {
		t.Fatalf("%d sheets: %v", len(files), files)
	}
	if got := note(t, files[0].PNG, "Scale"); got != want || !strings.Contains(got, "changes -0.4 to 0.4") {
		t.Errorf("scale %q, the study's is %q", got, want)
	}
	// The panels are 2:1 and a third of the page wide: a second row adds more than a
	// sixth of its width.
	if c, err := png.DecodeConfig(bytes.NewReader(files[0].PNG)); err != nil || c.Width != 1600 || c.Height < one+1600/7 {
		t.Errorf("a sheet of %d × %d, %v; that of one station is %d high", c.Width, c.Height, err, one)
	}
	// Nine stations are two sheets, of four and of five rows.
	nine, all := *o, fields
	for len(nine.Stations) < 9 {
		nine.Stations, all = append(slices.Clone(nine.Stations), o.Stations[1]), append(slices.Clone(all), fields[1])
	}
	if files := along(&nine, all); len(files) != 2 || files[0].Name != "stations_b_u-over-u_1" || files[1].Name != "stations_b_u-over-u_2" {
		t.Errorf("nine stations make %d sheets", len(files))
	} else {
		var high [2]int
		for k := range high {
			high[k] = must(png.DecodeConfig(bytes.NewReader(files[k].PNG))).Height
		}
		if d := high[1] - high[0]; d < 1600/7 || d > 1600/3 {
			t.Errorf("sheets of four and of five rows are %d and %d high", high[0], high[1])
		}
	}
	short := *o
	short.Stations = o.Stations[:1]
	if files := along(&short, fields[:1]); len(files) != 0 {
		t.Errorf("one station makes %d sheets", len(files))
	}
	lacking := *o
	lacking.Stations = append([]study.StationOutcome(nil), o.Stations...)
	lacking.Stations[1].Variants = []string{"c"}
	if files := along(&lacking, fields); len(files) != 0 {
		t.Errorf("a variant at one station makes %d sheets", len(files))
	}
}

// TestTable: a sheet has the baseline once and every variant once, each with its change below it
// or, where it is the only one, beside it.
func TestTable(t *testing.T) {
	for variants := 1; variants < 9; variants++ {
		var sides, changes []*render.Panel
		for range variants + 1 {
			sides, changes = append(sides, &render.Panel{}), append(changes, &render.Panel{})
		}
		panels, columns := table(sides, changes)
		if len(panels)%columns != 0 || columns > 4 || panels[0] != sides[0] {
			t.Fatalf("%d variants: %d panels in %d columns", variants, len(panels), columns)
		}
		seen := 1
		for i, p := range panels[1:] {
			if k := slices.Index(sides, p); k > 0 {
				seen += 2
				if beside, below := panels[i+2] == changes[k], i+1+columns < len(panels) && panels[i+1+columns] == changes[k]; !below && !(variants == 1 && beside) {
					t.Errorf("%d variants: the change of %d is elsewhere", variants, k)
				}
			}
		}
		if empty := len(panels) - seen; seen != 2*variants+1 || variants > 1 && empty != strings.Count(fmt.Sprint(panels), "<nil>") {
			t.Errorf("%d variants: %d panels", variants, seen)
		}
	}
}

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
		{"asked beyond", Options{Window: map[string][2]float64{"y": {-9, 9}, "z": {1, 9}}}, [4]float64{-3, 3, 1, 3}, " · shown: y -3 to 3 m, z 1 to 3 m"},
		{"silhouette", Options{Silhouette: corner(1, 2)}, [4]float64{-0.5, 1.2, 0, 2.2}, " · shown: "},
		{"spare height", Options{Silhouette: corner(2.5, 2.9)}, [4]float64{-0.59, 2.79, 0, 3}, " · shown: "},
		{"beside", Options{Window: map[string][2]float64{"z": {3, 4}}}, [4]float64{}, ""},
	} {
		c.opt.Quantities = []string{"u/U"}
		opt, err := c.opt.For(t.Context(), o, fields)
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
