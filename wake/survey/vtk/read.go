package vtk

import (
	"bytes"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"

	"wakeledger/wake"
)

// Looks reports whether a file that begins with prefix is of a format that this
// package reads, or of the same family; 512 bytes are enough for the library's own
// files.
func Looks(prefix []byte) bool {
	b := skipMark(prefix)
	return looksLegacy(b) || xmlStart.Match(b)
}

// Comments and the declaration may stand before the first element.
var xmlStart = regexp.MustCompile(`(?s)^[\x00- ]*(?:(?:<\?.*?\?>|<!--.*?-->)[\x00- ]*)*<VTKFile`)

func skipMark(b []byte) []byte { return bytes.TrimPrefix(b, []byte("\xef\xbb\xbf")) }

func looksLegacy(b []byte) bool {
	return len(b) >= len(legacyMagic) && strings.EqualFold(string(b[:len(legacyMagic)]), legacyMagic)
}

// Read reads the file called name with the content data. open returns the content of the
// files that an index names, each by its path beside the index, with slashes; nil where no
// index is expected. All that an index names, pieces or blocks, is one data set. want tells
// by name which arrays are converted (nil: all); the lengths of the others are checked.
//
// Errors are *wake.InputError with the byte offset in the text and, where the file is text,
// the line; errors from open are wrapped.
func Read(name string, data []byte, open func(rel string) ([]byte, error), want func(array string) bool) (d *Dataset, err error) {
	r := &reader{top: name, open: open, want: want, opened: map[string]bool{}}
	s := &source{name: name, rel: path.Base(strings.ReplaceAll(name, "\\", "/")), data: data}
	r.opened[s.rel] = true
	err = wake.Attempt(func() {
		ps := r.load(s)
		s.failIf(len(ps) == 0, 0, xmlCure, "the index names no file with data")
		d = assemble(s, ps)
	})
	return d, err
}

type reader struct {
	top    string
	open   func(rel string) ([]byte, error)
	want   func(array string) bool
	opened map[string]bool // the files that an index has named, and the first
}

func (r *reader) wants(array string) bool {
	return r.want == nil || marks(array) || r.want(array)
}

// load reads the pieces of one file, or of those that it names.
func (r *reader) load(s *source) []*piece {
	s.data = skipMark(s.data)
	if looksLegacy(s.data) {
		return []*piece{readLegacy(r, s)}
	}
	lo, _ := word(s.data, 0)
	if b := s.data[lo:]; len(b) == 0 || b[0] != '<' {
		s.refuse(0, "give a .vtk, .vtp, .vtu, .vts, .vtr, .vti file or an index of such", "the file begins with %s, expected %q or an XML element", quote(string(b[:min(len(b), 20)])), legacyMagic)
	}
	x := openXML(r, s)
	if _, ok := xmlKinds[x.kind]; ok {
		return x.pieces()
	}
	_, parallel := xmlKinds[strings.TrimPrefix(x.kind, "P")]
	x.failIf(!parallel && !slices.Contains(blockKinds, x.kind), x.root.Off, "export polygonal data, a grid, or a multi-block index of such", "the file is of type %s, which is not read", quote(x.kind))
	return r.index(x)
}

var blockKinds = []string{"vtkMultiBlockDataSet", "vtkMultiPieceDataSet", "vtkPartitionedDataSet", "vtkPartitionedDataSetCollection"}

// index reads the files that a parallel or a multi-block index names.
func (r *reader) index(x *xmlFile) (ps []*piece) {
	top := x.primary()
	var walk func(n *node)
	walk = func(n *node) {
		for _, c := range n.Kids {
			for _, key := range []string{"Source", "file"} { // of a piece, of a block
				if file := c.attr(key); file != "" {
					ps = append(ps, r.named(x, c, file)...)
				}
			}
			walk(c)
		}
	}
	walk(top)
	return ps
}

// named reads a file that the element n of index x names, if none has named it before.
func (r *reader) named(x *xmlFile, n *node, file string) (ps []*piece) {
	names := "the index names the file " + quote(file)
	rel := file
	if !strings.Contains(rel, "/") {
		rel = strings.ReplaceAll(rel, "\\", "/")
	}
	x.failIf(path.IsAbs(rel) || strings.ContainsAny(rel, ":\x00"), n.Off, "keep the files beside their index and name them by a path from there", "%s", names)
	rel = path.Join(path.Dir(x.rel), rel)
	x.failIf(rel == ".." || strings.HasPrefix(rel, "../"), n.Off, "keep the files beside their index or in folders below it", "%s, which is outside its folder", names)
	x.failIf(r.open == nil, n.Off, "give the file itself", "%s, which cannot be opened from here", names)
	if r.opened[rel] {
		return []*piece{{src: x.source, notes: []string{names + " more than once; it is read once"}}}
	}
	r.opened[rel] = true
	data, err := r.open(rel)
	if err != nil {
		wake.Stop(fmt.Errorf("%w: %w", x.fail(n.Off, "put the file beside the index", "%s, which cannot be read", names), err))
	}
	// path.Join would tidy the user's own spelling of the folder.
	return r.load(&source{name: r.top[:strings.LastIndexAny(r.top, `/\`)+1] + rel, rel: rel, data: data})
}
