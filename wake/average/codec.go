package average

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"math"
	"slices"

	"wakeledger/wake"
)

// The file of a state, all numbers little-endian:
//
//	magic     8 bytes, "WLMEAN" CR LF
//	version   uint32, 2
//	length    uint32, bytes of the head
//	head      JSON: samples n, snapshots, quantities, reference, regions (see header)
//	snapshots for each, in order of number:
//	          number int64, hash uint64, length of name uint16, name,
//	          drag areas of whole and regions float64 (with a reference alone),
//	          u at the probes float64
//	positions n x, n y, n z, float64
//	sums      for each sample, for each quantity, then for each of uu vv ww uv uw vw
//	          that is kept: 128 bits, two's complement, the low word first
//	blocks    length and how many int64; for each number and snapshots int64, and for each
//	          sample the sums of the quantities and of squares (see blocks) int64
//	checksum  SHA-256 of all before
//
// The bytes are a function of the snapshots and options alone: not of the order in
// which parts were merged, nor of the number of cores.
const (
	magic   = "WLMEAN\r\n"
	version = 2
	maxHead = 1 << 20
	maxName = 1 << 10
	// maxIntegral, m², is beyond what the bounds on values, positions and reference
	// let an integral reach.
	maxIntegral = 1e100
)

// stream takes a state to a file or, with in, from it: its methods write what they are given,
// or read into it, and stop at the first error.
type stream struct {
	in  *bufio.Reader
	out *bufio.Writer
	sum hash.Hash
	buf [8 * piece]byte
}

// piece is how many words go through the buffer at a time. Memory grows with what was read,
// so that a false number costs nothing.
const piece = 1 << 13

var errShort = errors.New("ends before the state is complete")

func (c *stream) bytes(b []byte) {
	var err error
	if c.in == nil {
		_, err = c.out.Write(b)
	} else if _, err = io.ReadFull(c.in, b); err == io.EOF || err == io.ErrUnexpectedEOF {
		err = errShort
	}
	wake.Stop(err)
	c.sum.Write(b)
}

// numbers moves n words of a slice.
func numbers[T uint64 | int64 | float64](c *stream, p *[]T, n int) {
	for at := 0; at < n; at += piece {
		m := min(n-at, piece)
		b := c.buf[:8*m]
		if c.in == nil {
			binary.Encode(b, binary.LittleEndian, (*p)[at:at+m])
		}
		if c.bytes(b); c.in != nil {
			if cap(*p)-at < m {
				// Doubling wastes nothing at the end: the last step is to n.
				*p = slices.Grow(*p, min(max(at, piece), n-at))
			}
			*p = (*p)[:at+m]
			binary.Decode(b, binary.LittleEndian, (*p)[at:])
		}
	}
}

func number64[T uint64 | int64](c *stream, v *T) {
	one := []T{*v}
	numbers(c, &one, 1)
	*v = one[0]
}

func (c *stream) text(s *string) {
	b := c.buf[:2]
	binary.LittleEndian.PutUint16(b, uint16(len(*s)))
	c.bytes(b)
	n := int(binary.LittleEndian.Uint16(b))
	if n > maxName {
		wake.Stop(fmt.Errorf("a file name of %d bytes", n))
	}
	b = c.buf[:n]
	copy(b, *s)
	c.bytes(b)
	*s = string(b)
}

func (s *State) body(c *stream) {
	h := &s.head
	qs := h.quantities()
	integrals := 0
	if h.Setup != nil {
		integrals = 1 + len(h.Setup.Regions)
	}
	for i := range h.Snapshots {
		if c.in != nil {
			s.entries = append(s.entries, entry{})
		}
		e := &s.entries[i]
		number64(c, &e.index)
		number64(c, &e.hash)
		c.text(&e.name)
		numbers(c, &e.integrals, integrals)
		numbers(c, &e.probes, min(maxProbes, h.Samples))
	}
	for k := range s.pos {
		numbers(c, &s.pos[k], h.Samples)
	}
	numbers(c, &s.acc, h.Samples*stride(qs))
	count := int64(len(s.blocks.list))
	number64(c, &s.blocks.length)
	number64(c, &count)
	if !(1 <= count && count <= maxStretches && s.blocks.length > 0) {
		wake.Stop(fmt.Errorf("%d blocks of %d snapshots", count, s.blocks.length))
	}
	for k := range int(count) {
		if c.in != nil {
			s.blocks.list = append(s.blocks.list, block{})
		}
		x := &s.blocks.list[k]
		number64(c, &x.number)
		number64(c, &x.count)
		numbers(c, &x.acc, h.Samples*blockStride(qs))
	}
}

// Encode writes the state.
func (s *State) Encode(w io.Writer) error {
	head, err := json.Marshal(s.head)
	if err != nil {
		return err
	}
	c := &stream{out: bufio.NewWriterSize(w, 1<<16), sum: sha256.New()}
	front := binary.LittleEndian.AppendUint32([]byte(magic), version)
	return wake.Attempt(func() {
		c.bytes(append(binary.LittleEndian.AppendUint32(front, uint32(len(head))), head...))
		s.body(c)
		c.bytes(c.sum.Sum(nil))
		wake.Stop(c.out.Flush())
	})
}

