package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/wake/average"
)

// TestStatesApart: snapshots that switch between two pressures are told as two states, and
// averaged by state: the integrals are those of the pressures, −p/q over an area of 6 m².
func TestStatesApart(t *testing.T) {
	const seed, count = 1, 240
	r := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	args := []string{"average", "--speed", "10", "--density", "2", "--pressure", "0", "--support", "nodes", "--json"}
	state := 0
	for k := range count {
		var b strings.Builder
		b.WriteString("x [m],y [m],z [m],u [m/s],p [Pa]\n")
		p := -10 - 10*float64(state) + r.NormFloat64()
		for i := range 12 {
			fmt.Fprintf(&b, "1,%d,%d,10,%.4f\n", i%4, i/4, p)
		}
		name := filepath.Join(dir, fmt.Sprintf("s%03d.csv", k))
		put(t, name, b.String())
		args = append(args, name)
		if r.Float64() < 0.1 {
			state = 1 - state
		}
	}
	for flag, want := range map[string]float64{"": 0, "1": 0.6, "2": 1.2} {
		call1 := args
		if flag != "" {
			call1 = append([]string{"average", "--state", flag}, args[1:]...)
		}
		code, out, stderr := call(call1...)
		got := decode[average.Result](t, out)
		if code != 0 || len(got.Series) != 1 {
			t.Fatal(code, stderr)
		}
		v := got.Series[0]
		told := strings.Contains(out, `"two-states"`)
		if flag == "" {
			if !told || v.States == nil || v.States.Switches < 10 || got.Snapshots != count {
				t.Errorf("the whole record: %+v", got)
			}
			continue
		}
		if told || v.States != nil || !(want-0.03 < v.Mean && v.Mean < want+0.03) || !(50 < got.Snapshots && got.Snapshots < 190) {
			t.Errorf("--state %s: %+v, %g m² is expected", flag, got, want)
		}
	}
	if code, _, stderr := call("average", "--state", "1", filepath.Join(dir, "s000.csv"), filepath.Join(dir, "s001.csv")); code != 2 || !strings.Contains(stderr, "--state 1 without a momentum integral, which tells the states") {
		t.Errorf("--state without a reference: %d %s", code, stderr)
	}
}
