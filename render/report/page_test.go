package report

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"html"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// void elements have no end tag (HTML standard, section 13.1.2).
var void = map[string]bool{"area": true, "base": true, "br": true, "col": true, "embed": true, "hr": true, "img": true, "input": true, "link": true, "meta": true, "source": true, "track": true, "wbr": true}

type element struct {
	name string
	attr map[string]string
}

// parsePage splits a page into elements and the text outside of style, and checks
// that the tags nest.
func parsePage(t *testing.T, page string) (elements []element, text string) {
	t.Helper()
	// What scripts hold is no markup; TestPagePolicy looks at it.
	page = scripts.ReplaceAllString(page, "<script$1></script>")
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict = false
	d.AutoClose = nil
	d.Entity = xml.HTMLEntity
	var open []string
	var b strings.Builder
	for {
		tok, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{tok.Name.Local, map[string]string{}}
			for _, a := range tok.Attr {
				name := a.Name.Local
				if a.Name.Space != "" {
					name = a.Name.Space + ":" + name
				}
				if _, ok := e.attr[name]; ok {
					t.Errorf("<%s> has %s twice", e.name, name)
				}
				e.attr[name] = a.Value
			}
			elements = append(elements, e)
			if !void[e.name] {
				open = append(open, e.name)
			}
		case xml.EndElement:
			if void[tok.Name.Local] { // the decoder closes <line/> and the like by itself
				continue
			}
			if len(open) == 0 || open[len(open)-1] != tok.Name.Local {
				t.Fatalf("</%s> closes %v", tok.Name.Local, open)
			}
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) == 0 || open[len(open)-1] != "style" {
				b.Write(tok)
			}
		}
	}
	if len(open) > 0 {
		t.Errorf("left open: %v", open)
	}
	return elements, b.String()
}

// scripts matches a script as a browser takes it: up to the first end tag, whatever
// stands between.
var scripts = regexp.MustCompile(`(?is)<script([^>]*)>(.*?)</script[^>]*>`)

// checkSafe holds a page to its promises: no script but its own, no handler, no
// load.
func checkSafe(t *testing.T, elements []element) {
	t.Helper()
	ids := map[string]bool{}
	for _, e := range elements {
		if id, ok := e.attr["id"]; ok {
			if ids[id] {
				t.Errorf("id %q occurs twice", id)
			}
			ids[id] = true
		}
	}
	running := 0
	var bad []string
	defer func() {
		if running > 1 || len(bad) > 0 {
			t.Errorf("%d running scripts, others %q", running, bad)
		}
	}()
	for _, e := range elements {
		switch e.name {
		case "script":
			if e.attr["type"] == "" {
				running++
			} else if t := e.attr["type"]; t != "text/plain" && t != "application/json" {
				bad = append(bad, t)
			}
		case "iframe", "object", "embed", "link", "base", "form", "foreignObject", "use", "image":
			t.Errorf("the page has a <%s>", e.name)
		case "img":
			if !strings.HasPrefix(e.attr["src"], "data:image/png;base64,") || e.attr["alt"] == "" || e.attr["width"] == "" {
				t.Errorf("picture with alt %q from %.40q", e.attr["alt"], e.attr["src"])
			}
		}
		for name, v := range e.attr {
			switch {
			case strings.HasPrefix(name, "on") || name == "style" || name == "srcset" || name == "action":
				t.Errorf("<%s> has %s=%q", e.name, name, v)
			case name == "href":
				if id, ok := strings.CutPrefix(v, "#"); !ok || !ids[id] {
					t.Errorf("link to %q", v)
				}
			case name == "src" && e.name != "img":
				t.Errorf("<%s> loads %q", e.name, v)
			}
		}
	}
}

func samplePage(t *testing.T) string {
	t.Helper()
	return write(t, func(w io.Writer) error { return Page(w, sampleOutcome(), samplePictures(t), sampleViewer()) })
}

// TestSummary: the two pages have verdicts, quoted drag and no script, links or marks of notes.
func TestSummary(t *testing.T) {
	var b strings.Builder
	if err := Summary(&b, sampleOutcome(), nil); err != nil {
		t.Fatal(err)
	}
	elements, text := parsePage(t, b.String())
	checkSafe(t, elements)
	for _, e := range elements {
		if e.name == "script" || e.name == "a" || e.name == "sup" {
			t.Errorf("the summary has a %s", e.name)
		}
	}
	for _, want := range []string{"−0.087 ± 0.027 m² (−34 counts of 0.001, −3.8 %)", "2.292", `<figure class="chart narrow">`} {
		if !strings.Contains(text+b.String(), want) {
			t.Errorf("the summary lacks %q", want)
		}
	}
}