// Decode reads a state. name is the file's in messages. A file that is damaged, cut short,
// of another kind or of another version is a *wake.InputError.
func Decode(name string, r io.Reader) (*State, error) {
	const again = "write the partial state again with average --partial"
	s, cure, text := &State{}, again, "the state is damaged or cut short: %v"
	bad := func(fault bool, of, format string, a ...any) {
		if fault {
			cure, text = of, "%v"
			wake.Stop(fmt.Errorf(format, a...))
		}
	}
	err := wake.Attempt(func() {
		c := &stream{in: bufio.NewReaderSize(r, 1<<16), sum: sha256.New()}
		front := make([]byte, len(magic)+8)
		start, _ := c.in.Peek(len(magic))
		bad(string(start) != magic, "give files that average --partial or merge --partial wrote", "not a partial state: it does not begin as one")
		c.bytes(front)
		v, n := binary.LittleEndian.Uint32(front[len(magic):]), binary.LittleEndian.Uint32(front[len(magic)+4:])
		bad(v != version, "use the version of the program that wrote it, or average again", "the state is of version %d, version %d is expected", v, version)
		bad(!(n > 0 && n <= maxHead), again, "the state is damaged: a head of %d bytes", n)
		head := make([]byte, n)
		c.bytes(head)
		wake.Stop(s.head.parse(head))
		s.body(c)
		want := c.sum.Sum(nil)
		sum := make([]byte, sha256.Size)
		c.bytes(sum)
		if !bytes.Equal(want, sum) {
			wake.Stop(errors.New("the checksum is not that of the contents"))
		}
		if _, err := c.in.ReadByte(); err != io.EOF {
			wake.Stop(errors.New("goes on after its end"))
		}
		wake.Stop(s.sound())
	})
	if err != nil {
		return nil, &wake.InputError{File: name, Text: fmt.Sprintf(text, err), Cure: cure}
	}
	return s, nil
}

// parse reads the head and checks what the sizes of all the rest depend on.
func (h *header) parse(b []byte) error {
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(h); err != nil {
		return fmt.Errorf("its head is not understood (%v)", err)
	}
	if again, err := json.Marshal(h); err != nil || !bytes.Equal(again, b) {
		return errors.New("its head is not as the program writes it")
	}
	switch {
	case !(1 <= h.Samples && h.Samples < 1<<31):
		return fmt.Errorf("%d samples", h.Samples)
	case !(1 <= h.Snapshots && h.Snapshots <= maxSnapshots):
		return fmt.Errorf("%d snapshots", h.Snapshots)
	}
	next := 0
	for _, name := range h.Quantities {
		for next < len(averaged) && averaged[next].q.String() != name {
			next++
		}
		if next == len(averaged) {
			return fmt.Errorf("the quantities %v", h.Quantities)
		}
		next++
	}
	qs := h.quantities()
	set := h.Setup
	switch {
	case len(qs) == 0 || qs[0] != wake.U:
		return fmt.Errorf("the quantities %v, without u", h.Quantities)
	case set != nil && !slices.Contains(qs, wake.P):
		return errors.New("a reference without a pressure")
	case set != nil && set.Support != "cells" && set.Support != "nodes":
		return fmt.Errorf("support %q", set.Support)
	case set != nil && set.Regions == nil:
		return errors.New("no list of regions")
	case (h.Density != nil) != slices.Contains(qs, wake.Rho):
		return errors.New("a density range without a density, or the other way round")
	}
	opt := h.options()
	return opt.check()
}

// sound checks that the contents can be those of an average: numbers in order, values and
// sums within their bounds, blocks that follow from the numbers of the snapshots, and no
// negative variance.
func (s *State) sound() error {
	within := func(v []float64, limit float64) error {
		for _, x := range v {
			if !(math.Abs(x) <= limit) {
				return fmt.Errorf("it holds %g where a number up to %g is expected", x, limit)
			}
		}
		return nil
	}
	last, want := int64(0), blocks{}
	for _, e := range s.entries {
		if e.index <= last {
			return fmt.Errorf("snapshot number %d follows %d", e.index, last)
		}
		last = e.index
		want.at(e.index, 0).count++
		if err := cmp.Or(within(e.integrals, maxIntegral), within(e.probes, math.Ldexp(1, valueBits-quantumBits(wake.U)))); err != nil {
			return err
		}
	}
	if want.length != s.blocks.length || !slices.EqualFunc(want.list, s.blocks.list, func(a, b block) bool { return a.number == b.number && a.count == b.count }) {
		return errors.New("the blocks are not those of its snapshots")
	}
	if err := cmp.Or(within(s.pos[0], maxPosition), within(s.pos[1], maxPosition), within(s.pos[2], maxPosition)); err != nil {
		return err
	}
	return s.possible()
}

func (s *State) possible() error {
	qs := s.head.quantities()
	ps, st, n := pairs(qs), stride(qs), uint64(s.head.Snapshots)
	var e exact
	for i := range s.head.Samples {
		acc := s.acc[i*st : (i+1)*st]
		for k := range qs {
			if !e.within(acc[2*k:], n, valueBits) {
				return fmt.Errorf("the sum of %s of sample %d is out of bounds", qs[k], i+1)
			}
		}
		for k, p := range ps {
			sum := acc[2*(len(qs)+k):]
			if !e.within(sum, n, 2*valueBits) {
				return fmt.Errorf("the sum of %s of sample %d is out of bounds", p.name, i+1)
			}
			if p.a == p.b && e.coMoment(n, sum, acc[2*p.a:], acc[2*p.a:]).Sign() < 0 {
				return fmt.Errorf("the stress %s of sample %d is negative", p.name, i+1)
			}
		}
	}
	return nil
}
