package vtk

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strings"
)

// Looks reports whether a file that begins with prefix is of a format that this
// package reads, or of the same family; 512 bytes are enough for the library's own
// files.
func Looks(prefix []byte) bool {
	b := skipMark(prefix)
	if looksLegacy(b) {
		return true
	}
	// Comments and the declaration may stand before the first element.
	for {
		lo, _ := word(b, 0)
		b = b[lo:]
		end := ""
		switch {
		case bytes.HasPrefix(b, []byte("<VTKFile")):
			return true
		case bytes.HasPrefix(b, []byte("<?")):
			end = "?>"
		case bytes.HasPrefix(b, []byte("<!--")):
			end = "-->"
		default:
			return false
		}
		i := bytes.Index(b[2:], []byte(end))
		if i < 0 {
			return false
		}
		b = b[2+i+len(end):]
	}
}

// skipMark goes behind a byte order mark of UTF-8.
func skipMark(b []byte) []byte { return bytes.TrimPrefix(b, []byte("\xef\xbb\xbf")) }

func looksLegacy(b []byte) bool {
	return len(b) >= len(legacyMagic) && strings.EqualFold(string(b[:len(legacyMagic)]), legacyMagic)
}

// Read reads the file called name with the content data. When the file is an
// index, open returns the content of the files that it names, each by its path
// beside the index, with slashes; open may be nil where no index is expected. A
// multi-block index makes one data set for each block that is not empty; all other
// files make one.
//
// want tells by name which arrays are read; the others are checked for length but not
// converted, which saves their memory. It may be nil.
//
// The name is used in messages and in Dataset.File. Errors are *wake.InputError
// with the byte offset in the text and, where the file is text, the line; errors
// from open are wrapped.
func Read(name string, data []byte, open func(rel string) ([]byte, error), want func(array string) bool) ([]*Dataset, error) {
	r := &reader{top: name, open: open, want: want}
	s := &source{name: name, rel: path.Base(strings.ReplaceAll(name, "\\", "/")), data: data}
	return r.datasets(s, "")
}

// reader is one call of Read.
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

// datasets reads one file, whatever it is.
func (r *reader) datasets(s *source, block string) ([]*Dataset, error) {
	x, k, ps, err := r.load(s)
	if err != nil {
		return nil, err
	}
	if ps != nil {
		d, err := assemble(s, block, k, ps)
		if err != nil {
			return nil, err
		}
		return []*Dataset{d}, nil
	}
	return r.blocks(x, block)
}

// load reads the pieces of one file, following a parallel index. For a multi-block
// index it returns the file alone.
func (r *reader) load(s *source) (x *xmlFile, k kind, ps []*piece, err error) {
	if n := len(s.data) - len(skipMark(s.data)); n > 0 {
		s.data, s.mark = s.data[n:], n
	}
	if looksLegacy(s.data) {
		k, ps, err = readLegacy(r, s)
		return nil, k, ps, err
	}
	lo, _ := word(s.data, 0)
	if b := s.data[lo:]; len(b) == 0 || b[0] != '<' {
		return nil, 0, nil, s.fail(0, "give a .vtk, .vtp, .vtu, .vts, .vtr, .vti file or an index of such", "the file begins with %s, expected %q or an XML element", quote(string(b[:min(len(b), 20)])), legacyMagic)
	}
	if x, err = openXML(r, s); err != nil {
		return nil, 0, nil, err
	}
	if _, ok := xmlKinds[x.kind]; ok {
		k, ps, err = x.pieces()
		return x, k, ps, err
	}
	if k, ok := xmlKinds[strings.TrimPrefix(x.kind, "P")]; ok {
		ps, err = r.parallel(x, k)
		return x, k, ps, err
	}
	switch x.kind {
	case "vtkMultiBlockDataSet", "vtkMultiPieceDataSet", "vtkPartitionedDataSet", "vtkPartitionedDataSetCollection":
		return x, 0, nil, nil
	}
	return nil, 0, nil, s.fail(x.root.off, "export polygonal data, a grid, or a multi-block index of such", "the file is of type %s, which is not read", quote(x.kind))
}

