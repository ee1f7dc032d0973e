package main

import (
	"encoding/csv"
	"io"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/klauspost/compress/zstd"

	"wakeledger/examples/shuttle"
)

// TestBrowser opens the demo's page as a colleague would and works its map.
func TestBrowser(t *testing.T) {
	p := openDemo(t)
	if got := p.text("station-name"); !strings.HasPrefix(got, "near wake") {
		t.Errorf("the page opens on %q, not on the station that is quoted", got)
	}
	p.js(`(() => { const s = document.getElementById("station"); s.value = 0; s.dispatchEvent(new Event("input")); })()`)
	p.run("flick", p.flick)
	p.run("wipe", p.wipe)
	p.run("stations", p.stations)
	p.run("values", p.values)
	p.run("zoom", p.zoom)
	p.run("views", p.views)
	p.run("cuts", p.cuts)
	p.run("marks", p.marks)
	p.run("links", p.links)
	p.clean()
}

// openDemo opens the page of the one run of the demo.
func openDemo(t *testing.T) *browserPage {
	t.Helper()
	needBrowser(t)
	go demo() // beside the tests that follow
	t.Parallel()
	if _, err := demo(); err != nil {
		t.Fatal(err)
	}
	return openPage(t, filepath.Join(shared, "wakeledger-demo", "ledger"))
}

func (p *browserPage) run(name string, f func(*testing.T)) {
	t := p.t
	t.Run(name, func(t *testing.T) { p.t = t; f(t) })
	p.t = t
}

func (p *browserPage) flick(t *testing.T) {
	before, said := p.picture(0, 1), p.text("caption")
	if !strings.Contains(said, "fairing") {
		t.Errorf("caption %q, the first variant is expected", said)
	}
	p.click("#flick")
	p.wait("flick by the button", `/· bare:/.test(document.getElementById("caption").textContent)`)
	base := p.picture(0, 1)
	if base == before {
		t.Error("flicking leaves the picture as it was")
	}
	p.click("#flick")
	p.wait("flick back", `/· fairing:/.test(document.getElementById("caption").textContent)`)
	if p.picture(0, 1) != before || p.text("caption") != said {
		t.Errorf("flicking back does not bring back picture and caption: %q", p.text("caption"))
	}
	// A long press comes back when it is let go.
	p.press("#flick", time.Second)
	if p.picture(0, 1) != before {
		t.Error("a long press of the button does not come back")
	}
	// By a key that is held.
	p.keys("#stage", "")
	key := func(typ input.DispatchKeyEventType) {
		tell(p, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: typ, Key: "f", Code: "KeyF", WindowsVirtualKeyCode: 70})
	}
	key(input.DispatchKeyEventTypeKeyDown)
	if p.picture(0, 1) != base {
		t.Error("F held does not show the baseline")
	}
	key(input.DispatchKeyEventTypeKeyUp)
	if p.picture(0, 1) != before {
		t.Error("F let go does not bring the variant back")
	}
	// By the button with the keyboard.
	p.keys("#flick", kb.Enter)
	if p.picture(0, 1) != base {
		t.Error("Enter on the button does not flick")
	}
	p.keys("#flick", kb.Enter)
	// A change is not either of the two.
	p.choose("view", "change")
	if d := p.picture(0, 1); d == base || d == before || !strings.Contains(p.text("caption"), "fairing minus bare") {
		t.Errorf("view of the change: %q", p.text("caption"))
	}
	p.choose("view", "one")
}

func (p *browserPage) wipe(t *testing.T) {
	right := p.picture(0.7, 1) // the variant
	left := p.picture(0, 0.3)
	p.choose("view", "wipe")
	if p.picture(0.7, 1) != right || p.picture(0, 0.3) == left {
		t.Error("a wipe does not show the baseline on the left and the variant on the right")
	}
	x0, y0 := p.spot(0.5, 0.5)
	x1, _ := p.spot(0.05, 0.5)
	p.drag(x0, y0, x1, y0)
	at := ask[float64](p, `Number(document.getElementById("wipe").value)`)
	if math.Abs(at-50) > 11 { // the slider goes in steps of 10
		t.Errorf("dragged to a twentieth of the width, the wipe stands at %g thousandths", at)
	}
	dragged := p.picture(0, 0.3)
	p.keys("#wipe", strings.Repeat(kb.ArrowRight, 5))
	if now := ask[float64](p, `Number(document.getElementById("wipe").value)`); math.Abs(now-at-50) > 1 || p.picture(0, 0.3) == dragged {
		t.Errorf("5 presses of the right arrow move the wipe from %g to %g", at, now)
	}
	p.choose("view", "one")
	if p.picture(0.7, 1) != right || p.picture(0, 0.3) != left {
		t.Error("the picture is another one after a wipe")
	}
}

