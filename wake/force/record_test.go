package force

import (
	"bytes"
	"compress/gzip"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// FuzzRecord: whatever the bytes, finite drag areas, no more than lines, or an error of
// one line with a place in the text.
func FuzzRecord(f *testing.F) {
	for _, s := range waketest.Corpus(f, "force", "force.csv", "*.csv") {
		f.Add(s, 0.0, 375.0)
	}
	f.Add([]byte("time,drag\n1,2\n2,inf\n3,nan\n"), 0.0, 375.0)
	f.Add([]byte("t [ms];drag area [cm2]\n1;2\n3;4 # five\n"), 1e-3, 1.0)
	f.Add([]byte("# Time\tCd\tCl\n1\t.3\t0\n2\t.31\t0\n"), 0.0, 375.0)
	f.Add([]byte("\rno header"), 0.0, 375.0)
	f.Add([]byte("t,drag\n1,1e308\n2,1e308\n"), 0.0, 1e-6)
	f.Fuzz(func(t *testing.T, data []byte, start, q float64) {
		if math.IsNaN(start) || !(1e-6 <= q && q <= 1e12) {
			return
		}
		r, err := parse(write(t, "f.csv", string(data)), &Options{Dynamic: q, Area: max(q-100, 0)})
		lines := bytes.Count(data, []byte("\n")) + 1
		if err != nil {
			var in *wake.InputError
			if !errors.As(err, &in) || strings.ContainsAny(err.Error(), "\n\r") || !(0 <= in.Line && in.Line <= lines) {
				t.Fatalf("%q of %q", err, data)
			}
			return
		}
		if len(r.time) > lines || !slices.IsSorted(r.time) {
			t.Fatalf("%d values of %d lines, at %g", len(r.time), lines, r.time)
		}
		var m Mean
		if err := m.take(r, &Options{Start: &start, Dynamic: q}); err != nil {
			return
		}
		if v := m.TimeMean.Mean; math.IsNaN(v-v) || len(m.values) > lines {
			t.Fatalf("mean %g of %d values", v, len(m.values))
		}
	})
}

// TestRecordForms: the ways in which solvers and balances write a history, each against
// the drag areas it holds, or refused with what would fix it. q = 400 Pa, A = 2.5 m².
func TestRecordForms(t *testing.T) {
	packed := func(text string) string {
		var b bytes.Buffer
		w := gzip.NewWriter(&b)
		w.Write([]byte(text))
		w.Close()
		return b.String()
	}
	for _, c := range []struct {
		name, text  string
		area        float64
		want        []float64
		coefficient string
		err         string
	}{
		{"newtons without header", "1 200\n2 400\n", 2.5, []float64{0.5, 1}, "", ""},
		{"coefficient", "time,Cd\n1,0.2\n2,0.4\n", 2.5, []float64{0.5, 1}, "Cd", ""},
		{"comment header, tabs", "# run of the shuttle\n# Time        \tC_D        \tCl        \tCd(f)\n1\t0.2\t9\t9\n2\t0.4\t9\t9\n", 2.5, []float64{0.5, 1}, "C_D", ""},
		{"comment header, order", "# Cl cd [%] time [ms]\n9 20 1000\n9 40 2000\n", 2.5, []float64{0.5, 1}, "cd [%]", ""},
		{"header above other prose", "# Time, Drag coefficient\n#\n# as the solver wrote it\n1,0.2\n2,0.4\n", 2.5, []float64{0.5, 1}, "Drag coefficient", ""},
		{"packed", packed("# Time\tCd (-)\n1\t0.2\n2\t0.4\n"), 2.5, []float64{0.5, 1}, "Cd (-)", ""},
		{"UTF-16", "\xff\xfet\x00,\x00F\x00x\x00\n\x001\x00,\x002\x00\n\x00", 2.5, []float64{0.005}, "", ""},
		{"drag area", "# t [s]; CdA [m2]\n1;0,5\n2;1\n", 0, []float64{0.5, 1}, "", ""},
		{"an empty field is a field", "t,lift,drag\n1,,200\n2,,400\n", 0, []float64{0.5, 1}, "", ""},
		{"prose", "# two columns\n1 200\n2 400\n", 0, []float64{0.5, 1}, "", ""},
		{"no area", "# Time Cd\n1 0.2\n2 0.4\n", 0, nil, "", `f:1: column 2, "Cd", is a coefficient, and the area that it was formed with is not known; give frontal_area in [reference], or record drag [N] or drag_area [m2]`},
		{"unknown drag", "# Time Cs\n1 0.2\n2 0.4\n", 2.5, nil, "", `f:1: the header "Time, Cs" names no time or no drag; name the columns as in: time [s],drag [N]`},
		{"force before coefficient", "time,Cd,drag\n1,0.3,200\n2,0.3,400\n", 2.5, []float64{0.5, 1}, "", ""},
		{"remark of percent", "% t [s] drag [N]\n// no more\n1 200\n2 400\n", 2.5, []float64{0.5, 1}, "", ""},
		{"quoted", "\"time [s]\",\"C_D\"\n1,0.2\n2,0.4\n", 2.5, []float64{0.5, 1}, "C_D", ""},
		{"a sum", "t,body [N],cd,wheels [N],lift [N]\n1,120,9,80,7\n2,240,9,160,7\n", 0, nil, "", `f:1: column 3, "cd", is a coefficient, and the area that it was formed with is not known; give frontal_area in [reference], or record drag [N] or drag_area [m2]`},
		{"the sum of parts", "t;body [N];wheels [kN];lift [N]\n1;120;0.08;7\n2;240;0.16;7\n", 0, []float64{0.5, 1}, "", ""},
		{"coefficients of parts", "t cd_body cd_wheels cl_body\n1 0.12 0.08 7\n2 0.24 0.16 7\n", 2.5, []float64{0.5, 1}, "cd_body", ""},
		{"restart", "t,drag\n1,200\n2,400\n3,1\n4,1\n3,400\n4,400\n5,400\n", 2.5, []float64{0.5, 1, 1, 1, 1}, "", ""},
		{"out of order", "t,drag\n1,200\n2,400\n3,1\n1,1\n4,400\n5,400\n", 2.5, nil, "", "f:5:1: the time goes from 3 s to 1 s; put the record in order, each time once; a restart goes on at the same step"},
		{"two", "time,drag,force\n1,200,0.2\n", 2.5, nil, "", "f:1: columns 2 and 3 are both the drag; name the columns as in: time [s],drag [N]"},
		{"a total by its unit", "time,pressure [N],viscous [N],total [N]\n1,150,50,200\n2,300,100,400\n", 2.5, []float64{0.5, 1}, "", ""},
		{"a total of drags", "time,drag_pressure,drag_total\n1,150,200\n2,300,400\n", 2.5, []float64{0.5, 1}, "", ""},
		{"two totals", "time,drag [N],sum [N]\n1,200,200\n", 2.5, nil, "", "f:1: columns 2 and 3 are both the drag; name the columns as in: time [s],drag [N]"},
		{"a running mean", "time [s],drag [N],drag_mean [N]\n1,200,200\n2,400,300\n", 2.5, nil, "", `f:1: column 3, "drag_mean [N]", is by its name a mean over time: its scatter tells nothing of how well the mean is known; leave the column out, and record the drag of each step`},
		{"a mean alone", "time,AvgDrag [N]\n1,200\n", 2.5, nil, "", `f:1: column 2, "AvgDrag [N]", is by its name a mean over time: its scatter tells nothing of how well the mean is known; leave the column out, and record the drag of each step`},
		{"a mean of another kind", "time,drag,Cd_mean\n1,200,9\n2,400,9\n", 2.5, []float64{0.5, 1}, "", ""},
		{"of the front alone", "time,Cd(f)\n1,0.2\n", 2.5, nil, "", `f:1: the header "time, Cd(f)" names no time or no drag; name the columns as in: time [s],drag [N]`},
		{"damaged", packed("# Time\tCd\n1\t0.2\n2\t0.4\n")[:30], 2.5, nil, "", "f: the gzip data ends early; copy the file again, or export it again"},
		{"huge", "t,drag\n1,1e300\n", 2.5, nil, "", `f:2:2: "1e300" makes a drag area of 2.5e+297 m2; a size up to 1e+09 m2 is expected: check the column and its unit`},
	} {
		r, err := parse(write(t, "f", c.text), &Options{Dynamic: 400, Area: c.area})
		if c.err != "" {
			if err == nil || err.Error() != c.err {
				t.Errorf("%s:\n got %v\nwant %s", c.name, err, c.err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if bare := c.coefficient == "" && !strings.Contains(c.text, "["); bare != (r.assumed != nil) {
			t.Errorf("%s: units are assumed for %q", c.name, r.assumed)
		}
		v, _ := r.total()
		if r.coefficient != c.coefficient || len(v) != len(c.want) {
			t.Errorf("%s: %v of %q, %v; want %v of %q", c.name, v, r.coefficient, err, c.want, c.coefficient)
			continue
		}
		for i, want := range c.want {
			if math.Abs(v[i]-want) > 1e-12 {
				t.Errorf("%s: value %d is %g, want %g", c.name, i, v[i], want)
			}
		}
	}
}

// A drag for which the file gives no unit is told, as a plane's columns are.
func TestAssumedUnit(t *testing.T) {
	for text, want := range map[string]int{"time [s],drag [N]\n1,200\n2,400\n": 0, "time,drag\n1,200\n2,400\n": 1} {
		m, err := Read([]File{write(t, "f", text)}, Options{Dynamic: 400})
		if n := slices.IndexFunc(m.Warnings, func(w wake.Warning) bool { return w.Code == "unit-assumed" }) + 1; err != nil || n != want {
			t.Errorf("%q: %v, %v", text, m.Warnings, err)
		}
	}
}
