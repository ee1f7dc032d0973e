package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// signs are how the speed of a record goes, up (+) or down (-), as often the one as the other and
// without an order.
const signs = "+--+-++-+--++-+--++-+-+--+++--+-++---+-+"

// TestBrowserDoubts: in the view of the change a place has no colour where the change
// of u/U is within the expanded uncertainty of the two time averages, and has one
// beyond it. The snapshots are made here: the change is 0.15 y, and u goes up and down by 0.25 U
// all over the plane, so that the uncertainty is about 2·√2·0.25/√40 = 0.11.
func TestBrowserDoubts(t *testing.T) {
	needBrowser(t)
	t.Parallel()
	dir := t.TempDir()
	for _, c := range []struct {
		name  string
		slope float64
	}{{"bare", 0}, {"fairing", 0.15}} {
		for k, sign := range signs {
			var b strings.Builder
			b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
			for j := range 21 {
				for i := range 41 {
					y, z := -2+0.1*float64(i), 0.1*float64(j)
					fmt.Fprintf(&b, "1,%.3f,%.3f,%.6f,0,0,0\n", y, z, 25*(0.6+c.slope*y+0.05*z+map[rune]float64{'+': 0.25, '-': -0.25}[sign]))
				}
			}
			put(t, filepath.Join(dir, fmt.Sprintf("%s_%02d.csv", c.name, k)), b.String())
		}
	}
	// A third configuration with a name that hurts has a plane where the others have none.
	lone := read(t, filepath.Join(dir, "fairing_00.csv"))
	put(t, filepath.Join(dir, "lone.csv"), strings.ReplaceAll(lone, "\n1,", "\n2,"))
	study := `title = '"two" </title><b id="broken">'
baseline = "bare"
[reference]
speed = 25
density = 1.2
pressure = 0
[[station]]
name = "one"
position = 1
[[station]]
name = '` + evilRegion + `'
position = 2
[[configuration]]
name = "bare"
snapshots = "bare_*.csv"
[[configuration]]
name = "` + evilName + `"
snapshots = "fairing_*.csv"
[[configuration]]
name = '` + lonely + `'
surveys = ["lone.csv"]
[maps]
quantities = ["u/U"]
size = "640x480"
silhouette = "side.csv"
`
	put(t, filepath.Join(dir, "side.csv"), "y [mm],z [mm]\n-660,230\n660,230\n660,1900\n-660,1900\n-660,230\n")
	page := func(name, text string) string {
		put(t, filepath.Join(dir, name+".toml"), text)
		out := filepath.Join(dir, name)
		done(t, "study", filepath.Join(dir, name+".toml"), "--out", out, "--quiet", "--summary")
		return out
	}
	p := openPage(t, page("study", study))
	for range 2 {
		p.click("#silhouette")
		if n := ask[int](p, `document.querySelectorAll("#over .silhouette").length`); (n == 1) != p.checked("silhouette") {
			t.Errorf("%d silhouettes", n)
		}
	}
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
	p.choose("cut", "0")
	rows := p.profile()
	if len(rows) != 42 || rows[0][5] != "± of "+evilName {
		t.Fatalf("%q", rows)
	}
	p.choose("cut", "")
	u := number(rows[1][5])
	if want := 2 * math.Sqrt2 * 0.25 / math.Sqrt(float64(len(signs))); !(0.7 < u/want && u/want < 1.4) {
		t.Errorf("the change is within ± %g, about %g is expected", u, want)
	}
	end := u / 0.15
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
	for _, r := range rows[1:] {
		var v [6]float64
		for k := range v {
			v[k] = number(r[k])
		}
		if !(math.Abs(v[2]) <= 1e-9 && math.Abs(v[3]-0.15*v[0]) <= 3e-4 && math.Abs(v[5]-u) <= 3e-4) {
			t.Errorf("the profile has %v at y = %g m", v[2:], v[0])
		}
	}
	if d := ask[string](p, `document.querySelector("#profile .doubt").getAttribute("d")`); strings.Count(d, "M") != 41 {
		t.Errorf("%d bars of 41", strings.Count(d, "M"))
	}
	// Sweeping by the slider, to the station that one configuration has alone: no view of it
	// fails, and none widens the page.
	r := p.rect("#station")
	p.drag(r[0]+6, r[1]+r[3]/2, r[0]+r[2]-6, r[1]+r[3]/2)
	if got := p.text("station-name"); !strings.HasPrefix(got, evilRegion) {
		t.Errorf("a drag of the slider leads to %q", got)
	}
	p.choose("shown", "2")
	for _, view := range []string{"wipe", "all", "change", "one"} {
		p.choose("view", view)
		p.narrow(view)
	}
	if got := p.text("caption"); !strings.Contains(got, lonely) {
		t.Errorf("the caption is %q", got)
	}
	// What a file calls a configuration is text wherever it stands.
	if n := ask[int](p, `[...document.querySelectorAll("h3, td, label, option")].filter((e) => e.textContent.includes("<img src=x onerror=alert(1)>")).length`); n < 4 {
		t.Errorf("the name is shown %d times", n)
	}
	p.clean()
	// A study of one configuration has nothing to flick to, and shows what it has.
	one := strings.NewReplacer("[[station]]\nname = '"+evilRegion+"'\nposition = 2\n", "[[region]]\nname = '"+evilRegion+"'\nbox = { y = [-1, 1], z = [0, 1] }\n",
		"[[configuration]]\nname = \""+evilName+"\"\nsnapshots = \"fairing_*.csv\"\n", "", "[[configuration]]\nname = '"+lonely+"'\nsurveys = [\"lone.csv\"]\n", "").Replace(study)
	p = openPage(t, page("one", one))
	if got := p.text("over"); !strings.Contains(got, evilRegion) {
		t.Errorf("the map does not show the region's name as it is: %q", got)
	}
	for _, view := range []string{"wipe", "all", "change", "one"} {
		p.choose("view", view)
		p.narrow(view)
	}
	if got := p.text("side"); !ask[bool](p, `document.getElementById("flick").disabled && document.getElementById("veil").disabled`) || strings.Contains(got, "that of bare") {
		t.Errorf("one configuration can be flicked or veiled, or is set against itself: %q", got)
	}
	p.clean()
}

// evilName is a configuration's name that would run a script if it were taken for
// markup, and evilRegion would end the page's data.
const (
	evilName   = `<img src=x onerror=alert(1)>`
	evilRegion = `</script><b id="broken">left`
)

// lonely is a name that is too long for where it stands, in letters that file formats like.
var lonely = strings.Repeat("[{&quot;}] \"=SUM(A1)\" – ", 8) + "end"

// narrow wants no view to be wider than a phone's screen, and no name taken for markup.
func (p *browserPage) narrow(view string) {
	p.t.Helper()
	p.viewport(390, 844)
	if got := ask[[]int](p, `[document.documentElement.scrollWidth, document.querySelectorAll('img[src="x"], [onerror], #broken').length]`); got[0] > 390 || got[1] != 0 {
		p.t.Errorf("view %s: the page is %d wide on a screen of 390, with %d elements made of names", view, got[0], got[1])
	}
	p.viewport(1280, 860)
}
