package main

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"wakeledger/grid/gridtest"
)

// browserPage is a study's page, opened from disk in a tab of its own.
type browserPage struct {
	t   *testing.T
	ctx context.Context
	dir string // of the study's output
	url string

	mu       sync.Mutex
	troubles []string
	requests []string
}

const chromium = "/usr/bin/chromium"

// chrome is one browser for all tests.
var chrome = sync.OnceValues(func() (context.Context, error) {
	alloc, _ := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(chromium), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.UserDataDir(filepath.Join(shared, "profile")))
	ctx, cancel := chromedp.NewContext(alloc)
	atEnd = append(atEnd, func() { _ = chromedp.Cancel(ctx); cancel() })
	return ctx, chromedp.Do(ctx)
})

func needBrowser(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("a page in a browser takes some seconds")
	}
	if _, err := os.Stat(chromium); err != nil {
		gridtest.Missing(t, chromium+" is missing (Debian: chromium)")
	}
}

// counted makes the page count the frames that it asks for and the rasters that it unpacks: at
// zero all that was asked of it is done. ago moves its clock on.
const counted = `window.busy = 0; window.ago = 0; {
	const raf = requestAnimationFrame, buffer = Response.prototype.arrayBuffer, now = performance.now.bind(performance);
	window.requestAnimationFrame = (f) => { busy++; return raf((t) => { busy--; f(t); }); };
	Response.prototype.arrayBuffer = async function () { busy++; try { return await buffer.call(this); } finally { busy--; } };
	performance.now = () => now() + ago;
	window.frames2 = () => new Promise((done) => raf(() => raf(() => done(true))));
}`

// openPage opens the page in a folder of a study's output.
func openPage(t *testing.T, dir string) *browserPage {
	t.Helper()
	browser, err := chrome()
	must(t, err)
	p := &browserPage{t: t, dir: dir, url: "file://" + filepath.Join(dir, "report.html")}
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithListener(func(ev any) {
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
	}))
	t.Cleanup(cancel)
	must(t, chromedp.Do(ctx))
	p.ctx, cancel = context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(cancel)
	tell(p, network.Enable, network.EnableParams{})
	tell(p, performance.Enable, performance.EnableParams{TimeDomain: performance.EnableTimeDomainThreadTicks})
	tell(p, cdppage.AddScriptToEvaluateOnNewDocument, cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: counted})
	p.viewport(900, 700)
	p.load(p.url)
	return p
}

// load goes to an address and waits for the first map.
func (p *browserPage) load(address string) {
	p.t.Helper()
	p.do(chromedp.Navigate("about:blank"), chromedp.Navigate(address))
	p.wait("the first map", `document.getElementById("caption").textContent !== ""`)
}

func (p *browserPage) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	must(p.t, chromedp.Do(p.ctx, steps...))
}

// tell gives a command of the browser's protocol.
func tell[P, R any](p *browserPage, command cdp.Command[P, R], params P) R {
	p.t.Helper()
	r, err := chromedp.Call(p.ctx, command, params)
	must(p.t, err)
	return r
}

// ask evaluates an expression once all that was asked of the page is done.
func ask[T any](p *browserPage, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](`(async () => { while (window.busy) await new Promise((f) => setTimeout(f)); return (`+expression+`); })()`, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// js runs statements.
func (p *browserPage) js(statements string) {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](statements))
}

func (p *browserPage) wait(what, expression string) {
	p.t.Helper()
	for end := time.Now().Add(time.Minute); !ask[bool](p, expression); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			p.t.Fatalf("no %s within a minute; caption %q", what, p.text("caption"))
		}
	}
}

func (p *browserPage) text(id string) string {
	p.t.Helper()
	return ask[string](p, `document.getElementById("`+id+`").textContent`)
}

func (p *browserPage) checked(id string) bool {
	p.t.Helper()
	return ask[bool](p, `document.getElementById("`+id+`").checked`)
}

// picture is a fingerprint of the part of the map between two parts of its width.
func (p *browserPage) picture(from, to float64) string {
	p.t.Helper()
	return ask[string](p, fmt.Sprintf(`(() => { const c = document.getElementById("map"), w = c.width, x = Math.round(%g * w), n = Math.round(%g * w) - x;
		const b = new Uint32Array(c.getContext("2d").getImageData(x, 0, n, c.height).data.buffer); let h = 2166136261; for (let i = 0; i < b.length; i++) h = Math.imul(h ^ b[i], 16777619); return n + ":" + (h >>> 0); })()`, from, to))
}

// middle scrolls to an element and gives its place in the window, left, top, width and height;
// where the browser looks for it follows with the frame after.
func (p *browserPage) rect(css string) []float64 {
	p.t.Helper()
	return ask[[]float64](p, fmt.Sprintf(`(async () => { const e = document.querySelector(%q), was = scrollY; e.scrollIntoView({block: "center"}); if (scrollY !== was) await frames2(); const r = e.getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`, css))
}

func (p *browserPage) click(css string) {
	p.t.Helper()
	p.press(css, 50*time.Millisecond)
}

