package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestBrowserDoubts: in the view of the change a place has no colour where the change
// of u/U is within the expanded uncertainty of the two time averages, and has one
// beyond it. The planes are made here: the change is 0.15 y and <u'u'> = 0.04 U² with
// 20 effective samples, so the uncertainty is 2·√(2·0.04/20) = 0.1265 and ends at
// |y| = 0.843 m.
func TestBrowserDoubts(t *testing.T) {
	t.Parallel()
	p := newBrowserPage(t)
	for _, c := range []struct {
		name  string
		slope float64
	}{{"bare", 0}, {"fairing", 0.15}} {
		var b strings.Builder
		b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa],uu [m2/s2]\n")
		for j := range 21 {
			for i := range 41 {
				y, z := -2+0.1*float64(i), 0.1*float64(j)
				fmt.Fprintf(&b, "1,%.3f,%.3f,%.6f,0,0,0,25\n", y, z, 25*(0.6+c.slope*y+0.05*z))
			}
		}
		if err := os.WriteFile(filepath.Join(p.dir, c.name+".csv"), []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	const study = `baseline = "bare"
[reference]
speed = 25
density = 1.2
pressure = 0
[[station]]
name = "one"
position = 1
[[configuration]]
name = "bare"
surveys = ["bare.csv"]
[[configuration]]
name = "fairing"
surveys = ["fairing.csv"]
[uncertainty]
effective_samples = 20
[maps]
quantities = ["u/U"]
size = "640x480"
`
	if err := os.WriteFile(filepath.Join(p.dir, "study.toml"), []byte(study), 0o644); err != nil {
		t.Fatal(err)
	}
	p.open("study.toml")
	p.choose("view", "change")
	pale := ask[[]float64](p, `(() => { const c = JSON.parse(document.getElementById("viewer-data").textContent).quantities[0].change, n = c.colors.length >> 1, h = parseInt(c.colors[n].slice(1), 16);
		return [h >> 16, h >> 8 & 255, h & 255, c.levels[n + 1]]; })()`)
	if max(pale[0], pale[1], pale[2])-min(pale[0], pale[1], pale[2]) > 6 || pale[0] < 230 {
		t.Errorf("no change has the colour %v, a pale grey is expected", pale[:3])
	}
	if !(pale[3] < 0.1) {
		t.Fatalf("the pale band reaches to %g, so that this test sees nothing", pale[3])
	}
	// The window is 4 m wide. Between two samples the change runs on while the doubt is
	// that of the nearest one, which here is the same everywhere.
	end := 2 * math.Sqrt(2*0.04/20) / 0.15
	for _, y := range []float64{-1.9, -1.2, end + 0.05, 0.7, -end + 0.05, 0.1, -0.75, -end - 0.05, 1.6} {
		rgb := ask[[]float64](p, fmt.Sprintf(`(() => { const c = document.getElementById("map"); return [...c.getContext("2d").getImageData(Math.floor(%g * c.width), c.height >> 1, 1, 1).data]; })()`, (y+2)/4))
		neutral := rgb[0] == pale[0] && rgb[1] == pale[1] && rgb[2] == pale[2]
		if want := math.Abs(y) < end; neutral != want {
			t.Errorf("at y = %.3f m the change is %.4f and the colour %v: neutral is %v, want %v", y, 0.15*y, rgb[:3], neutral, want)
		}
	}
	if got := p.text("side"); !strings.Contains(got, "within their local ±") {
		t.Errorf("the caption does not tell of the doubt: %q", got)
	}
	// The veil has its dots where the change is within the doubt, and nowhere else.
	plain := p.kept()
	p.click("#veil")
	if out, in := p.altered(-1.9, -end-0.1, 0, 2), p.altered(-end+0.1, end-0.1, 0, 2); plain == 0 || out != 0 || in < 0.3 {
		t.Errorf("the veil alters %.2f of what is resolved and %.2f of what is not: %q", out, in, p.text("side"))
	}
	p.click("#veil")
	// The profile of the change has the same uncertainty as its bars and in its table.
	p.choose("cut", "0")
	text := ask[string](p, `new Promise((done) => { URL.createObjectURL = (b) => { b.text().then(done); return "#"; }; HTMLAnchorElement.prototype.click = () => {}; document.getElementById("csv").click(); })`)
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) != 42 || rows[0][4] != "± of fairing" {
		t.Fatalf("%q: %v", text, err)
	}
	for _, r := range rows[1:] {
		var v [5]float64
		for k := range v {
			if v[k], err = strconv.ParseFloat(r[k], 64); err != nil {
				t.Fatal(err)
			}
		}
		if math.Abs(v[2]) > 1e-9 || math.Abs(v[3]-0.15*v[0]) > 3e-4 || math.Abs(v[4]-2*math.Sqrt(2*0.04/20)) > 3e-4 {
			t.Errorf("the profile has %v at y = %g m", v[2:], v[0])
		}
	}
	if d := ask[string](p, `document.querySelector("#profile .doubt").getAttribute("d")`); strings.Count(d, "M") != 41 {
		t.Errorf("%d bars of 41", strings.Count(d, "M"))
	}
	p.clean()
}
