package force

import (
	"bytes"
	"compress/gzip"
	"errors"
	"math"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// FuzzRecord: whatever the bytes, finite drag areas, no more than lines, or an error of
// one line with a place in the text.
func FuzzRecord(f *testing.F) {
	seeds, err := waketest.Corpus("force", "force.csv", "*.csv")
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range seeds {
		f.Add(s, 0.0, 375.0)
	}
	f.Add([]byte("time,drag\n1,2\n2,inf\n3,nan\n"), 0.0, 375.0)
	f.Add([]byte("t [ms];drag area [cm2]\n1;2\n3;4 # five\n"), 1e-3, 1.0)
	f.Add([]byte("# Time\tCd\tCl\n1\t.3\t0\n2\t.31\t0\n"), 0.0, 375.0)
	f.Fuzz(func(t *testing.T, data []byte, start, q float64) {
		if math.IsNaN(start) || !(1e-6 <= q && q <= 1e12) {
			return
		}
		v, _, err := parseRecord(bytes.NewReader(data), "f.csv", start, q, max(q-100, 0))
		lines := bytes.Count(data, []byte("\n")) + 1
		if err != nil {
			var in *wake.InputError
			if !errors.As(err, &in) || strings.ContainsAny(err.Error(), "\n\r") || !(0 <= in.Line && in.Line <= lines) {
				t.Fatalf("%q of %q", err, data)
			}
			return
		}
		if len(v) > lines {
			t.Fatalf("%d values of %d lines", len(v), lines)
		}
		for i, x := range v {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("value %d is %g", i, x)
			}
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
		{"two", "time,drag,Cd\n1,200,0.2\n", 2.5, nil, "", "f:1: columns 2 and 3 are both the drag; name the columns as in: time [s],drag [N]"},
		{"of the front alone", "time,Cd(f)\n1,0.2\n", 2.5, nil, "", `f:1: the header "time, Cd(f)" names no time or no drag; name the columns as in: time [s],drag [N]`},
		{"damaged", packed("# Time\tCd\n1\t0.2\n2\t0.4\n")[:30], 2.5, nil, "", "f: the gzip data ends early; copy the file again, or export it again"},
		{"huge", "t,drag\n1,1e300\n", 2.5, nil, "", `f:2:2: "1e300" makes a drag area of 2.5e+297 m2; a size up to 1e+09 m2 is expected: check the column and its unit`},
	} {
		v, coefficient, err := parseRecord(strings.NewReader(c.text), "f", math.Inf(-1), 400, c.area)
		if c.err != "" {
			if err == nil || err.Error() != c.err {
				t.Errorf("%s:\n got %v\nwant %s", c.name, err, c.err)
			}
			continue
		}
		if err != nil || coefficient != c.coefficient || len(v) != len(c.want) {
			t.Errorf("%s: %v of %q, %v; want %v of %q", c.name, v, coefficient, err, c.want, c.coefficient)
			continue
		}
		for i, want := range c.want {
			if math.Abs(v[i]-want) > 1e-12 {
				t.Errorf("%s: value %d is %g, want %g", c.name, i, v[i], want)
			}
		}
	}
}
