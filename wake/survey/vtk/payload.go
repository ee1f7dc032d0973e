package vtk

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"sync"

	"github.com/klauspost/compress/zlib"
	"github.com/pierrec/lz4/v4"

	"wakeledger/grid"
	"wakeledger/wake/survey/number"
)

type compressor uint8

const (
	plain compressor = iota
	zlibs
	lz4s
	lzmas
)

var compressors = map[string]compressor{
	"": plain, "vtkZLibDataCompressor": zlibs, "vtkLZ4DataCompressor": lz4s, "vtkLZMADataCompressor": lzmas,
}

// maxRatio is what a compression can reach at most, bytes out per byte in. A
// header that claims more is wrong. Deflate: 258 bytes for two bits [zlib
// technical notes, 1032:1]. LZ4: a length byte adds at most 255. LZMA: a repeated
// match of 273 bytes costs about 0.3 bits at best, near 7000:1 [mem].
var maxRatio = [...]int{1, 1032, 255, 8192}

// room is how many bytes n compressed ones in so many blocks can unpack to.
func (c compressor) room(n, blocks int) int { return maxRatio[c]*n + 64*blocks }

// payload is the content of one array: size bytes in n blocks, each block bytes long
// except perhaps the last, in the order of bytes that big tells.
type payload struct {
	off            int // of its text in the file
	size, block, n int
	comp           compressor
	big            bool
	text           []byte // the content, after base64 where b64 is set
	b64            bool
	skip           int   // bytes of a header that is encoded with the content
	ends           []int // compressed: where each block ends in the content
	// wrong is set where the header announces another length, which is claim.
	wrong bool
	claim uint64
}

// plainBlock is the length in which plain payloads are handed to the workers: a
// multiple of every value's length, small enough for the cache.
const plainBlock = 1 << 16

func plainPayload(content []byte, size int, big bool) *payload {
	return &payload{text: content, size: size, block: plainBlock, n: (size + plainBlock - 1) / plainBlock, big: big}
}

func (p *payload) span(i int) (lo, hi int) {
	return i * p.block, min((i+1)*p.block, p.size)
}

func (p *payload) packed(i int) []byte {
	lo, hi := p.span(i)
	if p.comp != plain {
		lo, hi = 0, p.ends[i]
		if i > 0 {
			lo = p.ends[i-1]
		}
	}
	return p.text[lo:hi]
}

func (p *payload) decode() error {
	if !p.b64 {
		return nil
	}
	need := p.size
	if p.comp != plain {
		need = p.ends[p.n-1]
	}
	b, err := unbase64(p.text, p.skip+need)
	if err == nil {
		p.text, p.b64 = b[p.skip:], false
	}
	return err
}

// unbase64 decodes text, which has to hold need bytes.
func unbase64(text []byte, need int) ([]byte, error) {
	b := make([]byte, base64.StdEncoding.DecodedLen(len(text)))
	n, err := base64.StdEncoding.Decode(b, text)
	if err == nil && n < need {
		err = errors.New("the base64 text is padded too early")
	}
	return b[:n], err
}

type scratch struct {
	out     []byte
	src     bytes.Reader
	inflate io.ReadCloser
}

// bytes returns the content of block i; it is valid until the next call with the
// same scratch.
func (p *payload) bytes(i int, sc *scratch) ([]byte, error) {
	if p.comp == plain {
		return p.packed(i), nil
	}
	lo, hi := p.span(i)
	if cap(sc.out) < hi-lo {
		sc.out = make([]byte, hi-lo)
	}
	sc.out = sc.out[:hi-lo]
	n, err := p.unpack(p.packed(i), sc.out, sc)
	if err == nil && n != len(sc.out) {
		err = fmt.Errorf("the block holds %d bytes, %d are announced", n, len(sc.out))
	}
	return sc.out, err
}

// unpack puts the n bytes that a compressed block holds into out; that it holds more
// is an error.
func (p *payload) unpack(in, out []byte, sc *scratch) (n int, err error) {
	switch p.comp {
	case lz4s:
		return lz4.UncompressBlock(in, out)
	case lzmas:
		return unxz(out, in)
	}
	sc.src.Reset(in)
	if sc.inflate == nil {
		if sc.inflate, err = zlib.NewReader(&sc.src); err != nil {
			return 0, err
		}
	} else if err := sc.inflate.(zlib.Resetter).Reset(&sc.src, nil); err != nil {
		return 0, err
	}
	return unpackAll(sc.inflate, out)
}

