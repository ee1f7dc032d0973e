package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io/fs"
	"math"
	"os"
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

// evilName is a configuration's name that would run a script if it were taken for
// markup.
const evilName = `<img src=x onerror=alert(1)>`

// evilRegion would end the page's data if it were taken for markup.
const evilRegion = `</script><b id="broken">left`

// openDemo opens the demo without the station and the configuration that cost most, with a
// quarter of the samples of the largest station that is left and two of its four maps.
func openDemo(t *testing.T) *browserPage {
	t.Helper()
	p := newBrowserPage(t)
	err := fs.WalkDir(shuttle.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := shuttle.Files.ReadFile(name)
		if err != nil {
			return err
		}
		if name == shuttle.Study {
			s := strings.Replace(string(b), `name = "flare"`, `name = "`+evilName+`"`, 1)
			s = strings.Replace(s, `name = "left front wheel"`, `name = '`+evilRegion+`'`, 1)
			s = regexp.MustCompile(`(?s)\[maps\].*`).ReplaceAllString(s, "[maps]\nquantities = [\"u/U\", \"Cpt\"]\nsize = [480, 300]\nsilhouette = \"side.csv\"\n")
			s = regexp.MustCompile(`(?s)\[\[station\]\]\nname = "far wake".*?\n\n`).ReplaceAllString(s, "")
			s = regexp.MustCompile(`(?s)\[\[configuration\]\]\nname = "lip".*?\n\n`).ReplaceAllString(s, "")
			if strings.Contains(s, "far wake") || strings.Contains(s, "lip_") || !strings.Contains(s, evilName) || !strings.Contains(s, evilRegion) || !strings.Contains(s, "size = [480") {
				return errors.New("the demo's study is not as this test knows it")
			}
			b = []byte(s)
		}
		if strings.Contains(name, "+2.91_whole") {
			b = everySecond(b, 288)
		}
		return os.WriteFile(filepath.Join(p.dir, name), b, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(p.dir, "side.csv"), []byte("y [mm],z [mm]\n-660,230\n660,230\n660,1900\n-660,1900\n-660,230\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	p.open(shuttle.Study)
	if got := p.text("station-name"); !strings.HasPrefix(got, "near wake") {
		t.Errorf("the page opens on %q, not on the station that is quoted", got)
	}
	ask[bool](p, `(() => { const s = document.getElementById("station"); s.value = 0; return s.dispatchEvent(new Event("input")); })()`)
	p.settle()
	return p
}

// everySecond leaves every second sample each way in a table of rows of n.
func everySecond(packed []byte, n int) []byte {
	z, err := zstd.NewReader(nil)
	if err != nil {
		panic(err)
	}
	defer z.Close()
	text, err := z.DecodeAll(packed, nil)
	if err != nil {
		panic(err)
	}
	lines := bytes.SplitAfter(text, []byte("\n"))
	out := lines[0]
	for i, line := range lines[1:] {
		if i%n%2 == 0 && i/n%2 == 0 {
			out = append(out, line...)
		}
	}
	return out
}

// TestBrowser opens the demo's page as a colleague would and works it.
func TestBrowser(t *testing.T) {
	t.Parallel()
	p := openDemo(t)
	t.Run("flick", p.flick)
	t.Run("wipe", p.wipe)
	t.Run("stations", p.stations)
	t.Run("values", p.values)
	t.Run("zoom", p.zoom)
	t.Run("links", p.links)
	t.Run("views", p.views)
	t.Run("cuts", p.cuts)
	t.Run("marks", p.marks)
	t.Run("names", p.names)
	t.Run("accessible", p.accessible)
	t.Run("print", p.printed)
	t.Run("sorted", p.sorted)
	t.Run("phone", p.phone)
	t.Run("pictures", p.pictures)
	t.Run("opening", p.opening)
	p.t = t
	p.clean()
}

func (p *browserPage) flick(t *testing.T) {
	p.t = t
	p.settle()
	before, said := p.picture(0, 1), p.text("caption")
	if !strings.Contains(said, "fairing") {
		t.Errorf("caption %q, the first variant is expected", said)
	}
	p.click("#flick")
	p.wait("flick by the button", `/· bare:/.test(document.getElementById("caption").textContent)`)
	p.settle()
	base := p.picture(0, 1)
	if base == before {
		t.Error("flicking leaves the picture as it was")
	}
	p.click("#flick")
	p.wait("flick back", `/· fairing:/.test(document.getElementById("caption").textContent)`)
	p.settle()
	if p.picture(0, 1) != before || p.text("caption") != said {
		t.Errorf("flicking back does not bring back picture and caption: %q", p.text("caption"))
	}
	// A long press comes back when it is let go.
	p.press("#flick", time.Second)
	p.settle()
	if p.picture(0, 1) != before {
		t.Error("a long press of the button does not come back")
	}
	// By a key that is held.
	p.focus("#stage")
	key := func(typ input.DispatchKeyEventType) {
		if _, err := chromedp.Call(p.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: typ, Key: "f", Code: "KeyF", WindowsVirtualKeyCode: 70}); err != nil {
			t.Fatal(err)
		}
		p.settle()
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
	p.focus("#flick")
	p.do(chromedp.KeyEvent(kb.Enter))
	p.settle()
	if p.picture(0, 1) != base {
		t.Error("Enter on the button does not flick")
	}
	p.do(chromedp.KeyEvent(kb.Enter))
	p.settle()
	// A change is not either of the two.
	p.choose("view", "change")
	if d := p.picture(0, 1); d == base || d == before || !strings.Contains(p.text("caption"), "fairing minus bare") {
		t.Errorf("view of the change: %q", p.text("caption"))
	}
	p.choose("view", "one")
}

func (p *browserPage) wipe(t *testing.T) {
	p.t = t
	right := p.picture(0.7, 1) // the variant
	left := p.picture(0, 0.3)
	p.choose("view", "wipe")
	if p.picture(0.7, 1) != right || p.picture(0, 0.3) == left {
		t.Error("a wipe does not show the baseline on the left and the variant on the right")
	}
	x0, y0 := p.spot(0.5, 0.5)
	x1, _ := p.spot(0.05, 0.5)
	p.mouse(input.DispatchMouseEventTypeMousePressed, x0, y0, chromedp.ButtonLeft, chromedp.ClickCount(1))
	p.mouse(input.DispatchMouseEventTypeMouseMoved, (x0+x1)/2, y0, chromedp.ButtonLeft)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, x1, y0, chromedp.ButtonLeft)
	p.mouse(input.DispatchMouseEventTypeMouseReleased, x1, y0, chromedp.ButtonLeft)
	p.settle()
	at := ask[float64](p, `Number(document.getElementById("wipe").value)`)
	if math.Abs(at-50) > 11 { // the slider goes in steps of 10
		t.Errorf("dragged to a twentieth of the width, the wipe stands at %g thousandths", at)
	}
	dragged := p.picture(0, 0.3)
	p.focus("#wipe")
	p.do(chromedp.KeyEvent(strings.Repeat(kb.ArrowRight, 20)))
	p.settle()
	if now := ask[float64](p, `Number(document.getElementById("wipe").value)`); math.Abs(now-at-200) > 1 || p.picture(0, 0.3) == dragged {
		t.Errorf("20 presses of the right arrow move the wipe from %g to %g", at, now)
	}
	p.choose("view", "one")
	if p.picture(0.7, 1) != right || p.picture(0, 0.3) != left {
		t.Error("the picture is another one after a wipe")
	}
}

func (p *browserPage) stations(t *testing.T) {
	p.t = t
	first := p.picture(0, 1)
	p.click("#station")
	p.settle()
	if got := p.text("station-name"); got != "ahead of the rear wheels, x = 0.62 m" || p.picture(0, 1) == first {
		t.Errorf("a click on the middle of the slider leads to %q", got)
	}
	p.focus("#station")
	p.do(chromedp.KeyEvent(kb.ArrowRight + kb.ArrowLeft + kb.ArrowLeft))
	p.settle()
	if got := p.text("station-name"); !strings.HasPrefix(got, "mid body") {
		t.Errorf("an arrow to the right and two to the left on the slider lead to %q", got)
	}
	p.focus("#stage")
	p.do(chromedp.KeyEvent(kb.ArrowLeft))
	p.settle()
	if got := p.text("station-name"); !strings.HasPrefix(got, "behind the front wheels") || p.picture(0, 1) != first {
		t.Errorf("left arrow on the map leads to %q", got)
	}
	p.do(chromedp.KeyEvent(kb.ArrowDown))
	p.settle()
	if got := p.text("caption"); !strings.Contains(got, "total pressure Cpt") {
		t.Errorf("down arrow on the map leads to %q", got)
	}
	p.do(chromedp.KeyEvent(kb.ArrowUp))
	p.settle()
}

var readingForm = regexp.MustCompile(`^y (−?[0-9.]+) m, z (−?[0-9.]+) m · streamwise velocity u/U: fairing (−?[0-9.]+), bare (−?[0-9.]+), change ([+−±][0-9.]+)$`)

// values compares readings with the survey files themselves: u over U = 25 m/s at
// the sample that the reading names, to half a step of 0.0002.
func (p *browserPage) values(t *testing.T) {
	p.t = t
	bare, fairing := axial(t, p.dir, "bare_x-0.62.csv.zst"), axial(t, p.dir, "fairing_x-0.62.csv.zst")
	check := func() {
		t.Helper()
		m := readingForm.FindStringSubmatch(p.text("reading"))
		if m == nil {
			t.Errorf("reading %q", p.text("reading"))
			return
		}
		var v [5]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(strings.NewReplacer("−", "-", "+", "", "±", "").Replace(m[i+1]), 64)
		}
		key := [2]int{int(math.Round(1000 * v[0])), int(math.Round(1000 * v[1]))}
		b, f := nearKey(bare, key), nearKey(fairing, key)
		if !(math.Abs(v[2]-f/25) <= 1.001e-4) || !(math.Abs(v[3]-b/25) <= 1.001e-4) || !(math.Abs(v[4]-(v[2]-v[3])) < 1e-6) {
			t.Errorf("reading %q; the files say fairing %.5f, bare %.5f", m[0], f/25, b/25)
		}
	}
	for _, at := range [][2]float64{{0.15, 0.4}, {0.31, 0.8}, {0.62, 0.05}, {0.71, 0.77}, {0.98, 0.98}} {
		x, y := p.spot(at[0], at[1])
		p.mouse(input.DispatchMouseEventTypeMouseMoved, x, y)
		p.settle()
		check()
	}
	was := p.text("reading")
	p.focus("#stage")
	p.do(chromedp.KeyEvent(kb.ArrowLeft, chromedp.KeyModifiers(chromedp.ModifierShift)))
	p.settle()
	if p.text("reading") == was {
		t.Error("Shift and an arrow do not move the reading")
	}
	check()
	x, y := p.spot(0.5, 0.6)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, x, y)
	p.settle()
	if got := p.text("reading"); !strings.Contains(got, "fairing no sample, bare no sample") {
		t.Errorf("inside the body the reading is %q", got)
	}
	p.mouse(input.DispatchMouseEventTypeMouseMoved, 2, 2)
}

// axial reads u of a survey, by y and z in mm.
func axial(t *testing.T, dir, name string) map[[2]int]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := zstd.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(z).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[[2]int]float64{}
	for _, r := range rows[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(r[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		out[[2]int{int(math.Round(1000 * v[0])), int(math.Round(1000 * v[1]))}] = v[2]
	}
	return out
}

// nearKey allows for the last digit of printed coordinates.
func nearKey(m map[[2]int]float64, k [2]int) float64 {
	for dy := -1; dy <= 1; dy++ {
		for dz := -1; dz <= 1; dz++ {
			if v, ok := m[[2]int{k[0] + dy, k[1] + dz}]; ok {
				return v
			}
		}
	}
	return math.NaN()
}
