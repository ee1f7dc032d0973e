package main

import (
	"cmp"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// arrows lists, for each package of the program, the packages of the program
// that it may import. Data flows read → plane → measure → compare → render; what
// is not listed points the wrong way. A trailing * takes all packages below.
var arrows = map[string][]string{
	"grid":                 {},
	"grid/predicate":       {"grid"},
	"grid/delaunay":        {"grid", "grid/predicate"},
	"grid/quad":            {"grid"},
	"grid/isoline":         {"grid"},
	"grid/poisson":         {"grid", "grid/quad"},
	"grid/gridtest":        {"grid"},
	"wake":                 {"grid", "grid/delaunay"},
	"wake/waketest":        {"grid", "wake"},
	"wake/survey":          {"grid", "wake", "wake/survey/*"},
	"wake/survey/vtk":      {"grid", "wake", "wake/survey/number"},
	"wake/survey/number":   {},
	"wake/survey/rake":     {"grid*", "wake", "wake/survey", "wake/survey/settings", "wake/measure"},
	"wake/survey/settings": {"wake"},
	"wake/average":         {"grid*", "wake", "wake/survey", "wake/measure", "wake/uncertainty"},
	"wake/force":           {"wake", "wake/survey", "wake/survey/settings", "wake/uncertainty"},
	"wake/plan":            {"wake", "wake/uncertainty"},
	"wake/measure":         {"grid*", "wake", "wake/uncertainty"},
	"wake/compare":         {"grid*", "wake", "wake/force", "wake/measure", "wake/uncertainty", "wake/parts", "wake/shift"},
	"wake/uncertainty":     {},
	"wake/parts":           {"grid*", "wake", "wake/measure"},
	"wake/parts/partstest": {"grid", "wake", "wake/measure", "wake/parts", "wake/waketest"},
	"wake/shift":           {"grid*", "wake", "wake/measure", "wake/parts", "wake/uncertainty"},
	"wake/study":           {"grid*", "wake", "wake/average", "wake/force", "wake/survey*", "wake/measure", "wake/compare", "wake/uncertainty", "wake/parts", "wake/shift"},
	"wake/draft":           {"grid", "wake", "wake/average", "wake/force", "wake/survey"},
	"render":               {"grid", "grid/isoline"},
	"render/report":        {"wake", "grid", "wake/average", "wake/plan", "wake/force", "wake/uncertainty", "wake/measure", "wake/compare", "wake/study", "wake/parts", "wake/shift", "wake/survey/rake"},
	"render/atlas":         {"wake", "grid", "grid/isoline", "grid/quad", "render", "render/report", "wake/measure", "wake/compare", "wake/study", "wake/uncertainty"},
	"examples/shuttle":     {},
	"cmd/wakeledger":       {"*"},
	"cmd/speedtable":       {},
}

// only lists modules that one room of the house keeps to itself.
var only = map[string]string{
	"github.com/fogleman/gg":             "render",
	"github.com/spf13/pflag":             "cmd/",
	"github.com/gofrs/flock":             "cmd/",
	"github.com/pelletier/go-toml/v2":    "wake/",
	"github.com/lucasb-eyer/go-colorful": "render",
}

// banned must not be linked into the program: it works without a network.
var banned = []string{"net", "net/http", "math/rand", "log", "C"}

func TestImportArrows(t *testing.T) {
	root := filepath.Join("..", "..")
	module := strings.Fields(read(t, filepath.Join(root, "go.mod")))[1]
	seen := 0
	must(t, filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && strings.HasPrefix(d.Name(), ".") && file != root {
			return cmp.Or(err, filepath.SkipDir)
		}
		if d.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return nil
		}
		dir, err := filepath.Rel(root, filepath.Dir(file))
		must(t, err)
		pkg := filepath.ToSlash(dir)
		allowed, known := arrows[pkg]
		if !known {
			t.Errorf("package %s is not in the table of arrows: say what it may import", pkg)
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		must(t, err)
		for _, im := range f.Imports {
			seen++
			path := strings.Trim(im.Path.Value, `"`)
			if slices.Contains(banned, path) {
				t.Errorf("%s imports %s, which the program does without", file, path)
			}
			if keeper, ok := only[path]; ok && pkg != keeper && !(strings.HasSuffix(keeper, "/") && strings.HasPrefix(pkg, keeper)) {
				t.Errorf("%s imports %s, which belongs to %s alone", file, path, keeper)
			}
			inside, ok := strings.CutPrefix(path, module+"/")
			if !ok {
				continue
			}
			if strings.HasSuffix(inside, "test") && !strings.HasSuffix(pkg, "test") {
				t.Errorf("%s imports the test package %s", file, inside)
			}
			if !slices.ContainsFunc(allowed, func(a string) bool {
				p, wild := strings.CutSuffix(a, "*")
				return inside == a || wild && strings.HasPrefix(inside, p)
			}) {
				t.Errorf("%s: the arrow %s → %s is not in the house's plan", file, pkg, inside)
			}
		}
		return nil
	}))
	if seen < 100 {
		t.Errorf("%d imports looked at, where hundreds are expected", seen)
	}
}
