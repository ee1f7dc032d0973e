package atlas

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/golang/freetype/truetype"
	"golang.org/x/image/font/gofont/goregular"

	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake/force"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/survey/rake"
	"wakeledger/wake/uncertainty"
)

// TestChartInksAreThePages: the pictures of charts have the colours of the page, on
// light and on dark, except that their paper is that of the maps.
func TestChartInksAreThePages(t *testing.T) {
	css := must(os.ReadFile("../report/page.css"))
	light, dark, ok := strings.Cut(string(css), "@media (prefers-color-scheme:dark){")
	if !ok {
		t.Fatal("the style has no dark scheme")
	}
	for name, want := range chartInks {
		for k, part := range []string{light, dark} {
			if name == "paper" {
				continue
			}
			m := regexp.MustCompile(`--` + name + `:#([0-9a-f]{6})`).FindStringSubmatch(part)
			if m == nil || m[1] != want[k] {
				t.Errorf("%s is %s here and %v in the page", name, want[k], m)
			}
		}
	}
	for k, theme := range []render.Theme{render.Light, render.Dark} {
		p := theme.Paper
		if got := fmt.Sprintf("%02x%02x%02x", p.R, p.G, p.B); got != chartInks["paper"][k] {
			t.Errorf("paper %s, the maps' is %s", chartInks["paper"][k], got)
		}
	}
}

// A chart that is higher than a picture can be is drawn smaller.
func TestTallChart(t *testing.T) {
	if _, err := Chart(&report.Chart{Title: "tall", Caption: "of very many stations", Width: 900, Height: 25000}, "study", Options{}); err != nil {
		t.Error(err)
	}
}

// TestEveryShapeHasALook: no class of a chart is left without ink.
func TestEveryShapeHasALook(t *testing.T) {
	o, _ := twoStations(t)
	for i := range o.Stations {
		for k := range o.Stations[i].Surveys {
			s := &o.Stations[i].Surveys[k]
			if s.Result == nil || s.Result.Drag == nil {
				t.Fatal("the study has no drag")
			}
		}
	}
	change := func(name, verdict string) force.Change {
		v := 1.0
		return force.Change{Name: name, Baseline: &v, Variant: &v, Delta: 0.1, AtLeast: verdict == uncertainty.NotJudged, AreaBudget: uncertainty.AreaBudget{Expanded: 0.05}, Judgement: uncertainty.Judgement{Verdict: verdict}}
	}
	o.ByPart = []study.ForceLedger{{Configuration: o.Configurations[len(o.Configurations)-1].Name, Ledger: &force.Ledger{
		Parts: []force.Change{change("a", uncertainty.Resolved), change("b", uncertainty.NotResolved), change("c", uncertainty.NotJudged)}, Total: change("total", uncertainty.Resolved),
	}}}
	charts := report.Charts(o)
	if charts[0].Name != "where-the-change-is" {
		t.Errorf("the first chart is %s", charts[0].Name)
	}
	if len(charts) < 3 {
		t.Fatalf("%d charts", len(charts))
	}
	log := must(rake.Read(t.Context(), []rake.File{{Path: "../../examples/rake/bare_rake.csv"}}, rake.File{Path: "../../examples/rake/rake.toml"}, rake.Options{}))
	for _, c := range append(charts, report.RakeCharts(log, "a log")...) {
		if len(c.Shapes) == 0 {
			t.Errorf("%s is empty", c.Name)
		}
		for _, s := range c.Shapes {
			it := (Options{}).chartItem(s)
			if n := len(it.Points); s.Filled && it.Fill.A == 0 && it.Points[0] != it.Points[n-1] {
				t.Errorf("%s: the outline of %q is open", c.Name, s.Class)
			}
			if s.Text == "" && it.Fill.A == 0 && !(it.Stroke.A > 0 && it.Width > 0) {
				t.Errorf("%s: class %q has no look", c.Name, s.Class)
			}
			for _, p := range s.Points {
				if !(p[0] >= -1 && p[0] <= c.Width+1 && p[1] >= -1 && p[1] <= c.Height+1) {
					t.Errorf("%s: %q at %v leaves the box of %g × %g", c.Name, s.Class, p, c.Width, c.Height)
				}
			}
		}
		if png, err := Chart(c, "study.toml", Options{}); err != nil || note(t, png, "Title") != c.Title {
			t.Errorf("%s: %v", c.Name, err)
		}
	}
}

// The font of the pictures has every letter of what is written below them.
func TestFooterHasLetters(t *testing.T) {
	f := must(truetype.Parse(goregular.TTF))
	p, ok := render.Limits("local drag")
	if !ok || formula(p) == "" {
		t.Fatal("local drag has no formula")
	}
	for _, r := range footer(&measure.Result{}) + formula(p) {
		if f.Index(r) == 0 {
			t.Errorf("no letter for %q", r)
		}
	}
}