func TestPage(t *testing.T) {
	page := samplePage(t)
	if again := samplePage(t); again != page {
		t.Error("two runs differ")
	}
	elements, text := parsePage(t, page)
	checkSafe(t, elements)
	if n := len(regexp.MustCompile(`https?:`).FindAllString(page, -1)); n != 1 || !strings.Contains(page, `"http://www.w3.org/2000/svg"`) {
		t.Errorf("%d addresses, one is expected: the name of SVG", n)
	}
	count := map[string]int{}
	for _, e := range elements {
		count[e.name]++
	}
	// The sheet of one station and three maps of the first quantity at the other; 2
	// quantities, 3 configurations and 4 views and 3 cuts to choose from, 5 marks to switch, and
	// two sliders; samples of 2 stations × 2 quantities × 3 configurations and the
	// doubts of 2 × 2, with the index and the script.
	if count["img"] != 4 || count["input"] != 19 || count["h1"] != 1 || count["script"] != 18 || count["canvas"] != 1 {
		t.Errorf("elements %v", count)
	}
	for _, want := range []string{
		"Campus shuttle: front-wheel fairing and flare", "−0.087 ± 0.027 m² (−34 counts of 0.001, −3.8 %)", "2.292", "−0.087", "0.027", "+61", "resolved", "not resolved",
		"anchor the reference with --anchor edge", "SAE 840302 (1984).", "No plane here: bare, flare.",
		", +0.001 m² in 1 change (1 agree).", "Ledger by region", "Drag by station and term",
		"60303ae22b998861bce3b28f33eec1be758a213c86c93c076dbe9f558c11c752", "2\u00a0381\u00a0746", "it does not certify one", "q = 375 Pa",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	// Verdicts come before tables, tables before method.
	last := -1
	for _, id := range []string{`id="findings"`, `id="ledger"`, `id="maps"`, `id="charts"`, `id="stations"`, `id="force"`, `id="method"`, `id="inputs"`, `id="notes"`} {
		at := strings.Index(page, id)
		if at <= last {
			t.Errorf("%s is missing or out of order", id)
		}
		last = at
	}
}

// TestPagePolicy: the policy names the style and the script that the page has, and allows
// nothing but that and pictures in the page (CSP level 3, section 2.3.1).
func TestPagePolicy(t *testing.T) {
	page := samplePage(t)
	m := regexp.MustCompile(`<meta http-equiv="Content-Security-Policy" content="([^"]*)">`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("no policy")
	}
	style := regexp.MustCompile(`(?s)<style>(.*?)</style>`).FindAllStringSubmatch(page, -1)
	if len(style) != 1 {
		t.Fatalf("%d styles", len(style))
	}
	sum := sha256.Sum256([]byte(style[0][1]))
	var runs string
	for _, m := range scripts.FindAllStringSubmatch(page, -1) {
		if m[1] == "" {
			runs = m[2]
		} else if strings.ContainsAny(m[2], "<>&") {
			t.Errorf("script%s holds markup", m[1])
		}
	}
	js := sha256.Sum256([]byte(runs))
	want := []string{"default-src 'none'", "img-src data:", "style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'", "script-src 'sha256-" + base64.StdEncoding.EncodeToString(js[:]) + "'", "base-uri 'none'", "form-action 'none'"}
	if diff := cmp.Diff(want, strings.Split(html.UnescapeString(m[1]), "; ")); diff != "" {
		t.Errorf("policy (-want +got)\n%s", diff)
	}
	if head := strings.Index(page, "Content-Security-Policy"); head > strings.Index(page, "<style>") {
		t.Error("the policy comes after the style")
	}
}

// TestPageEscapes: names from files stay names.
func TestPageEscapes(t *testing.T) {
	const evil = `<img src=x onerror=alert(1)>`
	for _, add := range []string{evil, `"><script>alert(1)</script>`, `</title></style><script>`, `' onload='x`, `{{.Title}}`, "a\x00b\u202ec", `javascript:alert(1)`} {
		o := sampleOutcome()
		rename(o, func(s string) string { return s + add })
		for i := range o.Configurations {
			o.Configurations[i].Note = add
		}
		for i := range o.Inputs {
			o.Inputs[i].SHA256 += add
		}
		o.Stations[1].Comparison.Variants[0].Delta.Verdict += add
		o.Headline = o.Stations[1].Name
		pics := samplePictures(t)
		for i := range pics {
			p := &pics[i]
			p.Station += add
			if p.Configuration != "" {
				p.Configuration += add
			}
			p.Quantity, p.Alt, p.Caption = p.Quantity+add, p.Alt+add, p.Caption+add
		}
		view := sampleViewer()
		for i := range view.Quantities {
			view.Quantities[i].Label += add
		}
		for i := range view.Stations {
			view.Stations[i].Name += add
			for k := range view.Stations[i].Configurations {
				c := &view.Stations[i].Configurations[k]
				c.Name += add
				c.OutlineName += add
			}
		}
		page := write(t, func(w io.Writer) error { return Page(w, o, pics, view) })
		elements, text := parsePage(t, page)
		checkSafe(t, elements)
		if n := count(elements, "img"); n != 4 {
			t.Errorf("%q: %d pictures", add, n)
		}
		if n := count(elements, "script"); n != 18 {
			t.Errorf("%q: %d scripts", add, n)
		}
		if !strings.Contains(text, "fairing"+clean(add)) {
			t.Errorf("%q is not shown as it is", add)
		}
	}
}

func count(es []element, name string) int {
	n := 0
	for _, e := range es {
		if e.name == name {
			n++
		}
	}
	return n
}

// TestPageEmpty: a study that came to nothing still gives a whole page.
func TestPageEmpty(t *testing.T) {
	for _, o := range []*study.Outcome{{}, {Baseline: "bare", Stations: []study.StationOutcome{{Name: "far"}}, Configurations: []study.ConfigurationOutcome{{Name: "bare"}}}} {
		elements, text := parsePage(t, write(t, func(w io.Writer) error { return Page(w, o, nil, nil) }))
		checkSafe(t, elements)
		if !strings.Contains(text, "No station has") || count(elements, "svg") != 0 {
			t.Errorf("page of an empty study: %s", text)
		}
		write(t, func(w io.Writer) error { return StudyText(w, o) })
	}
}

func TestPageRefusesPictures(t *testing.T) {
	for _, png := range [][]byte{[]byte("GIF89a, which is some other kind of picture"), nil} {
		pics := samplePictures(t)
		pics[2].PNG = png
		var b strings.Builder
		if err := Page(&b, sampleOutcome(), pics, nil); err == nil || !strings.HasPrefix(err.Error(), `picture "Map of total-pressure loss behind bare": `) || b.Len() > 0 {
			t.Errorf("%q: %v", png, err)
		}
	}
}

// TestChart: a place on the drawing is a linear function of the change, ends included, and the sign
// tells the verdict: what is not judged is hollow with a dot, and its line has open ends.
func TestChart(t *testing.T) {
	o := sampleOutcome()
	v := o.Stations[1].Comparison.Variants
	v[1].Delta.Verdict = uncertainty.NotJudged
	o.Stations[0].Comparison = nil
	all := storyFigure(o).Shapes
	value := ruler(t, all)
	bars, dots, ends := 0, 0, 0
	for _, s := range all {
		switch {
		case strings.HasPrefix(s.Class, "bar "):
			d := v[bars].Delta
			if got := [2]float64{value(s.Points[0][0]), value(s.Points[1][0])}; math.Abs(got[0]-d.Interval[0]) > 4e-4 || math.Abs(got[1]-d.Interval[1]) > 4e-4 {
				t.Errorf("interval %d: %.4f, want %.4f", bars, got, d.Interval)
			}
			if strings.Contains(s.Class, " least ") != (d.Verdict == uncertainty.NotJudged) {
				t.Errorf("interval %d, %s: %s", bars, d.Verdict, s.Class)
			}
			bars++
		case strings.HasPrefix(s.Class, "dot "):
			dots++
		case strings.HasPrefix(s.Class, "open-end "):
			ends++
		}
	}
	if bars != len(v) || dots != 1 || ends != 2 {
		t.Errorf("%d bars, %d dots, %d open ends", bars, dots, ends)
	}
	if storyFigure(&study.Outcome{}) != nil {
		t.Error("a chart of nothing")
	}
	for _, tt := range []struct{ x, want float64 }{{0.03, 0.05}, {0.05, 0.05}, {0.051, 0.1}, {1, 1}, {1.2, 2}, {700, 1000}} {
		if got := tickStep(tt.x); math.Abs(got/tt.want-1) > 1e-12 {
			t.Errorf("tickStep(%g) = %g, want %g", tt.x, got, tt.want)
		}
	}
}

func parse(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}
