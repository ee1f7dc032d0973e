package atlas

import (
	"bytes"
	"fmt"
	"image/png"
	"slices"
	"strings"
	"testing"

	"wakeledger/render"
	"wakeledger/wake/study"
)

// TestStationsSheet: a sheet a variant and quantity on the study's scales, with a row
// a station; one station alone, or a variant at one station only, makes none.
func TestStationsSheet(t *testing.T) {
	o, fields := twoStations(t)
	opt := Options{Quantities: []string{"u/U", "k"}} // the planes have no k
	single, err := Study(t.Context(), o, fields, opt, nil)
	if err != nil {
		t.Fatal(err)
	}
	var want string
	var one int
	for _, f := range single {
		if f.Name == "01_change_u-over-u" {
			want = note(t, f.PNG, "Scale")
			c, err := png.DecodeConfig(bytes.NewReader(f.PNG))
			if err != nil {
				t.Fatal(err)
			}
			one = c.Height
		}
	}
	// along are the sheets of no station.
	along := func(o *study.Outcome, fields []study.Fields) (files []File) {
		made, err := Study(t.Context(), o, fields, opt, nil)
		if err != nil {
			t.Error(err)
		}
		for _, f := range made {
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
			c, err := png.DecodeConfig(bytes.NewReader(files[k].PNG))
			if err != nil {
				t.Fatal(err)
			}
			high[k] = c.Height
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
