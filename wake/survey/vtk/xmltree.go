package vtk

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// node is an element. Off is the offset of its "<", Text that of its text, of the first
// stretch where children stand between.
type node struct {
	XMLName xml.Name
	Off     int        `xml:"_off,attr"`
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    span       `xml:",chardata"`
	Kids    []*node    `xml:",any"`
}

type span struct{ lo, hi int }

func (s *span) UnmarshalText(b []byte) error {
	fmt.Sscan(string(b), &s.lo, &s.hi)
	return nil
}

// attr is an attribute, "" where there is none.
func (n *node) attr(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (n *node) all(name string) (out []*node) {
	for _, k := range n.Kids {
		if k.XMLName.Local == name {
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

// parseXML reads the tree of elements and finds the appended section.
//
// encoding/xml is given the tags alone, one a line: it would take long over the numbers between
// them, whose place it is told instead, and cannot take those of the appended section.
func parseXML(s *source) (*node, appended) {
	s.text = len(s.data)
	var (
		app  appended
		open int
		tags bytes.Buffer
		offs []int // by line of tags
	)
	for pos := 0; ; {
		i := bytes.IndexByte(s.data[pos:], '<')
		if i < 0 {
			break
		}
		if lo, hi := word(s.data[:pos+i], pos); lo < hi {
			fmt.Fprintf(&tags, "%d %d ", lo, lo+len(bytes.TrimRightFunc(s.data[lo:pos+i], func(r rune) bool { return r <= ' ' })))
		}
		pos += i
		if end := aside(s, pos); end > pos {
			pos = end
			continue
		}
		b := s.data[pos:]
		end := tagEnd(b)
		s.failIf(end < 0, pos, cutCure, "the file ends inside the tag %s, or the tag takes more than %d bytes", quote(string(b[:min(len(b), 60)])), maxTag)
		s.failIf(len(offs) > 2*maxElements, pos, "export fewer pieces or blocks to a file", "more than %d elements", maxElements)
		tag := inTag.Replace(strings.ToValidUTF8(string(b[1:end]), "?"))
		if name := strings.IndexAny(tag, " \t\r/>"); name > 0 {
			tag = fmt.Sprintf("%s _off=\"%d\"%s", tag[:name], pos, tag[name:])
		}
		fmt.Fprintf(&tags, "<%s\n", tag)
		offs = append(offs, pos)
		switch {
		case tag[0] == '/':
			open--
		case b[end-2] != '/':
			open++
		}
		s.failIf(open > maxDepth, pos, xmlCure, "elements are nested more than %d deep", maxDepth)
		pos += end
		if strings.HasPrefix(tag, appendedTag+" ") && b[end-2] != '/' {
			app = findAppended(s, pos-end, pos)
			pos = app.hi
		}
	}
	root := &node{}
	err := xml.Unmarshal(tags.Bytes(), root)
	if syntax := (*xml.SyntaxError)(nil); errors.As(err, &syntax) && syntax.Line <= len(offs) {
		s.refuse(offs[syntax.Line-1], xmlCure, "%s", syntax.Msg)
	}
	s.failIf(err != nil, len(s.data), cutCure, "the file ends before its first element does")
	s.failIf(root.XMLName.Local != "VTKFile", root.Off, foreignCure, "the first element is %s, expected %q", quote(root.XMLName.Local), "VTKFile")
	s.failIf(!xmlStart.Match(s.data), 0, xmlCure, "text stands before the first element")
	return root, app
}

var inTag = strings.NewReplacer("<", "&lt;", "\n", " ") // the library writes "<" in names as it is

// aside is the offset behind the comment or declaration at pos, pos where there is none.
func aside(s *source, pos int) int {
	for mark, end := range map[string]string{"<?": "?>", "<!--": "-->"} {
		if bytes.HasPrefix(s.data[pos:], []byte(mark)) {
			i := bytes.Index(s.data[pos+2:], []byte(end))
			s.failIf(i < 0, pos, xmlCure, "%q without %q behind it", mark, end)
			return pos + 2 + i + len(end)
		}
	}
	return pos
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

var encodingOf = regexp.MustCompile(`encoding\s*=\s*["'](raw|base64)["']`)

// findAppended finds the bounds of the section whose opening tag is at off and ends at pos.
func findAppended(s *source, off, pos int) appended {
	encoding := encodingOf.FindSubmatch(s.data[off:pos])
	s.failIf(encoding == nil, off, "export with raw or base64 encoding", "the appended section has the tag %s, expected an encoding, raw or base64", quote(string(s.data[off:pos])))
	for pos < len(s.data) && space(s.data[pos]) {
		pos++
	}
	s.failIf(pos >= len(s.data) || s.data[pos] != '_', pos, cutCure, "the appended section does not begin with %q", "_")
	app := appended{found: true, base64: string(encoding[1]) == "base64", lo: pos + 1}
	if !app.base64 {
		s.text = app.lo
	}
	// Raw numbers may hold anything, so the closing tag is the last one.
	i := bytes.LastIndex(s.data[app.lo:], []byte("</"+appendedTag))
	s.failIf(i < 0, len(s.data), cutCure, "the appended section has no end")
	app.hi = app.lo + i
	return app
}
