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
	"io"
	"math"
	"slices"

	"wakeledger/wake"
)

// The file of a state, all numbers little-endian:
//
//	magic     8 bytes, "WLMEAN" CR LF
//	version   uint32, 4
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
	version = 4
	// maxIntegral, m², is beyond what the bounds on values, positions and reference
	// let an integral reach.
	maxIntegral = 1e100
)

// arrays are the numbers behind the head, in order.
func (s *State) arrays() []any {
	out := []any{s.pos[0], s.pos[1], s.pos[2], s.acc}
	for _, b := range s.blocks.list {
		out = append(out, b.acc)
	}
	return out
}

// Encode writes the state.
func (s *State) Encode(w io.Writer) error {
	head, err := json.Marshal(s.head)
	if err != nil {
		return err
	}
	sum, out := sha256.New(), bufio.NewWriterSize(w, 1<<16)
	for _, part := range append([]any{[]byte(magic), []uint32{version, uint32(len(head))}, head}, s.arrays()...) {
		if err := binary.Write(io.MultiWriter(out, sum), binary.LittleEndian, part); err != nil {
			return err
		}
	}
	out.Write(sum.Sum(nil)) // Flush tells of its error
	return out.Flush()
}

// Decode reads a state of size bytes, to which its counts have to fit before they take memory.
// name is the file's in messages. A file that is damaged, cut short, of another kind or of
// another version is a *wake.InputError.
func Decode(name string, r io.Reader, size int64) (*State, error) {
	s := &State{}
	refuse := func(bad bool, cure, format string, a ...any) {
		if bad {
			wake.Stop(wake.Refuse(name, cure, format, a...))
		}
	}
	sound := func(err error) {
		refuse(err != nil, "average the snapshots again", "the state is damaged or cut short: %v", err)
	}
	fits := func(want int64) {
		switch {
		case size < want:
			sound(errors.New("ends before the state is complete"))
		case size > want:
			sound(errors.New("goes on after its end"))
		}
	}
	err := wake.Attempt(func() {
		sum, whole := sha256.New(), bufio.NewReaderSize(r, 1<<16)
		in := io.TeeReader(whole, sum)
		start, _ := whole.Peek(len(magic))
		refuse(string(start) != magic, "give files mean.state that average or merge wrote", "not a state of an average: it does not begin as one")
		front := struct {
			Magic         [len(magic)]byte
			Version, Head uint32
		}{}
		rest := int64(binary.Size(front)) + sha256.Size
		fits(max(size, rest))
		sound(binary.Read(in, binary.LittleEndian, &front))
		refuse(front.Version != version, "use the version of the program that wrote it, or average again", "the state is of version %d, version %d is expected", front.Version, version)
		rest += int64(front.Head)
		fits(max(size, rest))
		head := make([]byte, front.Head)
		sound(binary.Read(in, binary.LittleEndian, head))
		sound(s.head.parse(head))
		for _, e := range s.head.Entries {
			s.blocks.at(e.Index, 0).count++
		}
		n, qs := s.head.Samples, s.head.Quantities
		fits(rest + 8*int64(n)*int64(3+stride(qs)+len(s.blocks.list)*blockStride(qs)))
		for k := range s.pos {
			s.pos[k] = make([]float64, n)
		}
		s.acc = make([]uint64, n*stride(qs))
		for k := range s.blocks.list {
			s.blocks.list[k].acc = make([]int64, n*blockStride(qs))
		}
		for _, a := range s.arrays() {
			sound(binary.Read(in, binary.LittleEndian, a))
		}
		want, got := sum.Sum(nil), make([]byte, sha256.Size)
		sound(binary.Read(in, binary.LittleEndian, got))
		if !bytes.Equal(want, got) {
			sound(errors.New("the checksum is not that of the contents"))
		}
		sound(s.sound())
	})
	if err != nil {
		return nil, err
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
	qs := h.Quantities
	for k, q := range qs {
		if q >= wake.NumQuantities || quantum[q] == 0 || k > 0 && q <= qs[k-1] {
			return fmt.Errorf("the quantities %d", qs)
		}
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
		if err := cmp.Or(within(e.Integrals, maxIntegral), within(e.Probes, math.Ldexp(1, valueBits-quantum[wake.U]))); err != nil {
			return err
		}
	}
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

// sound checks that the contents can be those of an average: places within their bounds, and no
// negative variance.
func (s *State) sound() error {
	if err := cmp.Or(within(s.pos[0], maxPosition), within(s.pos[1], maxPosition), within(s.pos[2], maxPosition)); err != nil {
		return err
	}
	qs := s.head.Quantities
	ps, st, n := pairs(qs), stride(qs), uint64(s.Snapshots())
	var e exact
	for i := range s.head.Samples {
		acc := s.acc[i*st : (i+1)*st]
		for k, p := range ps {
			if p.a == p.b && e.coMoment(n, acc[2*(len(qs)+k):], acc[2*p.a:], acc[2*p.a:]).Sign() < 0 {
				return fmt.Errorf("the stress %s of sample %d is negative", p.name, i+1)
			}
		}
	}
	return nil
}