// press holds the left button down on an element for a time, by the events' own
// clocks, which do not feel how busy the machine is.
func (p *browserPage) press(css string, held time.Duration) {
	p.t.Helper()
	r, now := p.rect(css), time.Now()
	at := func(d time.Duration) chromedp.MouseOption {
		return func(e *input.DispatchMouseEventParams) {
			e.Timestamp = input.TimeSinceEpoch(float64(now.Add(d).UnixMicro()) / 1e6)
		}
	}
	p.mouse(input.DispatchMouseEventTypeMousePressed, r[0]+r[2]/2, r[1]+r[3]/2, chromedp.ButtonLeft, chromedp.ClickCount(1), at(0))
	p.mouse(input.DispatchMouseEventTypeMouseReleased, r[0]+r[2]/2, r[1]+r[3]/2, chromedp.ButtonLeft, chromedp.ClickCount(1), at(held))
}

// tap presses and lets go the left button, for the nth time.
func (p *browserPage) tap(x, y float64, nth int) {
	p.t.Helper()
	p.mouse(input.DispatchMouseEventTypeMousePressed, x, y, chromedp.ButtonLeft, chromedp.ClickCount(nth))
	p.mouse(input.DispatchMouseEventTypeMouseReleased, x, y, chromedp.ButtonLeft, chromedp.ClickCount(nth))
}

func (p *browserPage) mouse(typ input.DispatchMouseEventType, x, y float64, opts ...chromedp.MouseOption) {
	p.t.Helper()
	p.do(chromedp.MouseEvent(typ, x, y, opts...))
}

// drag pulls with the left button from a place in the window to another.
func (p *browserPage) drag(x0, y0, x1, y1 float64) {
	p.t.Helper()
	p.mouse(input.DispatchMouseEventTypeMousePressed, x0, y0, chromedp.ButtonLeft, chromedp.ClickCount(1))
	p.mouse(input.DispatchMouseEventTypeMouseMoved, (x0+x1)/2, (y0+y1)/2, chromedp.ButtonLeft)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, x1, y1, chromedp.ButtonLeft)
	p.mouse(input.DispatchMouseEventTypeMouseReleased, x1, y1, chromedp.ButtonLeft)
}

// keys types on an element.
func (p *browserPage) keys(css, keys string, opts ...chromedp.KeyOption) {
	p.t.Helper()
	p.js(fmt.Sprintf(`document.querySelector(%q).focus()`, css))
	p.do(chromedp.KeyEvent(keys, opts...))
}

func (p *browserPage) choose(name, value string) {
	p.t.Helper()
	p.click(fmt.Sprintf(`#viewer input[name="%s"][value="%s"]`, name, value))
}

// spot is where a part of the plot's width and height lies in the window.
func (p *browserPage) spot(u, v float64) (x, y float64) {
	p.t.Helper()
	r := p.rect("#map")
	return r[0] + u*r[2], r[1] + v*r[3]
}

// point moves the pointer to a part of the plot's width and height.
func (p *browserPage) point(u, v float64) {
	p.t.Helper()
	x, y := p.spot(u, v)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, x, y)
}

// address holds the words behind the # of the address.
func (p *browserPage) address() url.Values {
	p.t.Helper()
	v, err := url.ParseQuery(strings.TrimPrefix(ask[string](p, `location.hash`), "#"))
	must(p.t, err)
	return v
}

// saved is the data URL of what a press on an element would save.
func (p *browserPage) saved(id string) string {
	p.t.Helper()
	return ask[string](p, `new Promise((done) => { URL.createObjectURL = (b) => { const r = new FileReader(); r.onload = () => done(r.result); r.readAsDataURL(b); return "#"; }; HTMLAnchorElement.prototype.click = () => {}; document.getElementById("`+id+`").click(); })`)
}

// clean wants no errors, and nothing asked for but the page.
func (p *browserPage) clean() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.troubles {
		p.t.Errorf("%s", s)
	}
	own := regexp.MustCompile(`^(about:blank|(data:image/|blob:).*|` + regexp.QuoteMeta(strings.TrimSuffix(p.url, "report.html")) + `(report|summary).html)$`)
	for _, r := range p.requests {
		if !own.MatchString(r) {
			p.t.Errorf("the page asks for %.80s", r)
		}
	}
	if len(p.requests) == 0 {
		p.t.Error("not even the page itself was seen to be asked for")
	}
}

// media sets the medium, and what the reader asks for by its name.
func (p *browserPage) media(media, name, value string) {
	p.t.Helper()
	tell(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: name, Value: value}}})
}

// hash goes to a section's own address.
func (p *browserPage) hash(of string) {
	p.t.Helper()
	ask[bool](p, `new Promise((done) => { addEventListener("hashchange", () => done(true), {once: true}); location.hash = "`+of+`"; })`)
}

// viewport sets the size of the window; what is laid out by it is painted with the next frame.
func (p *browserPage) viewport(w, h int64) {
	p.t.Helper()
	p.do(chromedp.EmulateViewport(w, h))
	ask[bool](p, `window.frames2 ? frames2() : true`)
}

// paper prints what is open and counts the pages.
func (p *browserPage) paper() int {
	p.t.Helper()
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF())
	must(p.t, err)
	return len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
}
