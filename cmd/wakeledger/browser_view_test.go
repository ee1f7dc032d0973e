package main

import (
	"encoding/base64"
	"fmt"
	"image/png"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// shown is the part of the plane that the map shows, as the address has it; nil for the
// part that it opens on.
func (p *browserPage) shown() []float64 {
	p.t.Helper()
	var out []float64
	for _, s := range strings.Fields(p.address().Get("window")) {
		out = append(out, number(s))
	}
	return out
}

func (p *browserPage) wheel(u, v, down float64) {
	p.t.Helper()
	x, y := p.spot(u, v)
	tell(p, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMouseWheel, X: x, Y: y, DeltaX: 0.01, DeltaY: down})
}

// pinch spreads two fingers about a place from a tenth of the width to three tenths.
func (p *browserPage) pinch(u, v float64) {
	p.t.Helper()
	x, y := p.spot(u, v)
	touch := func(typ input.DispatchTouchEventType, points ...*input.TouchPoint) {
		tell(p, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: typ, TouchPoints: append([]*input.TouchPoint{}, points...)})
	}
	typ := input.DispatchTouchEventTypeTouchStart
	for _, d := range []float64{40, 80, 120} {
		touch(typ, &input.TouchPoint{X: x - d, Y: y, ID: new(1.0)}, &input.TouchPoint{X: x + d, Y: y, ID: new(2.0)})
		typ = input.DispatchTouchEventTypeTouchMove
	}
	touch(input.DispatchTouchEventTypeTouchEnd)
}

// kept keeps what the map shows for altered, and gives its width.
func (p *browserPage) kept() int {
	p.t.Helper()
	return ask[int](p, `(() => { const c = document.getElementById("map"); window.before = c.getContext("2d").getImageData(0, 0, c.width, c.height).data; return c.width; })()`)
}

// altered is the share of a part of the plane that looks otherwise than what was kept; the map
// shows the part that it opens on.
func (p *browserPage) altered(x0, x1, y0, y1 float64) float64 {
	p.t.Helper()
	return ask[float64](p, fmt.Sprintf(`(() => { const c = document.getElementById("map"), now = c.getContext("2d").getImageData(0, 0, c.width, c.height).data, st = JSON.parse(document.getElementById("viewer-data").textContent).stations[document.getElementById("station").value], [a, b, d, e] = st.open;
		const x = (v) => Math.round((v - a) / (b - a) * c.width), y = (v) => Math.round((e - v) / (e - d) * c.height); let n = 0, other = 0;
		for (let j = Math.max(y(%[4]g), 0); j < Math.min(y(%[3]g), c.height); j++) for (let i = Math.max(x(%[1]g), 0); i < Math.min(x(%[2]g), c.width); i++) { const k = 4 * (j * c.width + i); n++; if (now[k] !== before[k] || now[k + 1] !== before[k + 1] || now[k + 2] !== before[k + 2]) other++; }
		return other / n; })()`, x0, x1, y0, y1))
}

