package vtk

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake"
)

// encoded is what stands in a DataArray: text with the numbers, or a payload.
type encoded struct {
	number number
	lo, hi int // text
	p      *payload
}

// open finds the n values of a and checks their length, which costs no memory.
func (x *xmlFile) open(a *node, n int, what string) (encoded, error) {
	var e encoded
	t, _ := a.attr("type")
	var ok bool
	if e.number, ok = xmlNumbers[t]; !ok {
		return e, x.fail(a.off, xmlCure, "%s has the type %s, expected Int8 … UInt64, Float32, Float64 or Bit", what, quote(t))
	}
	switch f, ok := a.attr("format"); {
	case ok && f == "ascii", !ok:
		e.lo, e.hi = a.lo, a.hi
		if n > (e.hi-e.lo+1)/2 {
			return e, x.fail(a.off, cutCure, "%s: %d numbers are announced, but only %d bytes of text are there", what, n, e.hi-e.lo)
		}
		return e, nil
	case f == "binary":
		lo, hi := a.lo, a.hi
		s := x.source
		if lo == hi && n == 0 {
			e.p = &payload{off: a.off}
			return e, nil
		}
		if bytes.ContainsAny(x.data[lo:hi], " \t\r\n") {
			// Wrapped base64: other writers' habit. Offsets in messages are then those
			// of the element.
			s = &source{name: x.name, data: bytes.Join(bytes.Fields(x.data[lo:hi]), nil)}
			lo, hi = 0, len(s.data)
		}
		p, _, err := openPayload(s, lo, hi, true, true, x.comp, x.head, e.number.bytes(n), what)
		if err != nil {
			if s != x.source {
				// The text tells what is wrong; its place is in the joined lines.
				var in *wake.InputError
				if errors.As(err, &in) {
					in.Text, _, _ = strings.Cut(in.Text, " (byte ")
					return e, x.fail(a.off, in.Cure, "%s", in.Text)
				}
				return e, x.fail(a.off, cutCure, "%s: %v", what, err)
			}
			return e, err
		}
		e.p = p
		p.off = a.lo
	case f == "appended":
		if !x.app.found {
			return e, x.fail(a.off, xmlCure, "%s is said to be appended, but the file has no appended section", what)
		}
		v, _ := a.attr("offset")
		off, ok := parseInt([]byte(strings.TrimSpace(v)))
		if !ok || off < 0 || off > int64(x.app.hi-x.app.lo) {
			return e, x.fail(a.off, cutCure, "%s has the offset %s into an appended section of %d bytes", what, quote(v), x.app.hi-x.app.lo)
		}
		hi := x.behind(int(off))
		if x.app.base64 {
			for hi > x.app.lo && space(x.data[hi-1]) {
				hi--
			}
		}
		lo := x.app.lo + int(off)
		if lo > hi {
			return e, x.fail(a.off, cutCure, "%s has the offset %s into an appended section of %d bytes", what, quote(v), hi-x.app.lo)
		}
		p, end, err := openPayload(x.source, lo, hi, x.app.base64, false, x.comp, x.head, e.number.bytes(n), what)
		if err != nil {
			return e, err
		}
		if x.used += end - lo; x.used > x.app.hi-x.app.lo {
			return e, x.fail(a.off, xmlCure, "%s: the arrays up to here take %d bytes of an appended section of %d, so some overlap", what, x.used, x.app.hi-x.app.lo)
		}
		e.p = p
	default:
		return e, x.fail(a.off, xmlCure, "%s has the format %s, expected ascii, binary or appended", what, quote(f))
	}
	if want := e.number.bytes(n); e.p.size != want {
		return e, x.fail(e.p.off, cutCure, "%s: its header announces %d bytes, but %d values of type %s take %d", what, e.p.size, n, t, want)
	}
	if e.p.wrong {
		if x.wrong++; x.wrong == 1 {
			x.notes = append(x.notes, fmt.Sprintf("%s: its header announces %d bytes; the %d that its counts need are there and were read", what, e.p.claim, e.p.size))
		}
	}
	return e, nil
}

// behind returns where the array that begins after the one at offset off of the
// appended section begins, or the section's end.
func (x *xmlFile) behind(off int) int {
	if x.starts == nil {
		var walk func(n *node)
		walk = func(n *node) {
			if v, ok := n.attr("offset"); ok && n.name == "DataArray" {
				if at, ok := parseInt([]byte(strings.TrimSpace(v))); ok && 0 <= at && at < int64(x.app.hi-x.app.lo) {
					x.starts = append(x.starts, int(at))
				}
			}
			for _, k := range n.kids {
				walk(k)
			}
		}
		x.starts = []int{}
		walk(x.root)
		slices.Sort(x.starts)
	}
	if i, _ := slices.BinarySearch(x.starts, off+1); i < len(x.starts) {
		return x.app.lo + x.starts[i]
	}
	return x.app.hi
}

// measure checks that a holds n values without converting them.
func (x *xmlFile) measure(a *node, n int, what string) error {
	_, err := x.open(a, n, what)
	return err
}

func (x *xmlFile) floats(a *node, n int, what string) ([]float64, error) {
	e, err := x.open(a, n, what)
	if err != nil {
		return nil, err
	}
	if e.p == nil {
		v, end, err := textFloats(x.source, e.lo, e.hi, n, what)
		if err == nil && end != e.hi {
			err = x.fail(end, cutCure, "%s: more than the announced %d numbers", what, n)
		}
		return v, err
	}
	v, err := e.p.floats(n, e.number, x.order)
	if err != nil {
		return nil, x.fail(e.p.off, cutCure, "%s: %v", what, err)
	}
	return v, nil
}

func (x *xmlFile) ints(a *node, n int, what string) ([]int32, error) {
	e, err := x.open(a, n, what)
	if err != nil {
		return nil, err
	}
	if e.number > uint64s {
		return nil, x.fail(a.off, xmlCure, "%s is not of a whole-number type", what)
	}
	if e.p == nil {
		v, end, err := textInts(x.source, e.lo, e.hi, n, what)
		if err == nil && end != e.hi {
			err = x.fail(end, cutCure, "%s: more than the announced %d numbers", what, n)
		}
		return v, err
	}
	v, err := e.p.ints(n, e.number, x.order)
	if err != nil {
		return nil, x.fail(e.p.off, cutCure, "%s: %v", what, err)
	}
	return v, nil
}
