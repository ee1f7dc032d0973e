package atlas

import (
	"bytes"
	"encoding/binary"
	"image"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/waketest"
)

// note reads a text chunk of a PNG (PNG specification, 3rd edition, 11.3.3).
func note(t *testing.T, png []byte, key string) string {
	t.Helper()
	for b := png[8:]; len(b) >= 12; {
		n := int(binary.BigEndian.Uint32(b))
		kind, data := string(b[4:8]), b[8:8+n]
		if k, v, ok := bytes.Cut(data, []byte{0}); ok && (kind == "tEXt" || kind == "iTXt") && string(k) == key {
			return strings.TrimLeft(string(v), "\x00")
		}
		b = b[12+n:]
	}
	t.Fatalf("no note %q", key)
	return ""
}

// twoStations has a large change of u/U at the first station and a small one at
// the second.
func twoStations(t *testing.T) (*study.Outcome, []study.Fields) {
	t.Helper()
	o := &study.Outcome{Baseline: "a", Configurations: []study.ConfigurationOutcome{{Name: "a"}, {Name: "b"}}}
	var fields []study.Fields
	for i, change := range []float64{0.4, 0.02} {
		a := measured(t, waketest.Lattice(linear(0), -2, 2, 0, 2, 21, 11), grid.Nodes)
		b := measured(t, waketest.Lattice(linear(change), -2, 2, 0, 2, 21, 11), grid.Nodes)
		by := measure.Options{Reference: waketest.Reference()}
		c, pair, err := compare.Compare([]*compare.Survey{{Measurement: a, By: by}, {Measurement: b, By: by}}, compare.Options{Measure: by, Count: 0.001})
		if err != nil {
			t.Fatal(err)
		}
		o.Stations = append(o.Stations, study.StationOutcome{
			Name: []string{"one", "two"}[i], Normal: "x", Position: float64(i), Variants: []string{"b"}, Comparison: c,
			Surveys: []study.StationSurvey{{Configuration: "a", Result: a.Result}, {Configuration: "b", Result: b.Result}},
		})
		fields = append(fields, study.Fields{Single: []*measure.Measurement{a, b}, Compared: pair.Measurements})
	}
	return o, fields
}

// TestOneScaleForAStudy: every picture of a quantity has one scale, and the changes at each
// station one, since the change at one is twenty times that at the other; side by side they
// have one.
func TestOneScaleForAStudy(t *testing.T) {
	o, fields := twoStations(t)
	opt := Options{Quantities: []string{"u/U"}, Single: true}
	scalesOf := func(opt Options) map[string]string {
		out := map[string]string{}
		for _, f := range must(Study(t.Context(), o, fields, opt, nil)) {
			out[f.Name] = note(t, f.PNG, "Scale")
		}
		return out
	}
	got := scalesOf(opt)
	if len(got) != 7 {
		t.Fatalf("pictures %v, four maps and three sheets are expected", got)
	}
	plain, change, _ := strings.Cut(got["01_change_u-over-u"], "; changes ")
	for name, s := range got {
		want := plain
		switch {
		case strings.Contains(name, "02_change"):
			want = plain + "; changes -0.02 to 0.02"
		case strings.Contains(name, "change"), strings.Contains(name, "stations"):
			want = plain + "; changes " + change
		}
		if s != want {
			t.Errorf("%s: scale %q, %q is expected", name, s, want)
		}
	}
	// 0.4 at one station, 0.02 at the other: the common scale holds the larger.
	if change != "-0.4 to 0.4" {
		t.Errorf("changes of 0.4 and 0.02 are shown from %s", change)
	}
	opt.Limits, opt.ChangeLimits = map[string][2]float64{"u/U": {0, 2}}, map[string]float64{"u/U": 0.25}
	if got := scalesOf(opt)["02_change_u-over-u"]; got != "0 to 2; changes -0.25 to 0.25" {
		t.Errorf("with limits set, the scale is %q", got)
	}
}

// TestSingleMaps: a survey has a map of its own where no sheet shows it, since its
// station is not compared or a plane lacks the quantity, or where all are asked for.
func TestSingleMaps(t *testing.T) {
	o, fields := twoStations(t)
	samples := waketest.Lattice(linear(0.4), -2, 2, 0, 2, 21, 11)
	samples.Col[wake.P] = nil
	lacking := measured(t, samples, grid.Nodes)
	fields[0].Single[1], fields[0].Compared[1] = lacking, lacking
	alone := *o
	alone.Stations = slices.Clone(o.Stations)
	alone.Stations[1].Comparison, alone.Stations[1].Variants = nil, nil
	sheets := "01_a_cpt 01_change_u-over-u 02_change_cpt 02_change_u-over-u stations_b_u-over-u"
	for _, c := range []struct {
		what   string
		o      *study.Outcome
		single bool
		want   string
	}{
		{"compared", o, false, sheets},
		{"second station not compared", &alone, false, "01_a_cpt 01_change_u-over-u 02_a_cpt 02_a_u-over-u 02_b_cpt 02_b_u-over-u"},
		{"single", o, true, "01_a_cpt 01_a_u-over-u 01_b_u-over-u 01_change_u-over-u 02_a_cpt 02_a_u-over-u 02_b_cpt 02_b_u-over-u 02_change_cpt 02_change_u-over-u stations_b_u-over-u"},
	} {
		files := must(Study(t.Context(), c.o, fields, Options{Quantities: []string{"u/U", "Cpt"}, Single: c.single, Size: image.Pt(640, 400)}, nil))
		var got []string
		for _, f := range files {
			got = append(got, f.Name)
		}
		slices.Sort(got)
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.what, s, c.want)
		}
	}
}

// TestCheckRefuses what no scale can have, with the fact first.
func TestCheckRefuses(t *testing.T) {
	for _, tt := range []struct {
		o    Options
		want string
	}{
		{Options{Limits: map[string][2]float64{"vorticity": {-1, 3}}}, "limits -1 and 3 of streamwise vorticity ωL/U, L = 1 m: its colours are neutral at 0"},
		{Options{Limits: map[string][2]float64{"Cpt": {1, 0}}}, "colour scale from 1 to 0"},
	} {
		if err := tt.o.Check(); err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%+v: %v, %q is expected", tt.o, err, tt.want)
		}
	}
	if err := (Options{Limits: map[string][2]float64{"vorticity": {-3, 3}, "Cpt": {0, 1}}}).Check(); err != nil {
		t.Error(err)
	}
}
