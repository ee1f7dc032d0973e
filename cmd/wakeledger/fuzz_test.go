package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/wake/waketest"
)

// told checks what a run says: done with JSON that parses, which NaN and Inf do not, or
// failed with lines of the program and nothing on standard output.
func told(t *testing.T, code int, stdout, stderr string) {
	t.Helper()
	switch code {
	case exitDone:
		if !json.Valid([]byte(stdout)) {
			t.Fatalf("no JSON: %q", stdout)
		}
	case exitFailed, exitUsage:
		if stdout != "" || !strings.HasPrefix(stderr, "wakeledger: ") {
			t.Fatalf("exit code %d with %q and %q", code, stdout, stderr)
		}
		if strings.Contains(stderr, "must not reach a report") {
			t.Fatalf("a value was stopped at the last door only: %s", stderr)
		}
	default:
		t.Fatalf("exit code %d", code)
	}
}

// FuzzMeasure: whatever the bytes of a file, reading, recognising the plane and
// measuring it end with a result of finite numbers or with a refusal.
func FuzzMeasure(f *testing.F) {
	for _, kind := range []string{"text", "numpy", "vtk"} {
		for _, s := range waketest.Corpus(f, kind, "plane.*", "variant.csv", "*.csv", "*.np[yz]", "*.vt[kp]") {
			f.Add(s)
		}
	}
	// Speeds whose squares no number holds.
	huge := []byte("x,y,z,u,v,w,p\n")
	for k := range 144 {
		huge = fmt.Appendf(huge, "1,%d,%d,%de200,0,0,%d\n", k%12, k/12, 9+k%2, k%3)
	}
	f.Add(huge)
	f.Fuzz(func(t *testing.T, data []byte) {
		name := filepath.Join(t.TempDir(), "plane")
		put(t, name, string(data))
		code, stdout, stderr := call("measure", name, "--speed", "25", "--density", "1.2", "--pressure", "0", "--area", "2.5", "--section", "10x7", "--region", "a:0,1,0,1", "--json")
		told(t, code, stdout, stderr)
	})
}

// FuzzFlags: whatever the flags hold, a result of finite numbers or a refusal.
func FuzzFlags(f *testing.F) {
	f.Add("25", "1.2", "0", "2.5", "10x7", "a:0,1,0,1", "p=p [Pa]", "0.1,0.5", "1 %", "x aft, y right, z up", uint8(0))
	f.Add("90 km/h", "1.2 kg/m3", "101325 Pa", "25500 cm2", "", "", "u=4 [m/s]", "", "", "x forward, y left, z up", uint8(1))
	f.Add("NaN", "-1", "Inf", "1e-300", "0x0", "a:1,0,NaN,1", "x== Inf m", "NaN", "-1 %", "x aft", uint8(2))
	plane, err := filepath.Abs(filepath.Join("..", "..", "testdata", "sound", "plane.csv"))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, speed, density, pressure, area, section, region, column, threshold, u, frame string, which uint8) {
		args := []string{"measure", plane, "--json"}
		for flag, v := range map[string]string{"--speed": speed, "--density": density, "--pressure": pressure} {
			args = append(args, flag+"="+v)
		}
		band := []string{"--u-speed", "--u-density", "--u-pressure", "--u-total-pressure", "--u-position", "--solution-band", "--total-pressure", "--gap", "--effective-samples"}[which%9]
		for flag, v := range map[string]string{"--area": area, "--section": section, "--region": region, "--column": column, "--threshold": threshold, "--frame": frame, band: u} {
			if v != "" {
				args = append(args, flag+"="+v)
			}
		}
		code, stdout, stderr := call(args...)
		told(t, code, stdout, stderr)
	})
}
