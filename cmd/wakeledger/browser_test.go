package main

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"wakeledger/examples/shuttle"
	"wakeledger/grid/gridtest"
)

// evilName is a configuration's name that would run a script if it were taken for
// markup.
const evilName = `<img src=x onerror=alert(1)>`

// evilRegion would end the page's data if it were taken for markup.
const evilRegion = `</script><b id="broken">left`

// browserPage writes the demo, with one configuration named evilName and small
// maps, runs it, and opens the page from disk in a browser of its own.
type browserPage struct {
	t   *testing.T
	ctx context.Context
	url string
	dir string

	mu       sync.Mutex
	troubles []string
	requests []string
}

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
			s = strings.Replace(s, "[maps]", "[maps]\nsize = [640, 480]\nsilhouette = \"side.csv\"", 1)
			if !strings.Contains(s, evilName) || !strings.Contains(s, evilRegion) || !strings.Contains(s, "size = [640") {
				return errors.New("the demo's study is not as this test knows it")
			}
			b = []byte(s)
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
	return p
}

const chromium = "/usr/bin/chromium"

func newBrowserPage(t *testing.T) *browserPage {
	t.Helper()
	if testing.Short() {
		t.Skip("a page in a browser takes some seconds")
	}
	if _, err := os.Stat(chromium); err != nil {
		gridtest.Missing(t, chromium+" is missing (Debian: chromium)")
	}
	return &browserPage{t: t, dir: t.TempDir()}
}

// open runs a study that lies in the page's folder and opens its page.
func (p *browserPage) open(studyFile string) {
	t := p.t
	t.Helper()
	var stdout, stderr strings.Builder
	if code := run([]string{"study", filepath.Join(p.dir, studyFile), "--out", filepath.Join(p.dir, "ledger"), "--quiet"}, strings.NewReader(""), &stdout, &stderr); code != 0 {
		t.Fatalf("exit code %d: %s", code, stderr.String())
	}
	p.url = "file://" + filepath.Join(p.dir, "ledger", "report.html")

	opts := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(chromium), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.UserDataDir(filepath.Join(p.dir, "profile")), chromedp.WindowSize(1280, 1000),
	}
	alloc, cancel := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(cancel)
	ctx, cancel2 := chromedp.NewContext(alloc)
	t.Cleanup(func() { _ = chromedp.Cancel(ctx); cancel2() })
	ctx, cancel3 := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(cancel3)
	p.ctx = ctx
	err := chromedp.Listen(ctx, func(ev any) {
		p.mu.Lock()
		defer p.mu.Unlock()
		switch ev := ev.(type) {
		case *runtime.EventConsoleAPICalled:
			p.troubles = append(p.troubles, fmt.Sprintf("console %s: %v", ev.Type, ev.Args))
		case *runtime.EventExceptionThrown:
			p.troubles = append(p.troubles, "exception: "+ev.ExceptionDetails.Text)
		case *network.EventRequestWillBeSent:
			p.requests = append(p.requests, ev.Request.URL)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Navigate(p.url))
	p.wait("the first map", `document.getElementById("caption").textContent !== ""`)
}

func (p *browserPage) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

// ask evaluates an expression.
func ask[T any](p *browserPage, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

func (p *browserPage) wait(what, expression string) {
	p.t.Helper()
	for end := time.Now().Add(time.Minute); ; time.Sleep(15 * time.Millisecond) {
		if ask[bool](p, expression) {
			return
		}
		if time.Now().After(end) {
			p.t.Fatalf("no %s within a minute; caption %q", what, p.text("caption"))
		}
	}
}

func (p *browserPage) text(id string) string {
	p.t.Helper()
	return ask[string](p, `document.getElementById("`+id+`").textContent`)
}

// picture is a fingerprint of the part of the map between two parts of its width.
func (p *browserPage) picture(from, to float64) string {
	p.t.Helper()
	return ask[string](p, fmt.Sprintf(`(() => { const c = document.getElementById("map"), w = c.width, x = Math.round(%g * w), n = Math.round(%g * w) - x;
		const b = c.getContext("2d").getImageData(x, 0, n, c.height).data; let h = 2166136261; for (let i = 0; i < b.length; i++) h = Math.imul(h ^ b[i], 16777619); return n + ":" + (h >>> 0); })()`, from, to))
}

// settled waits until what is painted is what was asked for: two frames without
// work left over.
func (p *browserPage) settle() {
	p.t.Helper()
	_, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`new Promise((done) => setTimeout(() => requestAnimationFrame(() => requestAnimationFrame(() => done(true))), 120))`, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatal(err)
	}
}

// middle scrolls to an element and gives the middle of it in the window.
func (p *browserPage) middle(css string) (x, y float64) {
	p.t.Helper()
	r := ask[[]float64](p, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()`, css))
	return r[0], r[1]
}

func (p *browserPage) click(css string) {
	p.t.Helper()
	p.press(css, 50*time.Millisecond)
	p.settle()
}

// press holds the left button down on an element for a time, by the events' own
// clocks, which do not feel how busy the machine is.
func (p *browserPage) press(css string, held time.Duration) {
	p.t.Helper()
	x, y := p.middle(css)
	now := time.Now()
	at := func(d time.Duration) chromedp.MouseOption {
		return func(e *input.DispatchMouseEventParams) {
			e.Timestamp = input.TimeSinceEpoch(float64(now.Add(d).UnixMicro()) / 1e6)
		}
	}
	p.mouse(input.DispatchMouseEventTypeMousePressed, x, y, chromedp.ButtonLeft, chromedp.ClickCount(1), at(0))
	p.mouse(input.DispatchMouseEventTypeMouseReleased, x, y, chromedp.ButtonLeft, chromedp.ClickCount(1), at(held))
}

func (p *browserPage) focus(css string) {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector(%q).focus()`, css)))
}

