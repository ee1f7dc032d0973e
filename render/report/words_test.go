package report

import (
	"bytes"
	"go/scanner"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
)

// stilted are the phrases that nothing that is printed, and no comment of the packages that
// print, has: the right-hand words say it plainly. They are in pieces so that this list is
// not found itself.
var stilted = regexp.MustCompile("(?i)" + strings.Join([]string{
	`\bno` + `ughts?\b`,                      // zero
	`\b(is|are|was|were|be) wor` + `th\b`,    // changes … by
	`can` + `not be had`, `to be h` + `ad\b`, // needs, is not computable from
	`\bstands? f` + `or\b`,                   // represents
	`\bha` + `ngs? on\b`,                     // depends on
	`\bst` + `eers\b`, `\bis told o` + `f\b`, // configures, is known
	`as far as this bud` + `get`,             // the interval contains zero
	`not evid` + `ence`,                      // the interval contains zero
	`takes up car` + `ries`,                  // local drag in this wake
	`the str` + `oke is the sum`,             // the tick is the total
	`Bir` + `ge ratio`,                       // consistency
	`of the moves hold the fin` + `ite time`, // includes time averaging
}, "|"))

// TestPlainWords looks through what users read: string literals of all packages, the
// comments of those that print, the goldens and the pages of text.
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
		golden := strings.HasPrefix(name, "render/report/testdata/") || strings.HasPrefix(name, "cmd/wakeledger/testdata/")
		source := strings.HasSuffix(name, ".go")
		if !source && !golden && !strings.HasSuffix(name, ".md") && !strings.HasPrefix(name, "render/report/page.") {
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil || !source {
			look(name, string(b), 1)
			return err
		}
		printing := strings.HasPrefix(name, "render/") || strings.HasPrefix(name, "cmd/wakeledger/")
		set := token.NewFileSet()
		file := set.AddFile(name, -1, len(b))
		var s scanner.Scanner
		s.Init(file, b, nil, scanner.ScanComments)
		for {
			pos, tok, lit := s.Scan()
			if tok == token.EOF {
				return nil
			}
			if tok == token.STRING && !strings.HasSuffix(name, "_test.go") || tok == token.COMMENT && printing {
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
		if n := lines(func(b *bytes.Buffer) error { return MeasureText(b, []*measure.Result{r}, false) }); n > 25 {
			t.Errorf("measure %s: %d lines", r.File, n)
		}
	}
	c := wheelComparison()
	if n := lines(func(b *bytes.Buffer) error { return CompareText(b, c, nil, false) }); n > 20*len(c.Variants) {
		t.Errorf("compare: %d lines of %d variants", n, len(c.Variants))
	}
	if n := lines(func(b *bytes.Buffer) error { return CompareText(b, &compare.Comparison{}, nil, false) }); n > 20 {
		t.Errorf("an empty comparison: %d lines", n)
	}
	if n := lines(func(b *bytes.Buffer) error { return StudySummary(b, sampleOutcome()) }); n > 60 {
		t.Errorf("study: %d lines", n)
	}
}