// zoom: each way to zoom and move shows what it should of the plane, for all
// configurations and stations, and a double click goes back to the wake and the body.
func (p *browserPage) zoom(t *testing.T) {
	p.keys("#stage", "0")
	opens := ask[[]float64](p, `JSON.parse(document.getElementById("viewer-data").textContent).stations[0].open`)
	w, h, picture := opens[1]-opens[0], opens[3]-opens[2], p.picture(0, 1)
	if w >= 5.9 || w < 3 {
		t.Errorf("the map opens on %.2f m of 6 m, which are the wake and a margin", w)
	}
	for _, c := range []struct {
		name string
		do   func()
		// The part of the width that is shown, and where its middle lies in that of the
		// part that the map opens on, from the left and from above.
		part, u, v float64
	}{
		{"+", func() { p.keys("#stage", "+") }, 0.8, 0.5, 0.5},
		{"buttons", func() { p.click("#in"); p.click("#in"); p.click("#out") }, 0.8, 0.5, 0.5},
		{"wheel", func() { p.keys("#stage", "0"); p.wheel(0.25, 0.75, -50) }, math.Exp(-0.15), 0.5 - 0.25*(1-math.Exp(-0.15)), 0.5 + 0.25*(1-math.Exp(-0.15))},
		{"pinch", func() { p.pinch(0.5, 0.5) }, 1. / 3, 0.5, 0.5},
		{"keys d, s", func() { p.keys("#stage", "+ds") }, 0.8, 0.58, 0.58},
		{"drag", func() {
			p.keys("#stage", "+")
			x0, y0 := p.spot(0.5, 0.5)
			x1, y1 := p.spot(0.4, 0.6)
			p.drag(x0, y0, x1, y1)
		}, 0.8, 0.58, 0.42},
	} {
		c.do()
		b := p.shown()
		if len(b) != 4 {
			t.Errorf("%s: shown is %v", c.name, b)
			continue
		}
		part, u, v := (b[1]-b[0])/w, ((b[0]+b[1])/2-opens[0])/w, (opens[3]-(b[2]+b[3])/2)/h
		if math.Abs(part-c.part) > 0.01 || math.Abs(u-c.u) > 0.01 || math.Abs(v-c.v) > 0.01 {
			t.Errorf("%s: %.3f of the width about (%.3f, %.3f), want %.3f about (%.3f, %.3f)", c.name, part, u, v, c.part, c.u, c.v)
		}
		if c.name == "wheel" {
			p.choose("shown", "2")
			if got := p.shown(); fmt.Sprint(got) != fmt.Sprint(b) {
				t.Errorf("another configuration is shown from %v, not %v", got, b)
			}
			p.choose("shown", "1")
		}
		x, y := p.spot(0.5, 0.5)
		for k := range 2 {
			p.tap(x, y, k+1)
		}
		if got := p.shown(); got != nil || p.picture(0, 1) != picture {
			t.Errorf("%s: after a double click %v is shown", c.name, got)
		}
	}
	p.click("#all")
	if b := p.shown(); len(b) != 4 || b[1]-b[0] < 5.9 {
		t.Errorf("the whole plane is %v", b)
	}
	p.keys("#stage", "0")
}

// links: the address holds the view, the back button goes through it, a link opens on it,
// and what is copied is that link.
func (p *browserPage) links(t *testing.T) {
	p.click("#on")
	p.choose("quantity", "1")
	settled := p.text("caption")
	p.js(`ago = 900`) // what follows is not one step of the way back with what was before
	p.js(`document.getElementById("against").value = "2"; document.getElementById("against").dispatchEvent(new Event("change"))`)
	p.choose("view", "change")
	p.keys("#stage", "+")
	a, link, picture := p.address(), ask[string](p, `location.href`), p.picture(0, 1)
	for key, want := range map[string]string{"station": "mid body", "quantity": "total pressure Cpt", "show": "fairing", "against": "lip", "view": "change"} {
		if got := a.Get(key); got != want {
			t.Errorf("the address has %s = %q, want %q", key, got, want)
		}
	}
	if a.Get("window") == "" {
		t.Error("the address does not have what is shown of the plane")
	}
	// How many steps are one on the way back depends on how fast they followed each other.
	for k := 0; p.text("caption") != settled || p.address().Get("against") != "bare"; k++ {
		if k == 5 {
			t.Fatalf("going back leads to %q, not to %q", p.text("caption"), settled)
		}
		ask[bool](p, `new Promise((done) => { addEventListener("popstate", () => done(true), {once: true}); history.back(); })`)
	}
	if !ask[bool](p, `document.querySelector('input[name="view"][value="one"]').checked && document.getElementById("against").value === "0"`) {
		t.Error("going back leaves the controls as they were")
	}
	p.hash("#notes")
	if p.text("caption") != settled {
		t.Error("a section's own address changes the map")
	}
	p.load(link)
	if p.picture(0, 1) != picture || !strings.Contains(p.text("caption"), "mid body") {
		t.Errorf("the link opens on %q", p.text("caption"))
	}
	if got := ask[string](p, `(async () => { let got = ""; Object.defineProperty(navigator, "clipboard", {value: {writeText: async (s) => { got = s; }}}); document.getElementById("link").click(); await 0; return got; })()`); got != link {
		t.Errorf("copied is %q, the link is %q", got, link)
	}
	// The picture that is saved, caught where it would be handed to the browser.
	b, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(p.saved("save"), "data:image/png;base64,"))
	must(t, err)
	img, err := png.Decode(strings.NewReader(string(b)))
	if err != nil || img.Bounds().Dx() < 1500 {
		t.Fatalf("the picture: %v, %v", img.Bounds(), err)
	}
	seen := map[[3]uint32]int{}
	for y := 0; y < img.Bounds().Dy(); y += 3 {
		for x := 0; x < img.Bounds().Dx(); x += 3 {
			r, g, b, _ := img.At(x, y).RGBA()
			seen[[3]uint32{r >> 8, g >> 8, b >> 8}]++
		}
	}
	// The ink of what is not resolved has no place on it.
	if n := seen[[3]uint32{0x8a, 0x5a, 0x12}]; n != 0 {
		t.Errorf("the saved picture has the ink of another mark at %d places", n)
	}
	if len(seen) < 20 || seen[[3]uint32{0xfb, 0xfa, 0xf6}] < 5000 {
		t.Errorf("the saved picture has %d colours and paper at %d places", len(seen), seen[[3]uint32{0xfb, 0xfa, 0xf6}])
	}
	// An address that was mangled opens on what of it makes sense, here for a reader who asks
	// for less motion and whose pointer is on the map before it is drawn.
	p.media("", "prefers-reduced-motion", "reduce")
	p.do(chromedp.Navigate("about:blank"), chromedp.Navigate(p.url+"#view=x&station=none&show=fairing&window=9e9+9e10+1+2&cut=z+high&wipe=%22"))
	p.js(`document.getElementById("stage").dispatchEvent(new PointerEvent("pointermove", {clientX: 500, clientY: 500}))`)
	p.wait("the map of a mangled address", `document.getElementById("caption").textContent !== ""`)
	if b := p.shown(); len(b) != 4 || b[1] > 10 || !strings.Contains(p.text("caption"), "near wake") || !ask[bool](p, `document.getElementById("play").hidden`) {
		t.Errorf("a mangled address opens on %q of %v, or the flick by itself is offered where less motion is asked for", p.text("caption"), b)
	}
}

