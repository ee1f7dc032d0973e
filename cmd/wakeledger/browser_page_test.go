package main

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"wakeledger/grid/gridtest"
)

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
	if code := run([]string{"study", filepath.Join(p.dir, studyFile), "--out", filepath.Join(p.dir, "ledger"), "--quiet", "--summary"}, strings.NewReader(""), &stdout, &stderr); code != 0 {
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
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
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
	_, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`new Promise((done) => setTimeout(() => requestAnimationFrame(() => requestAnimationFrame(() => done(true))), 60))`, chromedp.EvalAwaitPromise))
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
		if r != p.url && r != strings.Replace(p.url, "report.html", "summary.html", 1) && !strings.HasPrefix(r, "data:image/") && !strings.HasPrefix(r, "blob:") {
			p.t.Errorf("the page asks for %.80s", r)
		}
	}
	if len(p.requests) == 0 {
		p.t.Error("not even the page itself was seen to be asked for")
	}
}

func (p *browserPage) media(media, scheme string) {
	p.t.Helper()
	_, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	if err != nil {
		p.t.Fatal(err)
	}
}

// paper prints what is open and counts the pages.
func (p *browserPage) paper() int {
	p.t.Helper()
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF())
	if err != nil {
		p.t.Fatal(err)
	}
	return len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
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
