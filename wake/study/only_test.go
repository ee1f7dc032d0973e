package study_test

import (
	"fmt"
	"strings"
	"testing"

	"wakeledger/wake/study"
)

// A part of a study has the numbers of the whole, and says that it is one; what it names has to be
// there.
func TestOnly(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.4, 0)
	plane(t, dir, "a2.csv", 2, 0.4, 0)
	plane(t, dir, "b1.csv", 1, 0.5, 0)
	plane(t, dir, "c1.csv", 1, 0.6, 0)
	text := wakeStudy + "[[configuration]]\nname = \"third, and deepest\"\nsurveys = [\"c1.csv\"]\n"
	whole := mustRun(t, dir, text)
	if whole.Part != nil {
		t.Errorf("the whole is a part: %+v", whole.Part)
	}
	for _, c := range []struct{ only, want string }{
		{"third, and deepest,near", "{Configurations:[shallow third, and deepest] Stations:[near]}"},
		{"deep", "{Configurations:[shallow deep] Stations:[near far]}"},
		{",far", "{Configurations:[shallow deep third, and deepest] Stations:[far]}"},
		{"shallow, far", "{Configurations:[shallow] Stations:[far]}"},
		{"depp,near", `--only names "depp", which is no configuration; did you mean "deep"? configurations are shallow, deep`},
		{"near", `--only names "near", which is no configuration`},
		{"deepest,near", `which is no configuration`},
		{"deep,nar", `--only names "nar", which is no station; one of near, far is expected`},
	} {
		cfg, err := study.Parse("s.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		steps := 0
		var o *study.Outcome
		if err = cfg.Only(c.only); err == nil {
			o, _, err = study.Run(t.Context(), cfg, dir, nil)
			steps = study.Steps(cfg)
		}
		if err != nil {
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s: %v, want %s", c.only, err, c.want)
			}
			continue
		}
		if got := strings.Replace(fmt.Sprintf("%+v", *o.Part), " station:}", "}", 1); got != c.want || !strings.Contains(o.Title, "part: ") {
			t.Errorf("%s: %s of %s, want %s", c.only, got, o.Title, c.want)
		}
		reads := 0
		for _, in := range o.Inputs {
			if in.Role == "survey" {
				reads++
			}
		}
		if steps != reads+len(o.Stations) {
			t.Errorf("%s: %d steps for %d surveys and %d stations", c.only, steps, reads, len(o.Stations))
		}
		for _, st := range o.Stations {
			for _, w := range whole.Stations {
				for _, s := range w.Surveys {
					for _, p := range st.Surveys {
						if w.Name == st.Name && s.Configuration == p.Configuration && s.Result.Drag.Momentum.DragArea != p.Result.Drag.Momentum.DragArea {
							t.Errorf("%s: %s at %s has %g, the whole study %g", c.only, p.Configuration, st.Name, p.Result.Drag.Momentum.DragArea, s.Result.Drag.Momentum.DragArea)
						}
					}
				}
			}
			if st.Name == "near" && st.Comparison == nil {
				t.Errorf("%s: nothing is compared", c.only)
			}
		}
	}
}
