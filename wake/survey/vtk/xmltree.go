package vtk

import (
	"bytes"
	"strconv"
	"strings"
)

// node is an element that the readers know. Unknown elements and all that is in
// them are passed over.
type node struct {
	name  string
	attrs []attr
	off   int // of its "<"
	// lo and hi bound its text, without that of its children.
	lo, hi int
	kids   []*node
}

type attr struct {
	name, value string
	off         int
}

func (n *node) attr(name string) (string, bool) {
	for i := range n.attrs {
		if n.attrs[i].name == name {
			return n.attrs[i].value, true
		}
	}
	return "", false
}

// child returns the first child of that name, or nil.
func (n *node) child(name string) *node {
	for _, k := range n.kids {
		if k.name == name {
			return k
		}
	}
	return nil
}

// appended is the section of an XML file that is not XML: everything between the
// "_" and the closing tag.
type appended struct {
	found, base64 bool
	lo, hi        int
}

// elements that are kept in the tree.
var known = map[string]bool{
	"VTKFile": true, "Piece": true, "PointData": true, "CellData": true, "Points": true, "Coordinates": true, "Cells": true,
	"Verts": true, "Lines": true, "Strips": true, "Polys": true, "DataArray": true,
	"PolyData": true, "UnstructuredGrid": true, "StructuredGrid": true, "RectilinearGrid": true, "ImageData": true,
	"PPolyData": true, "PUnstructuredGrid": true, "PStructuredGrid": true, "PRectilinearGrid": true, "PImageData": true,
	"vtkMultiBlockDataSet": true, "vtkMultiPieceDataSet": true, "vtkPartitionedDataSet": true, "vtkPartitionedDataSetCollection": true,
	"Block": true, "Partitions": true, "DataSet": true,
}

const (
	// An element costs more memory than its bytes in the file; no survey comes
	// near this many.
	maxElements = 1 << 18
	maxDepth    = 64
)

const xmlCure = "the file is cut off or damaged, or not written by the library's rules: export it again"

