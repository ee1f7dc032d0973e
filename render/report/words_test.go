package report

import (
	"bytes"
	"go/scanner"
	"go/token"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
)

// stilted are the phrases that no output and no comment has: the words beside them say it
// plainly. Keys and flags of the contract keep theirs ("birge_ratio", "cure"). A letter in
// brackets keeps each from being found here.
var stilted = regexp.MustCompile("(?i)" + strings.Join([]string{
	`\bn[o]ughts?\b`,                     // zero
	`\b(is|are|was|were|be) w[o]rth\b`,   // changes … by
	`\b(can|cannot|could|to) be h[a]d\b`, // needs, is not computable from
	`\bst(and|ands|ood) f[o]r\b`,         // represents
	`\bh(ang|angs|ung|anging) [o]n\b`,    // depends on
	`\bst[e]ers\b`, `\bt[o]ld of\b`,      // configures, is known
	`average is h[e]ld in`,                      // includes time averaging
	`as far as th[i]s budget`, `n[o]t evidence`, // the interval contains zero
	`takes up c[a]rries`,                             // local drag in this wake
	`takes away st[a]nds`, `the str[o]ke is the sum`, // plots left of zero; the tick is the total
	`B[i]rge ratio`, `solution b[a]nd\b`, // consistency, solver uncertainty
	`of the moves h[o]ld the finite time`,                           // includes time averaging
	`>files r[e]ad\b`, `"files r[e]ad`, `\bc[u]re: |\bwould c[u]re`, // inputs, fix
}, "|"))

// TestPlainWords looks through what users and programmers read: comments and string
// literals of the program, the comments of its tests, the goldens, and the pages of text.
func TestPlainWords(t *testing.T) {
	root := filepath.Join("..", "..")
	seen := 0
	look := func(name, text string, line int) {
		seen++
		for k, l := range strings.Split(text, "\n") {
			if m := stilted.FindString(l); m != "" {
				t.Errorf("%s:%d: %q in %s", name, line+k, m, strings.TrimSpace(l))
			}
		}
	}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); name != ".." && strings.HasPrefix(name, ".") {
				return filepath.SkipDir
			}
			return nil
		}
		name, _ := filepath.Rel(root, path)
		name = filepath.ToSlash(name)
		switch filepath.Ext(name) {
		case ".go":
		case ".md", ".js", ".css", ".gohtml", ".txtar", ".txt", ".toml", ".sh", ".golden":
			b, err := os.ReadFile(path)
			look(name, string(b), 1)
			return err
		default:
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		set := token.NewFileSet()
		file := set.AddFile(name, -1, len(b))
		var s scanner.Scanner
		s.Init(file, b, nil, scanner.ScanComments)
		for {
			pos, tok, lit := s.Scan()
			if tok == token.EOF {
				return nil
			}
			if tok == token.STRING && !strings.HasSuffix(name, "_test.go") || tok == token.COMMENT {
				look(name, lit, set.Position(pos).Line)
			}
		}
	})
	if err != nil || seen < 1000 {
		t.Errorf("%d texts, %v", seen, err)
	}
}

// TestShortText: unless all is asked for, a plane is 25 lines at most, a variant 20, and a
// study 60.
func TestShortText(t *testing.T) {
	lines := func(write func(*bytes.Buffer) error) int {
		t.Helper()
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		return bytes.Count(b.Bytes(), []byte("\n"))
	}
	for _, r := range []*measure.Result{far("bare", areaBare), wheel("bare"), topView()} {
		if n := lines(func(b *bytes.Buffer) error { return MeasureText(b, []*measure.Result{r}, false, 0) }); n > 25 {
			t.Errorf("measure %s: %d lines", r.File, n)
		}
		text := write(t, func(w io.Writer) error { return MeasureText(w, []*measure.Result{r}, false, 0) })
		if cut := strings.Contains(text, "the plane cuts the body"); cut != r.Mesh.CutsBody || strings.Contains(text, "cuts-body") {
			t.Errorf("that the plane cuts the body is for the verdict alone to say: %s", text)
		}
	}
	c := wheelComparison()
	if n := lines(func(b *bytes.Buffer) error { return CompareText(b, c, []string{"bare", "fairing", "flare"}, false) }); n > 20*len(c.Variants) {
		t.Errorf("compare: %d lines of %d variants", n, len(c.Variants))
	}
	if n := lines(func(b *bytes.Buffer) error { return StudySummary(b, sampleOutcome()) }); n > 60 {
		t.Errorf("study: %d lines", n)
	}
}

// Where parts merge or split, what two of them differ by is where their border went: no number is given.
func TestMerged(t *testing.T) {
	s := &compare.Structures{Match: &parts.Matching{
		Pairs:  []parts.MatchPair{{A: "centre", B: "middle"}, {A: "roof", B: "roof"}, {A: "floor", B: "floor"}},
		Events: []parts.Event{{Kind: "merges", Name: "wheel", Of: "middle"}, {Kind: "splits", Name: "roof rail", Of: "roof"}, {Kind: "vanishes", Name: "mirror"}},
	}}
	for name, want := range map[string]bool{"centre": true, "wheel": true, "roof": true, "roof rail": true, "floor": false, "mirror": false} {
		if got := merged(s)[name]; got != want {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
		d := 0.5
		s.Shifts = []*shift.Shift{{A: name, DragArea: &d}}
		if cells := moveTable(s).Rows[0]; (cells[len(cells)-1] == partsMerged) != want {
			t.Errorf("%s: %q", name, cells)
		}
	}
}
