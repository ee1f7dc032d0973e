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
//	version   uint32, 3
//	length    uint32, bytes of the head
//	head      JSON: samples n, quantities, options, snapshots in order of number (see header)
//	positions n x, n y, n z, float64
//	sums      for each sample, for each quantity, then for each of uu vv ww uv uw vw
//	          that is kept: 128 bits, two's complement, the low word first
//	blocks    for each of those that the numbers of the snapshots make, for each sample, the
//	          sums of the quantities and of squares (see blocks) int64
//	checksum  SHA-256 of all before
//
// The bytes are a function of the snapshots and options alone: not of the order in
// which parts were merged, nor of the number of cores.
const (
	magic   = "WLMEAN\r\n"
	version = 3
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

func (s *State) body(c *stream) {
	h := &s.head
	qs := h.quantities()
	for k := range s.pos {
		numbers(c, &s.pos[k], h.Samples)
	}
	numbers(c, &s.acc, h.Samples*stride(qs))
	for k := range s.blocks.list {
		numbers(c, &s.blocks.list[k].acc, h.Samples*blockStride(qs))
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
		var head bytes.Buffer // grows with what is there
		if _, err := io.CopyN(&head, c.in, int64(n)); err != nil {
			wake.Stop(errShort)
		}
		c.sum.Write(head.Bytes())
		wake.Stop(s.head.parse(head.Bytes()))
		for _, e := range s.head.Entries {
			s.blocks.at(e.Index, 0).count++
		}
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
	case !(1 <= len(h.Entries) && len(h.Entries) <= maxSnapshots):
		return fmt.Errorf("%d snapshots", len(h.Entries))
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
	integrals := 0
	if h.Options.Reference != nil {
		integrals = 1 + len(h.Options.Regions)
	}
	last := int64(0)
	for _, e := range h.Entries {
		if e.Index <= last {
			return fmt.Errorf("snapshot number %d follows %d", e.Index, last)
		}
		last = e.Index
		if len(e.Integrals) != integrals || len(e.Probes) != min(maxProbes, h.Samples) {
			return fmt.Errorf("%d drag areas and %d probes of snapshot %d", len(e.Integrals), len(e.Probes), e.Index)
		}
		if err := cmp.Or(within(e.Integrals, maxIntegral), within(e.Probes, math.Ldexp(1, valueBits-quantumBits(wake.U)))); err != nil {
			return err
		}
	}
	qs := h.quantities()
	switch {
	case len(qs) == 0 || qs[0] != wake.U:
		return fmt.Errorf("the quantities %v, without u", h.Quantities)
	case integrals > 0 && !slices.Contains(qs, wake.P):
		return errors.New("a reference without a pressure")
	case (h.Density != nil) != slices.Contains(qs, wake.Rho):
		return errors.New("a density range without a density, or the other way round")
	}
	return h.Options.check()
}

func within(v []float64, limit float64) error {
	for _, x := range v {
		if !(math.Abs(x) <= limit) {
			return fmt.Errorf("it holds %g where a number up to %g is expected", x, limit)
		}
	}
	return nil
}

// sound checks that the contents can be those of an average: places and sums within their
// bounds, and no negative variance.
func (s *State) sound() error {
	if err := cmp.Or(within(s.pos[0], maxPosition), within(s.pos[1], maxPosition), within(s.pos[2], maxPosition)); err != nil {
		return err
	}
	qs := s.head.quantities()
	ps, st, n := pairs(qs), stride(qs), uint64(s.Snapshots())
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
