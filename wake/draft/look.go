// Package draft looks at a folder of exports and writes the study file that they make: in go the
// files as the reader understands them, out comes a text in package study's words, in which what
// no file tells is a commented line.
//
// The steps:
//
//  1. look      each file → planes and quantities, or the record of a force (look.go)
//  2. series    files whose names differ in a number alone are snapshots (places.go)
//  3. stations  by the planes' normals, positions and windows (places.go)
//  4. join      files of different quantities at the same points (sort.go)
//  5. sort      words that some names at a station have and others have not make configurations (sort.go)
//  6. settle    the baseline, what is left to fill in, and the text (draft.go, study.tmpl)
package draft

import (
	"context"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/force"
	"wakeledger/wake/survey"
)

// Options say what the files themselves do not, as flags do.
type Options struct {
	Read  survey.Options
	Plane wake.PlaneOptions
	// Frame and Support are their words, which the draft repeats.
	Frame, Support string
	// Prefix leads from the study file's folder to that of the exports; empty where they are one.
	Prefix string
}

// export is a file of planes, or several that are joined; or a record of the force over time.
type export struct {
	// name is relative to the folder, with plus signs between files that are joined.
	name   string
	words  []string // of the name
	record bool
	// snapshots counts the files of a series, whose name is a pattern.
	snapshots int
	planes    []place
	at        []int // stations
	samples   int
	has       uint // 1<<Quantity
	even      bool // few samples are far off the middle one's speed
}

func (e *export) holds(q wake.Quantity) bool { return e.has>>q&1 == 1 }

// noExport are the endings of what no solver and no tunnel writes a survey as.
var noExport = []string{".toml", ".json", ".md", ".html", ".png", ".jpg", ".pdf", ".svg", ".go", ".py", ".sh"}

// Files lists what may be an export in a folder and those below it, in order of names: nothing
// hidden, and nothing that a study has written.
func Files(dir string) (out []string, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return &wake.InputError{File: dir, Text: "the folder cannot be read: " + wake.Reason(err), Cure: "name a folder with exports"}
		}
		rel, err := filepath.Rel(dir, path)
		_, ledger := os.Stat(filepath.Join(path, "ledger.json"))
		switch {
		case err != nil || rel == ".":
			return err
		case d.IsDir() && (ledger == nil || strings.HasPrefix(d.Name(), ".")):
			return fs.SkipDir
		case !d.IsDir() && !strings.HasPrefix(d.Name(), ".") && !slices.Contains(noExport, strings.ToLower(filepath.Ext(rel))):
			out = append(out, filepath.ToSlash(rel))
		}
		return nil
	})
	if err == nil && len(out) == 0 {
		err = &wake.InputError{File: dir, Text: "holds no file that may be an export", Cure: "name a folder with planes: text, VTK or NumPy"}
	}
	return out, err
}

// look reads a file as check does; what is no survey may be the record of a force.
func look(ctx context.Context, dir, name string, opt *Options) (*export, error) {
	if strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) || r == unicode.ReplacementChar }) {
		return nil, errors.New("its name has letters that cannot be printed: rename it")
	}
	path, read := filepath.Join(dir, filepath.FromSlash(name)), opt.Read
	// No number that depends on it is kept.
	read.Density, read.Uniform = 1, true
	e := &export{name: name, words: wordsOf(name)}
	s, err := average.Read(ctx, path, read)
	if err == nil {
		err = e.understood(s, opt.Plane)
	}
	if err == nil || ctx.Err() != nil {
		return e, ctx.Err()
	}
	if _, no := force.Read([]force.File{{Path: path, Name: name}}, anyForce); no == nil {
		return &export{name: name, words: e.words, record: true}, nil
	}
	if in, ok := errors.AsType[*wake.InputError](err); ok {
		err = errors.New(in.Text)
	}
	return nil, err
}

// anyForce reads a record for its form alone.
var anyForce = force.Options{Dynamic: 1, Area: 1}

// A stream is even where at most fewFar of the samples, the layer on a floor, are farOff its speed.
const (
	farOff = 0.1
	fewFar = 0.01
)

// understood takes from samples and their planes what the draft needs.
func (e *export) understood(s *wake.Samples, opt wake.PlaneOptions) error {
	for q := range wake.NumQuantities {
		if s.Has(q) {
			e.has |= 1 << q
		}
	}
	e.samples = s.N
	far := 0
	if s.Has(wake.U) {
		speed := slices.Sorted(slices.Values(s.Col[wake.U]))[s.N/2]
		for _, x := range s.Col[wake.U] {
			if !(math.Abs(x-speed) <= farOff*math.Abs(speed)) {
				far++
			}
		}
	}
	e.even = float64(far) <= fewFar*float64(s.N)
	opt.Release = true
	planes, err := wake.Planes(s, opt)
	for _, p := range planes {
		e.planes = append(e.planes, place{p.Normal.String(), p.Position, grid.Bounds(p.Mesh.Points)})
	}
	return err
}
