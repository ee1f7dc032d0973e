package vtk

import (
	"bytes"
	"cmp"
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
// index is expected. A multi-block index makes one data set for each block that is not
// empty, any other file one. want tells by name which arrays are converted (nil: all); the
// lengths of the others are checked.
//
// Errors are *wake.InputError with the byte offset in the text and, where the file is text,
// the line; errors from open are wrapped.
func Read(name string, data []byte, open func(rel string) ([]byte, error), want func(array string) bool) (ds []*Dataset, err error) {
	r := &reader{top: name, open: open, want: want, opened: map[string]bool{}}
	s := &source{name: name, rel: path.Base(strings.ReplaceAll(name, "\\", "/")), data: data}
	err = wake.Attempt(func() { ds = r.datasets(s, "") })
	return ds, err
}

type reader struct {
	top  string
	open func(rel string) ([]byte, error)
	want func(array string) bool
	// stack holds the files that are being read, the index first; opened all that
	// an index has named.
	stack  []string
	opened map[string]bool
}

func (r *reader) wants(array string) bool {
	return r.want == nil || marks(array) || r.want(array)
}

func (r *reader) datasets(s *source, block string) []*Dataset {
	x, ps := r.load(s)
	if ps == nil {
		return r.blocks(x, block)
	}
	return []*Dataset{assemble(s, block, ps)}
}

// load reads the pieces of one file, following a parallel index. For a multi-block
// index it returns the file alone.
func (r *reader) load(s *source) (x *xmlFile, ps []*piece) {
	if n := len(s.data) - len(skipMark(s.data)); n > 0 {
		s.data, s.mark = s.data[n:], n
	}
	if looksLegacy(s.data) {
		return nil, []*piece{readLegacy(r, s)}
	}
	lo, _ := word(s.data, 0)
	if b := s.data[lo:]; len(b) == 0 || b[0] != '<' {
		s.refuse(0, "give a .vtk, .vtp, .vtu, .vts, .vtr, .vti file or an index of such", "the file begins with %s, expected %q or an XML element", quote(string(b[:min(len(b), 20)])), legacyMagic)
	}
	x = openXML(r, s)
	switch x.kind {
	case "vtkMultiBlockDataSet", "vtkMultiPieceDataSet", "vtkPartitionedDataSet", "vtkPartitionedDataSetCollection":
		return x, nil
	}
	if _, ok := xmlKinds[x.kind]; ok {
		return x, x.pieces()
	}
	k, ok := xmlKinds[strings.TrimPrefix(x.kind, "P")]
	x.failIf(!ok, x.root.off, "export polygonal data, a grid, or a multi-block index of such", "the file is of type %s, which is not read", quote(x.kind))
	return x, r.parallel(x, k)
}

// source opens a file that the element n of index x names; fresh is false where an index
// has named it before.
func (r *reader) source(x *xmlFile, n *node, attr string) (s *source, fresh bool) {
	v, _ := n.attr(attr)
	names := "the index names the file " + quote(v)
	rel := v
	if !strings.Contains(rel, "/") {
		rel = strings.ReplaceAll(rel, "\\", "/")
	}
	x.failIf(path.IsAbs(rel) || rel == "" || strings.ContainsAny(rel, ":\x00"), n.off, "keep the files beside their index and name them by a path from there", "%s", names)
	rel = path.Join(path.Dir(x.rel), rel)
	x.failIf(rel == ".." || strings.HasPrefix(rel, "../"), n.off, "keep the files beside their index or in folders below it", "%s, which is outside its folder", names)
	x.failIf(slices.Contains(r.stack, rel) || rel == x.rel, n.off, "export the index again", "%s, which is an index that leads here", names)
	x.failIf(r.open == nil, n.off, "give the file itself", "%s, which cannot be opened from here", names)
	data, err := r.open(rel)
	if err != nil {
		wake.Stop(fmt.Errorf("%w: %w", x.fail(n.off, "put the file beside the index", "%s, which cannot be read", names), err))
	}
	fresh = !r.opened[rel]
	r.opened[rel] = true
	// path.Join would tidy the user's own spelling of the folder.
	name := r.top[:strings.LastIndexAny(r.top, `/\`)+1] + rel
	return &source{name: name, rel: rel, data: data}, fresh
}

// enter notes that an index is being read, and refuses deep nesting.
func (r *reader) enter(x *xmlFile) (top *node, leave func()) {
	x.failIf(len(r.stack) >= 16, x.root.off, "export the index again", "indices name each other more than 16 deep")
	r.stack = append(r.stack, x.rel)
	return x.primary(), func() { r.stack = r.stack[:len(r.stack)-1] }
}

func (r *reader) parallel(x *xmlFile, k kind) (ps []*piece) {
	top, leave := r.enter(x)
	defer leave()
	var notes []string
	for _, n := range top.all("Piece") {
		s, fresh := r.source(x, n, "Source")
		if !fresh {
			notes = append(notes, fmt.Sprintf("the index names %s more than once; it is read once", quote(s.rel)))
			continue
		}
		y, more := r.load(s)
		is := "the legacy format"
		if y != nil && more == nil {
			is = "type " + quote(y.kind)
		} else if y != nil {
			is = "a " + more[0].kind.String()
		}
		s.failIf(more == nil || y == nil || more[0].kind != k, 0, "export the index and its pieces again", "a piece of %s, but the index %s is of %ss", is, quote(x.name), k)
		ps = append(ps, more...)
	}
	x.failIf(len(ps) == 0, top.off, xmlCure, "the index names no pieces")
	ps[0].notes = append(ps[0].notes, notes...)
	return ps
}

func (r *reader) blocks(x *xmlFile, name string) (out []*Dataset) {
	top, leave := r.enter(x)
	defer leave()
	var walk func(n *node, name string)
	walk = func(n *node, name string) {
		for i, c := range n.kids {
			label, _ := c.attr("name")
			index, _ := c.attr("index")
			label = path.Join(name, cmp.Or(label, index, fmt.Sprint(i)))
			switch c.name {
			case "Block", "Piece", "Partitions":
				walk(c, label)
			case "DataSet":
				if _, ok := c.attr("file"); !ok {
					continue // a block that is empty
				}
				s, fresh := r.source(x, c, "file")
				x.failIf(!fresh, c.off, "export the index again", "the index names the file %s for the second time", quote(s.rel))
				for _, d := range r.datasets(s, label) {
					if d.NumPoints() > 0 {
						out = append(out, d)
					}
				}
			}
		}
	}
	walk(top, name)
	x.failIf(len(out) == 0 && len(r.stack) == 1, top.off, "export the blocks with the index", "all blocks of the index are empty")
	return out
}