// views: all configurations side by side on one scale, any pair changed over by itself,
// and stations that a held key runs through.
func (p *browserPage) views(t *testing.T) {
	one := p.picture(0, 1)
	p.choose("view", "all")
	if got := ask[[]string](p, `[...document.querySelectorAll("#over .tag text")].map((e) => e.textContent)`); fmt.Sprint(got) != fmt.Sprint([]string{"bare", "fairing", "lip", "flare"}) {
		t.Errorf("side by side are %q", got)
	}
	// The upper panels are bare and fairing: as wide as each other, with the colours of
	// the same places of the view of one.
	p.point(0.1, 0.1)
	left := p.text("reading")
	x, y := p.spot(0.1, 0.1)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, x+ask[float64](p, `(document.getElementById("map").clientWidth + 10) / 2`), y)
	if right := p.text("reading"); right != left || strings.Count(right, ",") < 3 {
		t.Errorf("the same place in two panels reads %q and %q", left, right)
	}
	p.choose("view", "one")
	if p.picture(0, 1) != one {
		t.Error("the view of one is another one after that of all")
	}
	p.click("#play")
	p.wait("flick by itself", `/· bare:/.test(document.getElementById("caption").textContent)`)
	p.wait("flick back by itself", `/· fairing:/.test(document.getElementById("caption").textContent)`)
	p.click("#play")
	if ask[string](p, `document.getElementById("play").getAttribute("aria-pressed")`) != "false" {
		t.Error("the flick does not stop")
	}
	p.choose("shown", "1")
	p.keys("#stage", "")
	for k := range 12 {
		tell(p, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Key: "ArrowRight", AutoRepeat: new(k > 0), Timestamp: input.TimeSinceEpoch(float64(time.Now().UnixMilli())/1000 + 0.1*float64(k))})
	}
	if got := p.text("station-name"); !strings.HasPrefix(got, "from above") {
		t.Errorf("a key held for more than a second leads to %q", got)
	}
	p.keys("#station", strings.Repeat(kb.ArrowLeft, 6))
	// Texts on the map stand apart and on light ground, beside the open arrow of a move that
	// is not resolved, the full one of a move that is, and none where it is not judged.
	const apart = `(() => { const r = [...document.querySelectorAll("#over .plate, #over .tag rect")].map((e) => e.getBoundingClientRect());
		return r.length < 1 ? "few" : r.some((a, i) => r.some((b, k) => k < i && a.left < b.right - 0.1 && b.left < a.right - 0.1 && a.top < b.bottom - 0.1 && b.top < a.bottom - 0.1)) ? "texts overlap" : ""; })()`
	const judged = `(() => { const d = JSON.parse(document.getElementById("viewer-data").textContent), st = d.stations[document.getElementById("station").value], n = (v) => (st.surveys[1].shifts || []).filter((k) => k.verdict === v).length;
		return [n("resolved") - document.querySelectorAll("#over .shift-head:not(.open)").length, n("not resolved") - document.querySelectorAll("#over .shift-head.open").length]; })()`
	p.viewport(660, 900) // little room
	for range 6 {
		if bad := ask[string](p, apart); bad != "" {
			t.Errorf("%s: %s", p.text("station-name"), bad)
		}
		if off := ask[[]int](p, judged); off[0] != 0 || off[1] != 0 {
			t.Errorf("%s: %d full and %d open arrows are missing", p.text("station-name"), off[0], off[1])
		}
		p.click("#on")
	}
	p.viewport(900, 700)
	p.keys("#station", strings.Repeat(kb.ArrowLeft, 6))
	if got := p.text("station-name"); !strings.HasPrefix(got, "behind the front wheels") {
		t.Errorf("back is %q", got)
	}
}