var errLong = errors.New("the block holds more than announced")

// unpackAll reads all of r, which must not hold more than out does.
func unpackAll(r io.Reader, out []byte) (n int, err error) {
	if n, err = io.ReadFull(r, out); err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return n, err
	}
	var one [1]byte
	switch k, err := r.Read(one[:]); {
	case k > 0 || err == nil:
		return n, errLong
	case err != io.EOF:
		return n, err
	}
	return n, nil
}

// mend unpacks the blocks one after the other, as long as each of them is, and keeps
// the content when it is size bytes in all.
func (p *payload) mend(size int) bool {
	if size > p.comp.room(p.ends[p.n-1], p.n) || p.decode() != nil {
		return false
	}
	var sc scratch
	content := make([]byte, size)
	at := 0
	for i := range p.n {
		in := p.packed(i)
		n, err := p.unpack(in, content[at:min(size, at+p.comp.room(len(in), 1))], &sc)
		if err != nil {
			return false
		}
		at += n
	}
	if at == size {
		*p = *plainPayload(content, size, p.big)
	}
	return at == size
}

var scratches = sync.Pool{New: func() any { return &scratch{} }}

// each calls f with every block, on all processors. The error is that of the first block
// that fails.
func (p *payload) each(f func(i int, b []byte) error) error {
	if err := p.decode(); err != nil {
		return err
	}
	errs := make([]error, p.n)
	grid.Parallel(p.n, func(i int) {
		sc := scratches.Get().(*scratch)
		defer scratches.Put(sc)
		b, err := p.bytes(i, sc)
		if err == nil {
			err = f(i, b)
		}
		errs[i] = err
	})
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("block %d of %d: %w", i+1, p.n, err)
		}
	}
	return nil
}

// floats converts the payload of an array, n values of type t, whose length the caller
// has checked.
func (p *payload) floats(s *source, n int, t number.Type, what string) []float64 {
	dst := make([]float64, n)
	p.convert(s, n, t, what, func(lo, hi int, b []byte) error {
		number.Floats(dst[lo:hi], b, t.Size(), t, p.big)
		return nil
	})
	return dst
}

func (p *payload) ints(s *source, n int, t number.Type, what string) []int32 {
	dst := make([]int32, n)
	p.convert(s, n, t, what, func(lo, hi int, b []byte) error {
		if k := number.Ints(dst[lo:hi], b, t, p.big); k >= 0 {
			return fmt.Errorf("entry %d of %d is not a whole number below 2^31", lo+k+1, n)
		}
		return nil
	})
	return dst
}

// convert calls f for stretches of the n values; values that straddle blocks are
// taken at once.
func (p *payload) convert(s *source, n int, t number.Type, what string, f func(lo, hi int, b []byte) error) {
	size := t.Size()
	straddle := t == number.Bit || p.block%size != 0
	var all []byte
	if straddle {
		all = make([]byte, p.size)
	}
	err := p.each(func(i int, b []byte) error {
		if lo, hi := p.span(i); !straddle {
			return f(lo/size, hi/size, b)
		}
		copy(all[i*p.block:], b)
		return nil
	})
	if err == nil && straddle {
		err = f(0, n, all)
	}
	s.failIf(err != nil, p.off, cutCure, "%s: %v", what, err)
}

type coding struct {
	comp compressor
	word number.Type // of a header
	big  bool
}

func length(n int, b64 bool) int {
	if b64 {
		return (n + 2) / 3 * 4
	}
	return n
}

func (c coding) words(text []byte, b64 bool, n int) ([]uint64, error) {
	size := c.word.Bytes(n)
	if length(size, b64) > len(text) {
		return nil, fmt.Errorf("only %d bytes are left for its header of %d", len(text), size)
	}
	b := text[:length(size, b64)]
	if b64 {
		var err error
		if b, err = unbase64(b, size); err != nil {
			return nil, err
		}
	}
	out := make([]uint64, n)
	for i := range out {
		out[i] = c.word.Value(b[c.word.Bytes(i):], c.big)
	}
	return out, nil
}

