package vtk

import (
	"bytes"
	"encoding/xml"
	"errors"
	"strings"
)

type node struct {
	name  string
	attrs []xml.Attr
	off   int // of its "<"
	// lo and hi bound the text of a DataArray, without that of its children.
	lo, hi int
	kids   []*node
}

func (n *node) attr(name string) (string, bool) {
	for _, a := range n.attrs {
		if a.Name.Local == name {
			return a.Value, true
		}
	}
	return "", false
}

func (n *node) all(name string) (out []*node) {
	for _, k := range n.kids {
		if k.name == name {
			out = append(out, k)
		}
	}
	return out
}

func (n *node) child(name string) *node {
	if all := n.all(name); all != nil {
		return all[0]
	}
	return nil
}

// appended is the section of an XML file that is not XML: everything between the
// "_" and the closing tag.
type appended struct {
	found, base64 bool
	lo, hi        int
}

const (
	// An element costs more memory than its bytes in the file; no survey comes
	// near this many.
	maxElements = 1 << 18
	maxDepth    = 64
	maxTag      = 1 << 16 // bytes

	appendedTag = "AppendedData"
	xmlCure     = "the file is cut off or damaged, or not written by the library's rules: export it again"
	foreignCure = "give a file of the library's XML formats"
)

// tree is an XML file that is being taken apart. encoding/xml is given one tag at a
// time: it would take long over the numbers between tags, and cannot take those of the
// appended section.
type tree struct {
	*source
	root  *node
	open  []*node
	count int
	app   appended
}

// parseXML reads the tree of elements and finds the appended section.
func parseXML(s *source) (*node, appended) {
	t := &tree{source: s}
	s.text = len(s.data)
	pos := 0
	for {
		i := bytes.IndexByte(s.data[pos:], '<')
		if i < 0 {
			i = len(s.data) - pos
		}
		t.text(pos, pos+i)
		if pos += i; pos == len(s.data) {
			break
		}
		pos = t.markup(pos)
	}
	s.failIf(t.root == nil, pos, foreignCure, "no element at all")
	if n := len(t.open); n > 0 {
		s.refuse(pos, cutCure, "the file ends inside %s", quote(t.open[n-1].name))
	}
	return t.root, t.app
}

// text notes the text data[lo:hi] of the innermost element, where that is an array: one
// stretch, with children before or behind it.
func (t *tree) text(lo, hi int) {
	for lo < hi && space(t.data[lo]) {
		lo++
	}
	for lo < hi && space(t.data[hi-1]) {
		hi--
	}
	switch n := len(t.open); {
	case lo == hi:
	case n == 0:
		_, end := word(t.data[:hi], lo)
		t.refuse(lo, xmlCure, "the text %s outside the first element", quote(string(t.data[lo:end])))
	case t.open[n-1].name == "DataArray":
		a := t.open[n-1]
		t.failIf(a.hi > a.lo, lo, xmlCure, "a second stretch of text in %s", quote(a.name))
		a.lo, a.hi = lo, hi
	}
}

// markup reads the tag or comment at pos and returns the offset behind it.
func (t *tree) markup(pos int) (next int) {
	b := t.data[pos:]
	for mark, end := range map[string]string{"<?": "?>", "<!--": "-->"} {
		if bytes.HasPrefix(b, []byte(mark)) {
			i := bytes.Index(b[2:], []byte(end))
			t.failIf(i < 0, pos, xmlCure, "%q without %q behind it", mark, end)
			return pos + 2 + i + len(end)
		}
	}
	end := tagEnd(b)
	t.failIf(end < 0, pos, cutCure, "the file ends inside the tag %s, or the tag takes more than %d bytes", quote(string(b[:min(len(b), 60)])), maxTag)
	next = pos + end
	// The library writes "<" in names as it is.
	text := "<" + strings.ReplaceAll(strings.ToValidUTF8(string(b[1:end]), "?"), "<", "&lt;")
	token, err := xml.NewDecoder(strings.NewReader(text)).RawToken()
	syntax := (*xml.SyntaxError)(nil)
	if errors.As(err, &syntax) {
		t.refuse(pos, xmlCure, "%s: %s", quote(text[:min(len(text), 60)]), syntax.Msg)
	}
	switch tag := token.(type) {
	case xml.StartElement:
		n := &node{name: tag.Name.Local, attrs: tag.Attr, off: pos}
		t.push(n)
		if b[end-2] == '/' {
			t.open = t.open[:len(t.open)-1]
		} else if n.name == appendedTag && len(t.open) == 2 {
			next = t.appended(n, next)
		}
	case xml.EndElement:
		open := ""
		if k := len(t.open) - 1; k >= 0 {
			open, t.open = t.open[k].name, t.open[:k]
		}
		t.failIf(tag.Name.Local != open, pos, xmlCure, "closing tag %s where %s is open", quote(tag.Name.Local), quote(open))
	default:
		t.refuse(pos, xmlCure, "%s where an element is expected", quote(text[:min(len(text), 60)]))
	}
	return next
}

func tagEnd(b []byte) int {
	within := byte(0) // the quote of a value
	for i, c := range b[:min(len(b), maxTag)] {
		switch {
		case within == c:
			within = 0
		case within != 0:
		case c == '"' || c == '\'':
			within = c
		case c == '>':
			return i + 1
		}
	}
	return -1
}

func (t *tree) push(n *node) {
	t.count++
	t.failIf(t.count > maxElements, n.off, "export fewer pieces or blocks to a file", "more than %d elements", maxElements)
	t.failIf(len(t.open) >= maxDepth, n.off, xmlCure, "elements are nested more than %d deep", maxDepth)
	t.failIf(t.root == nil && n.name != "VTKFile", n.off, foreignCure, "the first element is %s, expected %q", quote(n.name), "VTKFile")
	t.failIf(t.root != nil && len(t.open) == 0, n.off, xmlCure, "a second element %s behind the end of the first", quote(n.name))
	if t.root == nil {
		t.root = n
	} else {
		up := t.open[len(t.open)-1]
		up.kids = append(up.kids, n)
	}
	t.open = append(t.open, n)
}

// appended finds the section's bounds; pos is just behind its opening tag. It returns
// the offset of the closing one.
func (t *tree) appended(n *node, pos int) (end int) {
	encoding, _ := n.attr("encoding")
	t.failIf(t.app.found, n.off, xmlCure, "a second appended section")
	t.failIf(encoding != "raw" && encoding != "base64", n.off, "export with raw or base64 encoding", "the appended section has the encoding %s, expected raw or base64", quote(encoding))
	for pos < len(t.data) && space(t.data[pos]) {
		pos++
	}
	t.failIf(pos >= len(t.data) || t.data[pos] != '_', pos, cutCure, "the appended section does not begin with %q", "_")
	t.app = appended{found: true, base64: encoding == "base64", lo: pos + 1}
	if encoding == "raw" {
		t.source.text = t.app.lo
	}
	// Raw numbers may hold anything, so the closing tag is the last one.
	i := bytes.LastIndex(t.data[t.app.lo:], []byte("</"+appendedTag))
	t.failIf(i < 0, len(t.data), cutCure, "the appended section has no end")
	t.app.hi = t.app.lo + i
	return t.app.hi
}
