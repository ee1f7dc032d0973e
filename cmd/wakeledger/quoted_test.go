package main

import (
	"fmt"
	"math"
	"regexp"
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
	for kind, fix := range map[string]string{"absolute": "101325 Pa", "tubes": "negative-drag"} {
		put(t, kind+".toml", fmt.Sprintf("baseline = \"a\"\n[reference]\nspeed = 25\ndensity = 1.2\npressure = 0\nfrontal_area = 2.55\n[[configuration]]\nname = \"a\"\nsurveys = [\"%[1]s0.csv\"]\n[[configuration]]\nname = \"b\"\nsurveys = [\"%[1]s1.csv\"]\n", kind))
		for _, c := range []struct{ args, want, never string }{
			{"measure K0.csv @ --area 2.55 --full", "No total drag is quoted", "Drag area "},
			{"measure K0.csv @ --area 2.55 --full", fix, "Drag area "},
			{"measure K0.csv @ --area 2.55 --json --out K", `"headline": ""`, `"headline": "[a-z]`},
			{"compare K0.csv K1.csv @ --area 2.55 --full", "", "resolved: drag"},
			{"compare K0.csv K1.csv @ --area 2.55 --json", "", `"delta": \{`},
			{"study K.toml --out K-study --json", "", `"headline": "(momentum|jones)"`},
		} {
			code, out, stderr := call(words(strings.ReplaceAll(c.args, "K", kind))...)
			if code != exitDone || !strings.Contains(out+stderr, c.want) || regexp.MustCompile(c.never).MatchString(out) {
				t.Errorf("%s %s: %d, %s%s", kind, c.args, code, out, stderr)
			}
		}
	}
}