// profile is what a press on its button saves of the profile.
func (p *browserPage) profile() [][]string {
	p.t.Helper()
	_, data, _ := strings.Cut(p.saved("csv"), ";base64,")
	return table(p.t, base64.NewDecoder(base64.StdEncoding, strings.NewReader(data)))
}

// cuts: a click takes the profile of all configurations there; its table has the values of
// the files, each at its sample, and between lines those of the straight line.
func (p *browserPage) cuts(t *testing.T) {
	bare, fairing := axial(t, "bare"), axial(t, "fairing")
	lines := ask[[][]float64](p, `(() => { const st = JSON.parse(document.getElementById("viewer-data").textContent).stations[0]; return [st.x, st.y]; })()`)
	for _, c := range []struct {
		name, value string
		axis        int
		u, v        float64
	}{{"across", "0", 0, 0.5, 0.1}, {"upright", "1", 1, 0.2, 0.5}} {
		p.choose("cut", c.value)
		x, y := p.spot(c.u, c.v)
		p.tap(x, y, 1)
		rows := p.profile()
		if len(rows) != len(lines[c.axis])+1 {
			t.Fatalf("%s: %d rows of %d lines", c.name, len(rows), len(lines[c.axis]))
		}
		if got := ask[int](p, `document.querySelectorAll("#profile .curve").length`); got != 8 || len(rows[0]) != 6 || rows[0][2] != "bare: streamwise velocity u/U" {
			t.Errorf("%s: %d curves with their keys of 4 configurations, columns %q", c.name, got, rows[0])
		}
		held := 0
		for _, r := range rows[1:] {
			var v [4]float64
			for k := range v {
				v[k] = number(r[k])
			}
			other := lines[1-c.axis]
			j := 0
			for j+2 < len(other) && other[j+1] <= v[1] {
				j++
			}
			w := (v[1] - other[j]) / (other[j+1] - other[j])
			for k, u := range []func(y, z float64) float64{bare, fairing} {
				at := func(o float64) float64 {
					if c.axis == 1 {
						return u(o, v[0]) / 25
					}
					return u(v[0], o) / 25
				}
				want := at(other[j])*(1-w) + at(other[j+1])*w
				if want == want && v[2+k] == v[2+k] {
					held++
					if math.Abs(v[2+k]-want) > 1.6e-4 {
						t.Errorf("%s: at %g, %g it is %g, the file says %g", c.name, v[0], v[1], v[2+k], want)
					}
				}
			}
		}
		if held < len(rows) {
			t.Errorf("%s: %d values are held to the files in %d rows", c.name, held, len(rows))
		}
		if a := p.address().Get("cut"); len(a) < 3 || strings.IndexByte("zy", a[0]) != c.axis {
			t.Errorf("%s: the address has the cut %q", c.name, a)
		}
	}
	p.choose("cut", "")
	if ask[bool](p, `document.getElementById("cut").checkVisibility() || document.querySelector("#over .section") !== null`) {
		t.Error("the cut stays when it is taken away")
	}
}