// source opens a file that the element n of index x names.
func (r *reader) source(x *xmlFile, n *node, attr string) (*source, error) {
	v, _ := n.attr(attr)
	rel := v
	if !strings.Contains(rel, "/") {
		rel = strings.ReplaceAll(rel, "\\", "/")
	}
	if path.IsAbs(rel) || rel == "" || strings.Contains(rel, ":") || strings.Contains(rel, "\x00") {
		return nil, x.fail(n.off, "keep the files beside their index and name them by a path from there", "the index names the file %s", quote(v))
	}
	rel = path.Join(path.Dir(x.rel), rel)
	if rel == ".." || strings.HasPrefix(rel, "../") {
		return nil, x.fail(n.off, "keep the files beside their index or in folders below it", "the index names the file %s, which is outside its folder", quote(v))
	}
	if slices.Contains(r.stack, rel) || rel == x.rel {
		return nil, x.fail(n.off, "export the index again", "the index names %s, which is an index that leads here", quote(v))
	}
	if r.open == nil {
		return nil, x.fail(n.off, "give the file itself", "the index names the file %s, which cannot be opened from here", quote(v))
	}
	data, err := r.open(rel)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", x.fail(n.off, "put the file beside the index", "the index names the file %s, which cannot be read", quote(v)), err)
	}
	// path.Join would tidy the user's own spelling of the folder.
	name := rel
	if i := strings.LastIndexAny(r.top, `/\`); i >= 0 {
		name = r.top[:i+1] + rel
	}
	return &source{name: name, rel: rel, data: data}, nil
}

// push notes that an index is being read, and refuses deep nesting.
func (r *reader) push(x *xmlFile) error {
	if len(r.stack) >= 16 {
		return x.fail(x.root.off, "export the index again", "indices name each other more than 16 deep")
	}
	r.stack = append(r.stack, x.rel)
	return nil
}

func (r *reader) pop() { r.stack = r.stack[:len(r.stack)-1] }

// fresh reports whether no index has named the file before, so that it is not read
// twice.
func (r *reader) fresh(s *source) bool {
	if r.opened == nil {
		r.opened = map[string]bool{}
	}
	was := r.opened[s.rel]
	r.opened[s.rel] = true
	return !was
}

// parallel reads the files that a parallel index names.
func (r *reader) parallel(x *xmlFile, k kind) ([]*piece, error) {
	top, err := x.primary()
	if err != nil {
		return nil, err
	}
	if err := r.push(x); err != nil {
		return nil, err
	}
	defer r.pop()
	var ps []*piece
	var notes []string
	for _, n := range top.all("Piece") {
		s, err := r.source(x, n, "Source")
		if err != nil {
			return nil, err
		}
		if !r.fresh(s) {
			notes = append(notes, fmt.Sprintf("the index names %s more than once; it is read once", quote(s.rel)))
			continue
		}
		y, ky, more, err := r.load(s)
		if err != nil {
			return nil, err
		}
		if more == nil || y == nil || ky != k {
			return nil, s.fail(0, "export the index and its pieces again", "a piece of %s, but the index %s is of %ss", pieceKind(y, ky), quote(x.name), k)
		}
		ps = append(ps, more...)
	}
	if len(ps) == 0 {
		return nil, x.fail(top.off, xmlCure, "the index names no pieces")
	}
	ps[0].notes = append(ps[0].notes, notes...)
	return ps, nil
}

func pieceKind(x *xmlFile, k kind) string {
	if x == nil {
		return "the legacy format"
	}
	if _, ok := xmlKinds[strings.TrimPrefix(x.kind, "P")]; ok {
		return "a " + k.String()
	}
	return "type " + quote(x.kind)
}

// blocks reads the files that a multi-block index names.
func (r *reader) blocks(x *xmlFile, name string) ([]*Dataset, error) {
	top, err := x.primary()
	if err != nil {
		return nil, err
	}
	if err := r.push(x); err != nil {
		return nil, err
	}
	defer r.pop()
	var out []*Dataset
	var walk func(n *node, name string) error
	walk = func(n *node, name string) error {
		for i, c := range n.kids {
			label, ok := c.attr("name")
			if !ok || label == "" {
				label, ok = c.attr("index")
				if !ok {
					label = fmt.Sprint(i)
				}
			}
			if name != "" {
				label = name + "/" + label
			}
			switch c.name {
			case "Block", "Piece", "Partitions":
				if err := walk(c, label); err != nil {
					return err
				}
			case "DataSet":
				if _, ok := c.attr("file"); !ok {
					continue // a block that is empty
				}
				s, err := r.source(x, c, "file")
				if err != nil {
					return err
				}
				if !r.fresh(s) {
					return x.fail(c.off, "export the index again", "the index names the file %s for the second time", quote(s.rel))
				}
				ds, err := r.datasets(s, label)
				if err != nil {
					return err
				}
				for _, d := range ds {
					if d.NumPoints() > 0 {
						out = append(out, d)
					}
				}
			}
		}
		return nil
	}
	if err := walk(top, name); err != nil {
		return nil, err
	}
	if len(out) == 0 && len(r.stack) == 1 {
		return nil, x.fail(top.off, "export the blocks with the index", "all blocks of the index are empty")
	}
	return out, nil
}