func (p *browserPage) choose(name, value string) {
	p.t.Helper()
	p.click(fmt.Sprintf(`#viewer input[name="%s"][value="%s"]`, name, value))
	p.settle()
}

// spot is where a part of the plot's width and height lies in the window.
func (p *browserPage) spot(u, v float64) (x, y float64) {
	p.t.Helper()
	r := ask[[]float64](p, `(() => { const e = document.getElementById("map"); e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`)
	return r[0] + u*r[2], r[1] + v*r[3]
}

func (p *browserPage) mouse(typ input.DispatchMouseEventType, x, y float64, opts ...chromedp.MouseOption) {
	p.t.Helper()
	p.do(chromedp.MouseEvent(typ, x, y, opts...))
}

func (p *browserPage) clean() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.troubles {
		p.t.Errorf("%s", s)
	}
	for _, r := range p.requests {
		if r != p.url && !strings.HasPrefix(r, "data:image/png;base64,") && !strings.HasPrefix(r, "blob:") {
			p.t.Errorf("the page asks for %.80s", r)
		}
	}
	if len(p.requests) == 0 {
		p.t.Error("not even the page itself was seen to be asked for")
	}
}

// TestBrowser opens the demo's page as a colleague would and works it.
func TestBrowser(t *testing.T) {
	p := openDemo(t)
	t.Run("flick", p.flick)
	t.Run("wipe", p.wipe)
	t.Run("stations", p.stations)
	t.Run("values", p.values)
	t.Run("marks", p.marks)
	t.Run("names", p.names)
	t.Run("accessible", p.accessible)
	t.Run("print", p.printed)
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
	if got := p.text("station-name"); got != "near wake, window, x = 2.910 m" || p.picture(0, 1) == first {
		t.Errorf("a click on the middle of the slider leads to %q", got)
	}
	p.focus("#station")
	p.do(chromedp.KeyEvent(kb.ArrowLeft))
	p.settle()
	if got := p.text("station-name"); !strings.HasPrefix(got, "mid body") {
		t.Errorf("left arrow on the slider leads to %q", got)
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
	bare, fairing := axial(t, p.dir, "bare_x-0.58.csv.gz"), axial(t, p.dir, "fairing_x-0.58.csv.gz")
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
	z, err := gzip.NewReader(f)
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

// marks: each kind can be taken away and brought back, and the arrow of a shift
// carries what the ledger says of it.
func (p *browserPage) marks(t *testing.T) {
	p.t = t
	count := func(css string) int {
		return ask[int](p, fmt.Sprintf(`document.querySelectorAll("#over %s").length`, css))
	}
	for _, m := range []struct {
		id, css string
		on      int
	}{{"outlines", ".outline", -1}, {"regions", ".region", 2}, {"centroids", ".spot", 4}, {"silhouette", ".silhouette", 1}, {"spreads", ".spread", 2}, {"vectors", ".arrow", -1}} {
		box := ask[bool](p, fmt.Sprintf(`document.getElementById(%q).checked`, m.id))
		var n [2]int
		for range 2 {
			k := 0
			if box {
				k = 1
			}
			n[k] = count(m.css)
			p.click("#" + m.id)
			box = !box
		}
		if n[0] != 0 || n[1] == 0 || m.on > 0 && n[1] != m.on {
			t.Errorf("%s: %d marks without, %d with, want %d", m.id, n[0], n[1], m.on)
		}
	}
	// 5 stations × 2 variants × 2 regions in ledger.csv; the first station's right
	// wheel, fairing, is what the page shows first.
	f, err := os.Open(filepath.Join(p.dir, "ledger", "ledger.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := func(name string) int {
		for i, h := range rows[0] {
			if h == name {
				return i
			}
		}
		t.Fatalf("ledger.csv has no column %q: %q", name, rows[0])
		return 0
	}
	said := ask[string](p, `[...document.querySelectorAll("#over .shift-text")].map((e) => e.textContent).join("; ")`)
	found := 0
	for _, r := range rows[1:] {
		if !strings.HasPrefix(r[at("station")], "behind the front") || r[at("configuration")] != "fairing" || r[at("inboard shift [m]")] == "" {
			continue
		}
		v, err := strconv.ParseFloat(r[at("inboard shift [m]")], 64)
		if err != nil {
			t.Fatal(err)
		}
		found++
		if want := fmt.Sprintf("%.0f ± ", 1000*v); !strings.Contains(said, want) || !strings.Contains(said, " mm inboard") {
			t.Errorf("the page says %q, the ledger %q", said, want)
		}
	}
	if found != 2 || strings.Count(said, "mm") != 2 {
		t.Errorf("%d shifts in the ledger, the page says %q", found, said)
	}
	p.focus("#stage")
}

// names: what a file calls a configuration is text wherever it stands.
func (p *browserPage) names(t *testing.T) {
	p.t = t
	p.choose("shown", "2")
	if got := p.text("caption"); !strings.Contains(got, evilName) {
		t.Errorf("caption %q does not show the name as it is", got)
	}
	p.choose("view", "change")
	p.choose("view", "one")
	if n := ask[int](p, `document.querySelectorAll('img[src="x"], [onerror], #broken').length`); n != 0 {
		t.Errorf("%d elements were made of a name", n)
	}
	if n := ask[int](p, `[...document.querySelectorAll("h3, td, label, option")].filter((e) => e.textContent.includes("<img src=x onerror=alert(1)>")).length`); n < 8 {
		t.Errorf("the name is shown %d times", n)
	}
	if got := ask[string](p, `document.querySelector("#over").textContent`); !strings.Contains(got, evilRegion) {
		t.Errorf("the map does not show the region's name as it is: %q", got)
	}
	p.choose("shown", "1")
}

// accessible runs axe-core, which is fetched for this test alone.
func (p *browserPage) accessible(t *testing.T) {
	p.t = t
	npm := gridtest.Tool(t, "npm")
	dir := t.TempDir()
	cmd := exec.Command(npm, "pack", "--silent", "axe-core@4")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		gridtest.Missing(t, fmt.Sprintf("axe-core cannot be fetched (%v: %s)", err, out))
	}
	files, err := filepath.Glob(filepath.Join(dir, "axe-core-*.tgz"))
	if err != nil || len(files) != 1 {
		t.Fatalf("npm pack left %v", files)
	}
	source := fromTar(t, files[0], "package/axe.min.js")
	// The debugger's own evaluation stands outside the page's policy.
	if err := chromedp.Do(p.ctx, chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := chromedp.Call(p.ctx, runtime.Evaluate, runtime.EvaluateParams{Expression: source})
		return err
	})); err != nil {
		t.Fatal(err)
	}
	for _, scheme := range []string{"light", "dark"} {
		p.media("", scheme)
		p.do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("details").forEach((d) => { d.open = true; })`))
		found, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](`axe.run(document, {resultTypes: ["violations"]}).then((r) => r.violations.filter((v) => v.impact === "serious" || v.impact === "critical").map((v) => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.failureSummary).join(" | ")))`, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			t.Errorf("%s: %s", scheme, f)
		}
	}
	p.media("", "light")
	p.do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("details").forEach((d) => { d.open = false; })`))
}