func (p *browserPage) stations(t *testing.T) {
	first := p.picture(0, 1)
	p.click("#station")
	if got := p.text("station-name"); got != "near wake, x = 2.91 m" || p.picture(0, 1) == first {
		t.Errorf("a click on the middle of the slider leads to %q", got)
	}
	p.keys("#station", kb.ArrowRight+kb.ArrowLeft+kb.ArrowLeft)
	if got := p.text("station-name"); !strings.HasPrefix(got, "ahead of the rear wheels") {
		t.Errorf("an arrow to the right and two to the left on the slider lead to %q", got)
	}
	p.keys("#stage", kb.ArrowLeft+kb.ArrowLeft)
	if got := p.text("station-name"); !strings.HasPrefix(got, "behind the front wheels") || p.picture(0, 1) != first {
		t.Errorf("two left arrows on the map lead to %q", got)
	}
	p.keys("#stage", kb.ArrowDown)
	if got := p.text("caption"); !strings.Contains(got, "total pressure Cpt") {
		t.Errorf("down arrow on the map leads to %q", got)
	}
	p.keys("#stage", kb.ArrowUp)
}

var readingForm = regexp.MustCompile(`^y (−?[0-9.]+) m, z (−?[0-9.]+) m · streamwise velocity u/U: fairing (−?[0-9.]+), bare (−?[0-9.]+), change ([+−±][0-9.]+)$`)

// values compares readings with the survey files themselves: u over U = 25 m/s at
// the sample that the reading names, to half a step of 0.0002.
func (p *browserPage) values(t *testing.T) {
	bare, fairing := axial(t, "bare"), axial(t, "fairing")
	check := func() {
		t.Helper()
		m := readingForm.FindStringSubmatch(p.text("reading"))
		if m == nil {
			t.Errorf("reading %q", p.text("reading"))
			return
		}
		var v [5]float64
		for i := range v {
			v[i] = number(m[i+1])
		}
		b, f := bare(v[0], v[1]), fairing(v[0], v[1])
		if !(math.Abs(v[2]-f/25) <= 1.001e-4) || !(math.Abs(v[3]-b/25) <= 1.001e-4) || !(math.Abs(v[4]-(v[2]-v[3])) < 1e-6) {
			t.Errorf("reading %q; the files say fairing %.5f, bare %.5f", m[0], f/25, b/25)
		}
	}
	for _, at := range [][2]float64{{0.15, 0.4}, {0.31, 0.8}, {0.62, 0.05}, {0.71, 0.77}, {0.98, 0.98}} {
		p.point(at[0], at[1])
		check()
	}
	was := p.text("reading")
	p.keys("#stage", kb.ArrowLeft, chromedp.KeyModifiers(chromedp.ModifierShift))
	if p.text("reading") == was {
		t.Error("Shift and an arrow do not move the reading")
	}
	check()
	p.point(0.5, 0.6)
	if got := p.text("reading"); !strings.Contains(got, "fairing no sample, bare no sample") {
		t.Errorf("inside the body the reading is %q", got)
	}
	p.mouse(input.DispatchMouseEventTypeMouseMoved, 2, 2)
}

// axial reads u of a configuration's survey at x = -0.62 m, by y and z in m but for the last
// digit that is printed of them; NaN for none.
func axial(t *testing.T, configuration string) func(y, z float64) float64 {
	t.Helper()
	f, err := shuttle.Files.Open(configuration + "_x-0.62.csv.zst")
	must(t, err)
	z, err := zstd.NewReader(f)
	must(t, err)
	defer z.Close()
	at := func(y, z float64) [2]int { return [2]int{int(math.Round(1000 * y)), int(math.Round(1000 * z))} }
	u := map[[2]int]float64{}
	for _, r := range table(t, z)[1:] {
		u[at(number(r[1]), number(r[2]))] = number(r[3])
	}
	return func(y, z float64) float64 {
		for k := range 9 {
			if v, ok := u[at(y+0.001*float64(k%3-1), z+0.001*float64(k/3-1))]; ok {
				return v
			}
		}
		return math.NaN()
	}
}

// table reads CSV.
func table(t *testing.T, r io.Reader) [][]string {
	t.Helper()
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil || len(rows) == 0 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	return rows
}

var plainNumber = strings.NewReplacer("−", "-", "+", "", "±", "", "\u00a0", "")

// number reads a number as the page prints it; NaN for none.
func number(s string) float64 {
	v, err := strconv.ParseFloat(plainNumber.Replace(s), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}
