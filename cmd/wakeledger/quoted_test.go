package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestNoDragQuoted takes absolute pressures at --pressure 0, and tubes in a jet, through
// every command: each ends well, quotes no drag, and says what would mend it.
func TestNoDragQuoted(t *testing.T) {
	t.Chdir(t.TempDir())
	write := func(name, head string, row func(g float64) string) {
		var b strings.Builder
		b.WriteString(head + "\n")
		for j := range 25 {
			for i := range 25 {
				y, z := -1.2+0.1*float64(i), 0.1*float64(j)
				fmt.Fprintf(&b, "2.5,%.3f,%.3f,%s\n", y, z, row(math.Exp(-(y*y+(z-1)*(z-1))/0.08)))
			}
		}
		put(t, name, b.String())
	}
	for k, eps := range []float64{0.3, 0.2} {
		write(fmt.Sprintf("absolute%d.csv", k), "x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]", func(g float64) string {
			return fmt.Sprintf("%.4f,0,0,101325", 25*(1-eps*g))
		})
		write(fmt.Sprintf("tubes%d.csv", k), "x [m],y [m],z [m],pt [Pa]", func(g float64) string {
			return fmt.Sprintf("%.4f", 375*math.Pow(1+eps*g, 2))
		})
	}
	flags := []string{"--speed", "25", "--density", "1.2", "--pressure", "0", "--area", "2.55", "--full"}
	for kind, fix := range map[string]string{"absolute": "101325 Pa", "tubes": "negative-drag"} {
		a, b := kind+"0.csv", kind+"1.csv"
		code, out, stderr := call(append([]string{"measure", a}, flags...)...)
		if code != 0 || !strings.Contains(out, "No total drag is quoted") || strings.Contains(out, "Drag area ") || !strings.Contains(out+stderr, fix) {
			t.Errorf("measure %s: %d, %s%s", a, code, out, stderr)
		}
		code, out, stderr = call(append([]string{"measure", a, "--json", "--out", kind}, flags...)...)
		if code != 0 || !strings.Contains(out, `"headline": ""`) {
			t.Errorf("measure --json %s: %d, %s%s", a, code, out, stderr)
		}
		for _, extra := range [][]string{nil, {"--json"}} {
			code, out, stderr = call(append(append([]string{"compare", a, b}, flags...), extra...)...)
			if code != 0 || strings.Contains(out, `"delta": {`) || strings.Contains(out, "resolved: drag") {
				t.Errorf("compare %s %s: %d, %s%s", a, extra, code, out, stderr)
			}
		}
		study := fmt.Sprintf("baseline = \"a\"\n[reference]\nspeed = 25\ndensity = 1.2\npressure = 0\nfrontal_area = 2.55\n[[configuration]]\nname = \"a\"\nsurveys = [\"%s\"]\n[[configuration]]\nname = \"b\"\nsurveys = [\"%s\"]\n", a, b)
		put(t, kind+".toml", study)
		if code, out, stderr = call("study", kind+".toml", "--out", kind+"-study"); code != 0 {
			t.Errorf("study %s: %d, %s%s", kind, code, out, stderr)
		}
		ledger, err := os.ReadFile(filepath.Join(kind+"-study", "ledger.json"))
		if err != nil || strings.Contains(string(ledger), `"headline": "momentum"`) || strings.Contains(string(ledger), `"headline": "jones"`) {
			t.Errorf("study %s: %v", kind, err)
		}
	}
}