func (p *browserPage) media(media, scheme string) {
	p.t.Helper()
	_, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	if err != nil {
		p.t.Fatal(err)
	}
}

func fromTar(t *testing.T, file, name string) string {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if err != nil {
			t.Fatalf("%s in %s: %v", name, file, err)
		}
		if h.Name == name {
			s, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			return string(s)
		}
	}
}

// printed: on paper every table is there, folded away or not, and the map stays.
func (p *browserPage) printed(t *testing.T) {
	p.t = t
	count := `[...document.querySelectorAll("table")].filter((e) => e.getBoundingClientRect().height > 20 && e.checkVisibility({contentVisibilityAuto: true})).length`
	all := ask[int](p, `document.querySelectorAll("table").length`)
	if shown := ask[int](p, count); shown >= all {
		t.Errorf("%d of %d tables are open on the screen; this test needs folded ones", shown, all)
	}
	p.media("print", "dark")
	p.settle()
	if shown := ask[int](p, count); shown != all || all < 20 {
		t.Errorf("%d of %d tables are printed", shown, all)
	}
	if !ask[bool](p, `document.getElementById("map").getBoundingClientRect().height > 100 && !document.querySelector(".controls").checkVisibility()`) {
		t.Error("the map is not printed, or its controls are")
	}
	if bg := ask[string](p, `getComputedStyle(document.body).backgroundColor`); bg != "rgb(255, 255, 255)" {
		t.Errorf("paper is %s", bg)
	}
	p.media("", "light")
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF())
	if err != nil || len(pdf) < 100_000 {
		t.Errorf("a PDF of %d bytes: %v", len(pdf), err)
	}
	p.settle()
}

