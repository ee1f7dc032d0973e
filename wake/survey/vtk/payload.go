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

// compressor unpacks the blocks of a compression: into out what in holds, which must not be
// more. It reaches ratio bytes out per byte in at most; a header that claims more is wrong.
type compressor struct {
	ratio  int
	unpack func(out, in []byte, sc *scratch) (n int, err error)
}

// Deflate: 258 bytes for two bits [zlib technical notes, 1032:1]. LZ4: a length byte adds at
// most 255. LZMA: a repeated match of 273 bytes costs about 0.3 bits at best, near 7000:1 [mem].
var compressors = map[string]*compressor{
	"":                      nil,
	"vtkZLibDataCompressor": {1032, inflate},
	"vtkLZ4DataCompressor":  {255, func(out, in []byte, _ *scratch) (int, error) { return lz4.UncompressBlock(in, out) }},
	"vtkLZMADataCompressor": {8192, func(out, in []byte, _ *scratch) (int, error) { return unxz(out, in) }},
}

// payload is the content of one array: size bytes in n blocks, each block bytes long
// except perhaps the last, in the order of bytes that big tells.
type payload struct {
	off            int // of its text in the file
	size, block, n int
	comp           *compressor // nil for none
	big            bool
	text           []byte // the content, after base64 where b64 is set
	b64            bool
	skip           int    // bytes of a header that is encoded with the content
	ends           []int  // compressed: where each block ends in the content
	claim          uint64 // the length that the header announces
}

// plainBlock is the length in which plain payloads are handed to the workers: a
// multiple of every value's length, small enough for the cache.
const plainBlock = 1 << 16

func plainPayload(content []byte, size int, big bool) *payload {
	return &payload{text: content, size: size, claim: uint64(size), block: plainBlock, n: (size + plainBlock - 1) / plainBlock, big: big}
}

func (p *payload) span(i int) (lo, hi int) {
	return i * p.block, min((i+1)*p.block, p.size)
}

func (p *payload) packed(i int) []byte {
	lo, hi := p.span(i)
	if p.comp != nil {
		lo, hi = 0, p.ends[i]
		if i > 0 {
			lo = p.ends[i-1]
		}
	}
	return p.text[lo:hi]
}

func (p *payload) decode() (err error) {
	need := p.size
	if p.comp != nil {
		need = p.ends[p.n-1]
	}
	p.text, err = take(p.text, p.b64, p.skip, need)
	p.b64, p.skip = false, 0
	return err
}

// take gives n bytes behind skip others, which text holds as they are or in base64.
func take(text []byte, b64 bool, skip, n int) ([]byte, error) {
	if b64 {
		text = text[:length(skip+n, true)]
		b := make([]byte, base64.StdEncoding.DecodedLen(len(text)))
		k, err := base64.StdEncoding.Decode(b, text)
		if err == nil && k < skip+n {
			err = errors.New("the base64 text is padded too early")
		}
		if err != nil {
			return nil, err
		}
		text = b
	}
	return text[skip : skip+n], nil
}

type scratch struct {
	out     []byte
	src     bytes.Reader
	inflate io.ReadCloser
}

// bytes returns the content of block i; it is valid until the next call with the
// same scratch.
func (p *payload) bytes(i int, sc *scratch) ([]byte, error) {
	if p.comp == nil {
		return p.packed(i), nil
	}
	lo, hi := p.span(i)
	if cap(sc.out) < hi-lo {
		sc.out = make([]byte, hi-lo)
	}
	sc.out = sc.out[:hi-lo]
	n, err := p.comp.unpack(sc.out, p.packed(i), sc)
	if err == nil && n != len(sc.out) {
		err = fmt.Errorf("the block holds %d bytes, %d are announced", n, len(sc.out))
	}
	return sc.out, err
}

func inflate(out, in []byte, sc *scratch) (n int, err error) {
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

// values reads n numbers of type t: those of a payload, whose length the caller has checked, or
// where there is none the words of s.data[lo:hi]; end is the offset behind the last of these.
func values[T float64 | int32](s *source, p *payload, t number.Type, lo, hi, n int, what string) (dst []T, end int) {
	if p == nil {
		return textNumbers[T](s, lo, hi, n, what)
	}
	dst = make([]T, n)
	p.convert(s, n, t, what, func(lo, hi int, b []byte) error {
		switch to := any(dst[lo:hi]).(type) {
		case []float64:
			number.Floats(to, b, t.Size(), t, p.big)
		case []int32:
			if k := number.Ints(to, b, t, p.big); k >= 0 {
				return fmt.Errorf("entry %d of %d is not a whole number below 2^31", lo+k+1, n)
			}
		}
		return nil
	})
	return dst, 0
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
	comp *compressor
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
	b, err := take(text, b64, 0, size)
	if err != nil {
		return nil, err
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
// Some writers announce a wrong length of plain content. Where the text is just as long as
// the counts need, it is read; another length shows that bytes are lost or foreign.
func (c coding) open(text []byte, b64, exact bool, size int) (p *payload, used int, err error) {
	first, err := c.words(text, b64, 1)
	if err != nil {
		return nil, 0, err
	}
	switch {
	case c.comp == nil:
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
		p, used, err = c.openBlocks(text, b64, int(first[0]))
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
	}
	if exact && holds == size {
		v = uint64(size)
	}
	if v > uint64(max(holds, 0)) || exact && v != uint64(holds) {
		return nil, 0, fmt.Errorf("its header announces %d bytes, %d follow", v, max(holds, 0))
	}
	used := length(c.word.Size()+int(v), b64)
	p := plainPayload(text, int(v), c.big)
	p.claim, p.b64, p.skip = claim, b64, c.word.Size()
	return p, used, nil
}

func (c coding) openBlocks(text []byte, b64 bool, n int) (*payload, int, error) {
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
	if !(0 < block && block <= maxCount && last <= block) {
		return nil, 0, fmt.Errorf("its header announces blocks of %d bytes with a last one of %d", block, last)
	}
	p.block, p.size = int(block), n*int(block)
	if last > 0 {
		p.size -= int(block - last)
	}
	p.claim = uint64(p.size)
	for i := range n {
		if lo, hi := p.span(i); hi-lo > c.comp.ratio*len(p.packed(i))+64 {
			return nil, 0, fmt.Errorf("block %d of %d cannot hold %d bytes in %d compressed ones", i+1, n, hi-lo, len(p.packed(i)))
		}
	}
	return p, used, nil
}
