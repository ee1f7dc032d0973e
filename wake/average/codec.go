package average

import (
	"bufio"
	"bytes"
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

// Encode writes the state.
func (s *State) Encode(w io.Writer) error {
	sum := sha256.New()
	out := bufio.NewWriterSize(io.MultiWriter(w, sum), 1<<16)
	head, err := json.Marshal(s.head)
	if err != nil {
		return err
	}
	var b []byte
	b = append(b, magic...)
	b = binary.LittleEndian.AppendUint32(b, version)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(head)))
	b = append(b, head...)
	out.Write(b)
	for _, e := range s.entries {
		b = binary.LittleEndian.AppendUint64(b[:0], uint64(e.index))
		b = binary.LittleEndian.AppendUint64(b, e.hash)
		b = binary.LittleEndian.AppendUint16(b, uint16(len(e.name)))
		b = append(b, e.name...)
		for _, v := range slices.Concat(e.integrals, e.probes) {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
		out.Write(b)
	}
	for _, col := range s.pos {
		for _, v := range col {
			b = binary.LittleEndian.AppendUint64(b[:0], math.Float64bits(v))
			out.Write(b)
		}
	}
	for _, v := range s.acc {
		b = binary.LittleEndian.AppendUint64(b[:0], v)
		out.Write(b)
	}
	put := func(v ...int64) {
		b = b[:0]
		for _, x := range v {
			b = binary.LittleEndian.AppendUint64(b, uint64(x))
		}
		out.Write(b)
	}
	put(s.blocks.length, int64(len(s.blocks.list)))
	for _, x := range s.blocks.list {
		put(x.number, x.count)
		for _, v := range x.acc {
			put(v)
		}
	}
	// The writer keeps the first error.
	if err := out.Flush(); err != nil {
		return err
	}
	_, err = w.Write(sum.Sum(nil))
	return err
}

// Size is the number of bytes that Encode writes.
func (s *State) Size() int64 {
	head, _ := json.Marshal(s.head) // finite numbers and strings: it cannot fail
	n := len(magic) + 8 + len(head)
	for _, e := range s.entries {
		n += 18 + len(e.name) + 8*(len(e.integrals)+len(e.probes))
	}
	for _, x := range s.blocks.list {
		n += 8 * (2 + len(x.acc))
	}
	return int64(n) + 8*int64(2+3*s.head.Samples+len(s.acc)) + sha256.Size
}

// decoder reads a state; err is the first error, as text and cure.
type decoder struct {
	r   *bufio.Reader
	sum hash.Hash
	buf [8]byte
	err error
}

var errShort = errors.New("ends before the state is complete")

func (d *decoder) read(b []byte) {
	if d.err != nil {
		return
	}
	if _, err := io.ReadFull(d.r, b); err != nil {
		d.err = err
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			d.err = errShort
		}
		return
	}
	d.sum.Write(b)
}

func (d *decoder) uint64() uint64 {
	d.read(d.buf[:8])
	return binary.LittleEndian.Uint64(d.buf[:8])
}

// words reads n words. Memory grows with what was read, so that a false number
// costs nothing.
func (d *decoder) words(n int) []uint64 {
	const piece = 1 << 13
	var out []uint64
	buf := make([]byte, 8*min(n, piece))
	for len(out) < n && d.err == nil {
		m := min(n-len(out), piece)
		d.read(buf[:8*m])
		if d.err != nil {
			return nil
		}
		if cap(out)-len(out) < m {
			// Doubling wastes nothing at the end: the last step is to n.
			out = slices.Grow(out, min(max(len(out), piece), n-len(out)))
		}
		for k := range m {
			out = append(out, binary.LittleEndian.Uint64(buf[8*k:]))
		}
	}
	return out
}

// floats reads n numbers of at most limit in size.
func (d *decoder) floats(n int, limit float64) []float64 {
	w := d.words(n)
	if w == nil {
		return nil
	}
	out := make([]float64, len(w))
	for k, v := range w {
		out[k] = math.Float64frombits(v)
		if !(math.Abs(out[k]) <= limit) && d.err == nil {
			d.err = fmt.Errorf("it holds %g where a number up to %g is expected", out[k], limit)
		}
	}
	return out
}

// Decode reads a state. name stands for the file in messages; size is the file's
// number of bytes, or −1 where it is not known. A file that is damaged, cut short,
// of another kind or of another version is a *wake.InputError.
func Decode(name string, r io.Reader, size int64) (*State, error) {
	const again = "write the partial state again with average --partial"
	bad := func(cure, text string, a ...any) (*State, error) {
		return nil, &wake.InputError{File: name, Text: fmt.Sprintf(text, a...), Cure: cure}
	}
	d := &decoder{r: bufio.NewReaderSize(r, 1<<16), sum: sha256.New()}
	front := make([]byte, len(magic)+8)
	d.read(front)
	if !bytes.HasPrefix(front, []byte(magic)) {
		return bad("give files that average --partial or merge --partial wrote", "not a partial state: it does not begin as one")
	}
	v, n := binary.LittleEndian.Uint32(front[len(magic):]), binary.LittleEndian.Uint32(front[len(magic)+4:])
	if d.err == nil && v != version {
		return bad("use the version of the program that wrote it, or average again", "the state is of version %d, version %d is expected", v, version)
	}
	if d.err == nil && !(n > 0 && n <= maxHead) {
		return bad(again, "the state is damaged: a head of %d bytes", n)
	}
	s := &State{}
	if d.err == nil {
		head := make([]byte, n)
		d.read(head)
		if d.err == nil {
			if err := s.head.parse(head); err != nil {
				return bad(again, "the state is damaged: %v", err)
			}
		}
	}
	if d.err == nil {
		s.body(d, int64(len(front))+int64(n), size)
	}
	var want [sha256.Size]byte
	if d.err == nil {
		if _, err := io.ReadFull(d.r, want[:]); err != nil {
			d.err = errShort
		} else if !bytes.Equal(want[:], d.sum.Sum(nil)) {
			d.err = errors.New("the checksum is not that of the contents")
		} else if _, err := d.r.ReadByte(); err != io.EOF {
			d.err = errors.New("goes on after its end")
		}
	}
	if d.err == nil {
		d.err = s.sound()
	}
	if d.err != nil {
		return bad(again, "the state is damaged or cut short: %v", d.err)
	}
	return s, nil
}