// open reads the header of the payload that text begins with, which takes size bytes by the
// file's counts, and returns the length of both; exact: the payload must fill the text.
//
// The header is, plain: the length; compressed: the number of blocks, the block length,
// the length of the last block if shorter (else 0), and the compressed length of each.
// Base64 text encodes header and content as one stream when plain, as two when compressed.
//
// Some writers announce a wrong length. Where the content is just as long as the counts
// need, it is read and marked as wrong; another length shows that bytes are lost or foreign.
func (c coding) open(text []byte, b64, exact bool, size int) (p *payload, used int, err error) {
	first, err := c.words(text, b64, 1)
	if err != nil {
		return nil, 0, err
	}
	switch {
	case c.comp == plain:
		p, used, err = c.openPlain(text, b64, exact, size, first[0])
	case first[0] == 0:
		// The library writes the number of blocks alone, or all three words.
		p, used = plainPayload(nil, 0, c.big), length(c.word.Size(), b64)
		if b64 && exact && len(text) == c.word.Size()*4 {
			used = len(text)
		}
	case first[0] > uint64(len(text)/c.word.Size()):
		err = fmt.Errorf("its header announces %d blocks, %d bytes follow", first[0], len(text))
	default:
		p, used, err = c.openBlocks(text, b64, int(first[0]), size)
	}
	if err == nil && exact && used != len(text) {
		err = fmt.Errorf("its header announces less than the %d bytes that follow: %d are left over", len(text), len(text)-used)
	}
	return p, used, err
}

func (c coding) openPlain(text []byte, b64, exact bool, size int, v uint64) (*payload, int, error) {
	// holds is the length of the content, if it fills the range.
	holds, claim := len(text)-c.word.Size(), v
	if b64 {
		pad := len(text) - len(bytes.TrimRight(text, "="))
		holds = len(text)/4*3 - pad - c.word.Size()
	} else if !exact && holds > size && len(bytes.TrimSpace(text[c.word.Size()+size:])) == 0 {
		holds = size // then the line break before the closing tag
	}
	if holds == size {
		v = uint64(size)
	}
	if v > uint64(max(holds, 0)) || exact && v != uint64(holds) {
		return nil, 0, fmt.Errorf("its header announces %d bytes, %d follow", v, max(holds, 0))
	}
	used := length(c.word.Size()+int(v), b64)
	p := plainPayload(text[:used], int(v), c.big)
	p.wrong, p.claim = v != claim, claim
	if p.b64, p.skip = b64, c.word.Size(); !b64 {
		p.text = text[c.word.Size():used]
	}
	return p, used, nil
}

func (c coding) openBlocks(text []byte, b64 bool, n, size int) (*payload, int, error) {
	head, err := c.words(text, b64, 3+n)
	if err != nil {
		return nil, 0, fmt.Errorf("its header announces %d blocks, but %v", n, err)
	}
	used := length(c.word.Bytes(3+n), b64)
	p := &payload{comp: c.comp, big: c.big, n: n, b64: b64, ends: make([]int, n)}
	sum, left := 0, len(text)-used
	if b64 {
		left = left / 4 * 3
	}
	for i, k := range head[3:] {
		if k > uint64(left-sum) {
			return nil, 0, fmt.Errorf("block %d of %d has %d compressed bytes by its header, %d are left", i+1, n, k, left-sum)
		}
		sum += int(k)
		p.ends[i] = sum
	}
	p.text = text[used : used+length(sum, b64)]
	used += length(sum, b64)
	block, last := head[1], head[2]
	// In 64 bits, whose overflow gives another claim than size.
	claim := uint64(n) * block
	if last > 0 {
		claim -= block - last
	}
	if sound := 0 < block && block <= maxCount && last <= block; !sound || claim != uint64(size) {
		if p.mend(size) {
			p.wrong, p.claim = true, claim
			return p, used, nil
		}
		if !sound {
			return nil, 0, fmt.Errorf("its header announces blocks of %d bytes with a last one of %d", block, last)
		}
	}
	p.block, p.size = int(block), int(claim)
	for i := range n {
		if lo, hi := p.span(i); hi-lo > c.comp.room(len(p.packed(i)), 1) {
			return nil, 0, fmt.Errorf("block %d of %d cannot hold %d bytes in %d compressed ones", i+1, n, hi-lo, len(p.packed(i)))
		}
	}
	return p, used, nil
}