// parseXML reads the tree of elements and finds the appended section.
func parseXML(s *source) (*node, appended, error) {
	var (
		app   appended
		root  *node
		stack []*node
		skip  []string // open elements that are passed over
		pos   int
		count int
		data  = s.data
	)
	s.text = len(data)
	for {
		i := bytes.IndexByte(data[pos:], '<')
		if len(stack)+len(skip) == 0 {
			end := len(data)
			if i >= 0 {
				end = pos + i
			}
			if lo, hi := word(data[:end], pos); lo < hi {
				return nil, app, s.fail(lo, xmlCure, "the text %s outside the first element", quote(string(data[lo:min(hi, lo+200)])))
			}
		}
		if i < 0 {
			break
		}
		if len(stack) > 0 && len(skip) == 0 {
			if err := stack[len(stack)-1].addText(s, pos, pos+i); err != nil {
				return nil, app, err
			}
		}
		pos += i
		rest := data[pos:]
		switch {
		case bytes.HasPrefix(rest, []byte("<?")), bytes.HasPrefix(rest, []byte("<!--")):
			end := "?>"
			if rest[1] == '!' {
				end = "-->"
			}
			j := bytes.Index(rest[2:], []byte(end))
			if j < 0 {
				return nil, app, s.fail(pos, xmlCure, "%s without %q behind it", quote(string(rest[:2])), end)
			}
			pos += 2 + j + len(end)
			continue
		case bytes.HasPrefix(rest, []byte("<!")):
			return nil, app, s.fail(pos, xmlCure, "a declaration %s where an element is expected", quote(string(rest[:min(len(rest), 9)])))
		case bytes.HasPrefix(rest, []byte("</")):
			j := bytes.IndexByte(rest, '>')
			if j < 0 {
				return nil, app, s.fail(pos, xmlCure, "a closing tag without %q", ">")
			}
			name := strings.TrimSpace(string(rest[2:min(j, 200)]))
			open := ""
			switch {
			case len(skip) > 0:
				open = skip[len(skip)-1]
				skip = skip[:len(skip)-1]
			case len(stack) > 0:
				open = stack[len(stack)-1].name
				stack = stack[:len(stack)-1]
			}
			if name != open {
				return nil, app, s.fail(pos, xmlCure, "closing tag %s where %s is open", quote(name), quote(open))
			}
			pos += j + 1
			continue
		}
		n, closed, next, err := parseTag(s, pos)
		if err != nil {
			return nil, app, err
		}
		pos = next
		if count++; count > maxElements {
			return nil, app, s.fail(n.off, "export fewer pieces or blocks to a file", "more than %d elements", maxElements)
		}
		if len(stack)+len(skip) >= maxDepth {
			return nil, app, s.fail(n.off, xmlCure, "elements are nested more than %d deep", maxDepth)
		}
		if root == nil && n.name != "VTKFile" {
			return nil, app, s.fail(n.off, "give a file of the library's XML formats", "the first element is %s, expected %q", quote(n.name), "VTKFile")
		}
		if root != nil && len(stack) == 0 {
			return nil, app, s.fail(n.off, xmlCure, "a second element %s behind the end of the first", quote(n.name))
		}
		if n.name == "AppendedData" && len(skip) == 0 && len(stack) == 1 && !closed {
			if app.found {
				return nil, app, s.fail(n.off, xmlCure, "a second appended section")
			}
			if app, err = parseAppended(s, n, pos); err != nil {
				return nil, app, err
			}
			pos = app.hi
			// What stands between the numbers and the closing tag is passed over
			// with the element.
			skip = append(skip, n.name)
			continue
		}
		switch {
		case len(skip) > 0 || !known[n.name]:
			if !closed {
				skip = append(skip, n.name)
			}
		default:
			if root == nil {
				root = n
			} else {
				up := stack[len(stack)-1]
				up.kids = append(up.kids, n)
			}
			if !closed {
				stack = append(stack, n)
			}
		}
	}
	if root == nil {
		return nil, app, s.fail(len(data), "give a file of the library's XML formats", "no element at all")
	}
	if len(stack)+len(skip) > 0 {
		open := ""
		if len(skip) > 0 {
			open = skip[len(skip)-1]
		} else {
			open = stack[len(stack)-1].name
		}
		return nil, app, s.fail(len(data), cutCure, "the file ends inside %s", quote(open))
	}
	return root, app, nil
}

// addText notes the text data[lo:hi] of n: one stretch, with children before or
// behind it.
func (n *node) addText(s *source, lo, hi int) error {
	for lo < hi && space(s.data[lo]) {
		lo++
	}
	for lo < hi && space(s.data[hi-1]) {
		hi--
	}
	if lo == hi {
		return nil
	}
	if n.hi > n.lo {
		return s.fail(lo, xmlCure, "a second stretch of text in %s", quote(n.name))
	}
	n.lo, n.hi = lo, hi
	return nil
}

