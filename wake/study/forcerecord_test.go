package study

import (
	"bytes"
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
	f.Fuzz(func(t *testing.T, data []byte, start, q float64) {
		if math.IsNaN(start) || !(1e-6 <= q && q <= 1e12) {
			return
		}
		v, err := parseRecord(bytes.NewReader(data), "f.csv", start, q)
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