// pictures: the sheets for readers without scripts can be seen.
func (p *browserPage) pictures(t *testing.T) {
	p.t = t
	if n := ask[int](p, `[...document.images].filter((e) => e.complete && e.naturalWidth > 400).length`); n != 5 {
		t.Errorf("%d pictures can be seen, one for each of 5 stations is expected", n)
	}
	if _, err := chromedp.Call(p.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Reload())
	if !ask[bool](p, `document.getElementById("viewer").hidden && document.querySelector("noscript").textContent.includes("Scripts are off")`) {
		t.Error("without scripts the viewer is not hidden, or nothing says why")
	}
	if n := ask[int](p, `[...document.querySelectorAll("table")].filter((e) => e.checkVisibility()).length`); n < 10 {
		t.Errorf("%d tables without scripts", n)
	}
	if _, err := chromedp.Call(p.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{}); err != nil {
		t.Fatal(err)
	}
}

// phone: nothing makes the page wider than a phone's screen.
func (p *browserPage) phone(t *testing.T) {
	p.t = t
	p.do(chromedp.EmulateViewport(390, 844))
	p.settle()
	if w := ask[int](p, `document.documentElement.scrollWidth`); w > 390 {
		t.Errorf("the page is %d wide on a screen of 390", w)
	}
	p.do(chromedp.ResetViewport())
	p.settle()
}

// opening: the page is small, and its map can be used soon after it is opened.
// The limit is what a reader notices, not a measurement.
func (p *browserPage) opening(t *testing.T) {
	p.t = t
	st, err := os.Stat(strings.TrimPrefix(p.url, "file://"))
	if err != nil {
		t.Fatal(err)
	}
	if st.Size() > 12<<20 {
		t.Errorf("the page has %d bytes", st.Size())
	}
	p.do(chromedp.Reload())
	p.wait("map after opening anew", `performance.getEntriesByName("map drawn").length > 0`)
	ms := ask[float64](p, `performance.getEntriesByName("map drawn")[0].startTime`)
	t.Logf("the first map is drawn after %.0f ms", ms)
	if ms > 5000 {
		t.Errorf("the first map is drawn after %.0f ms", ms)
	}
}