// parse reads the head and checks what the sizes of all the rest hang on.
func (h *header) parse(b []byte) error {
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(h); err != nil {
		return fmt.Errorf("its head is not understood (%v)", err)
	}
	if again, err := json.Marshal(h); err != nil || !bytes.Equal(again, b) {
		return errors.New("its head is not as the program writes it")
	}
	if !(1 <= h.Samples && h.Samples < 1<<31) {
		return fmt.Errorf("%d samples", h.Samples)
	}
	if !(1 <= h.Snapshots && h.Snapshots <= maxSnapshots) {
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
	if len(qs) == 0 || qs[0] != wake.U {
		return fmt.Errorf("the quantities %v, without u", h.Quantities)
	}
	if h.Setup != nil {
		if !slices.Contains(qs, wake.P) {
			return errors.New("a reference without a pressure")
		}
		if s := h.Setup.Support; s != "cells" && s != "nodes" {
			return fmt.Errorf("support %q", s)
		}
		if h.Setup.Regions == nil {
			return errors.New("no list of regions")
		}
	}
	if (h.Density != nil) != slices.Contains(qs, wake.Rho) {
		return errors.New("a density range without a density, or the other way round")
	}
	opt := h.options()
	return opt.check()
}

// body reads what follows the head, which began after the byte at. size is that
// of the file or −1.
func (s *State) body(d *decoder, at, size int64) {
	h := &s.head
	qs := h.quantities()
	integrals, probes := 0, min(maxProbes, h.Samples)
	if h.Setup != nil {
		integrals = 1 + len(h.Setup.Regions)
	}
	words := int64(h.Samples) * int64(3+stride(qs))
	if least := at + int64(h.Snapshots)*int64(18+8*(integrals+probes)) + 8*words + 16 + sha256.Size; size >= 0 && size < least {
		d.err = fmt.Errorf("the file has %d bytes, at least %d are expected", size, least)
		return
	}
	for range h.Snapshots {
		e := entry{index: int64(d.uint64()), hash: d.uint64()}
		d.read(d.buf[:2])
		n := int(binary.LittleEndian.Uint16(d.buf[:2]))
		if d.err == nil && n > maxName {
			d.err = fmt.Errorf("a file name of %d bytes", n)
		}
		if d.err != nil {
			return
		}
		name := make([]byte, n)
		d.read(name)
		e.name = string(name)
		if integrals > 0 {
			e.integrals = d.floats(integrals, maxIntegral)
		}
		e.probes = d.floats(probes, math.Ldexp(1, valueBits-quantumBits(wake.U)))
		if d.err != nil {
			return
		}
		last := int64(0)
		if len(s.entries) > 0 {
			last = s.entries[len(s.entries)-1].index
		}
		if e.index <= last {
			d.err = fmt.Errorf("snapshot number %d follows %d", e.index, last)
			return
		}
		s.entries = append(s.entries, e)
	}
	for k := range s.pos {
		s.pos[k] = d.floats(h.Samples, maxPosition)
	}
	s.acc = d.words(h.Samples * stride(qs))
	s.blocks.length = int64(d.uint64())
	n := int64(d.uint64())
	if d.err == nil && !(1 <= n && n <= maxStretches && s.blocks.length > 0) {
		d.err = fmt.Errorf("%d blocks of %d snapshots", n, s.blocks.length)
	}
	for range n {
		x := block{number: int64(d.uint64()), count: int64(d.uint64())}
		for _, v := range d.words(h.Samples * blockStride(qs)) {
			x.acc = append(x.acc, int64(v))
		}
		if d.err != nil {
			return
		}
		s.blocks.list = append(s.blocks.list, x)
	}
	// The blocks follow from the numbers of the snapshots.
	want := blocks{}
	for _, e := range s.entries {
		want.at(e.index, 0).count++
	}
	if want.length != s.blocks.length || !slices.EqualFunc(want.list, s.blocks.list, func(a, b block) bool { return a.number == b.number && a.count == b.count }) {
		d.err = errors.New("the blocks are not those of its snapshots")
	}
}

// sound checks that the sums can be sums: within their bounds, and with no
// negative variance.
func (s *State) sound() error {
	qs := s.head.quantities()
	ps, st, n := pairs(qs), stride(qs), uint64(s.head.Snapshots)
	for i := range s.head.Samples {
		acc := s.acc[i*st : (i+1)*st]
		for k := range qs {
			if !within(acc[2*k:], n, valueBits) {
				return fmt.Errorf("the sum of %s of sample %d is out of bounds", qs[k], i+1)
			}
		}
		for k, p := range ps {
			sum := acc[2*(len(qs)+k):]
			if !within(sum, n, 2*valueBits) {
				return fmt.Errorf("the sum of %s of sample %d is out of bounds", p.name, i+1)
			}
			if p.a == p.b && coMoment(n, sum, acc[2*p.a:], acc[2*p.a:]).negative() {
				return fmt.Errorf("the stress %s of sample %d is negative", p.name, i+1)
			}
		}
	}
	return nil
}