// parseTag reads the opening tag at pos.
func parseTag(s *source, pos int) (n *node, closed bool, next int, err error) {
	data := s.data
	n = &node{off: pos}
	i := pos + 1
	name := func() string {
		j := i
		for i < len(data) && !space(data[i]) && data[i] != '>' && data[i] != '/' && data[i] != '=' {
			i++
		}
		return string(data[j:min(i, j+200)])
	}
	blank := func() {
		for i < len(data) && space(data[i]) {
			i++
		}
	}
	n.name = name()
	if n.name == "" {
		return nil, false, 0, s.fail(pos, xmlCure, "%q without a name behind it", "<")
	}
	for {
		blank()
		if i >= len(data) {
			return nil, false, 0, s.fail(pos, cutCure, "the file ends inside the tag %s", quote(n.name))
		}
		if data[i] == '>' {
			return n, false, i + 1, nil
		}
		if data[i] == '/' {
			if i+1 < len(data) && data[i+1] == '>' {
				return n, true, i + 2, nil
			}
			return nil, false, 0, s.fail(i, xmlCure, "%q inside the tag %s", "/", quote(n.name))
		}
		a := attr{off: i}
		a.name = name()
		blank()
		if a.name == "" || i >= len(data) || data[i] != '=' {
			return nil, false, 0, s.fail(a.off, xmlCure, "attribute %s of %s has no value", quote(a.name), quote(n.name))
		}
		i++
		blank()
		if i >= len(data) || data[i] != '"' && data[i] != '\'' {
			return nil, false, 0, s.fail(i, xmlCure, "the value of attribute %s of %s has no quotes", quote(a.name), quote(n.name))
		}
		j := bytes.IndexByte(data[i+1:], data[i])
		if j < 0 {
			return nil, false, 0, s.fail(i, cutCure, "the value of attribute %s of %s does not end", quote(a.name), quote(n.name))
		}
		if a.value, err = unescape(data[i+1 : i+1+j]); err != nil {
			return nil, false, 0, s.fail(i, xmlCure, "attribute %s of %s: %v", quote(a.name), quote(n.name), err)
		}
		i += j + 2
		if len(n.attrs) >= 1000 {
			return nil, false, 0, s.fail(i, xmlCure, "more than 1000 attributes of %s", quote(n.name))
		}
		n.attrs = append(n.attrs, a)
	}
}

type entityError string

func (e entityError) Error() string { return "unknown entity " + quote(string(e)) }

// unescape replaces the five entities of XML and numeric ones.
func unescape(b []byte) (string, error) {
	if bytes.IndexByte(b, '&') < 0 {
		return string(b), nil
	}
	var out strings.Builder
	for len(b) > 0 {
		i := bytes.IndexByte(b, '&')
		if i < 0 {
			out.Write(b)
			break
		}
		out.Write(b[:i])
		b = b[i:]
		j := bytes.IndexByte(b[:min(len(b), 12)], ';')
		if j < 0 {
			return "", entityError(b[:min(len(b), 12)])
		}
		switch e := string(b[1:j]); e {
		case "amp":
			out.WriteByte('&')
		case "lt":
			out.WriteByte('<')
		case "gt":
			out.WriteByte('>')
		case "quot":
			out.WriteByte('"')
		case "apos":
			out.WriteByte('\'')
		default:
			var v uint64
			err := error(entityError(e))
			if hex, ok := strings.CutPrefix(e, "#x"); ok {
				v, err = strconv.ParseUint(hex, 16, 21)
			} else if dec, ok := strings.CutPrefix(e, "#"); ok {
				v, err = strconv.ParseUint(dec, 10, 21)
			}
			if err != nil {
				return "", entityError(e)
			}
			out.WriteRune(rune(v))
		}
		b = b[j+1:]
	}
	return out.String(), nil
}

// parseAppended finds the section's bounds; pos is just behind its opening tag.
func parseAppended(s *source, n *node, pos int) (appended, error) {
	app := appended{found: true}
	switch e, _ := n.attr("encoding"); e {
	case "raw":
	case "base64":
		app.base64 = true
	default:
		return app, s.fail(n.off, "export with raw or base64 encoding", "the appended section has the encoding %s, expected raw or base64", quote(e))
	}
	for pos < len(s.data) && space(s.data[pos]) {
		pos++
	}
	if pos >= len(s.data) || s.data[pos] != '_' {
		return app, s.fail(pos, cutCure, "the appended section does not begin with %q", "_")
	}
	app.lo = pos + 1
	// Raw numbers may hold anything, so the closing tag is the last one.
	j := bytes.LastIndex(s.data[app.lo:], []byte("</AppendedData"))
	if j < 0 {
		s.text = app.lo
		return app, s.fail(len(s.data), cutCure, "the appended section has no end")
	}
	app.hi = app.lo + j
	if !app.base64 {
		s.text = app.lo
	}
	return app, nil
}
