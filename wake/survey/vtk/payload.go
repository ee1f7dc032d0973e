package vtk

import (
	"bytes"
	"cmp"
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
	unpack func(out, in []byte) (n int, err error)
}

// Deflate: 258 bytes for two bits [zlib technical notes, 1032:1]. LZ4: a length byte adds at
// most 255. LZMA: a repeated match of 273 bytes costs about 0.3 bits at best, near 7000:1 [mem].
var compressors = map[string]*compressor{
	"":                      nil,
	"vtkZLibDataCompressor": {1032, inflate},
	"vtkLZ4DataCompressor":  {255, func(out, in []byte) (int, error) { return lz4.UncompressBlock(in, out) }},
	"vtkLZMADataCompressor": {8192, unxz},
}

// payload is the content of one array: size bytes, compressed in blocks of block bytes each
// except perhaps the last.
type payload struct {
	off         int // of its text in the file
	size, block int
	comp        *compressor // nil for none
	big         bool
	text        []byte // the content, after base64 where b64 is set
	b64         bool
	skip        int    // bytes of a header that is encoded with the content
	ends        []int  // compressed: where each block ends in the content
	claim       uint64 // the length that the header announces
}

func plainPayload(content []byte, size int, big bool) *payload {
	return &payload{text: content, size: size, claim: uint64(size), big: big}
}

// span is where block i lies: in the content, and packed.
func (p *payload) span(i int) (lo, hi, from, to int) {
	if i > 0 {
		from = p.ends[i-1]
	}
	return i * p.block, min((i+1)*p.block, p.size), from, p.ends[i]
}

// content gives the bytes of the payload, its blocks unpacked on all processors. The error is
// that of the first block that fails.
func (p *payload) content() ([]byte, error) {
	if p.comp == nil {
		return take(p.text, p.b64, p.skip, p.size)
	}
	packed, err := take(p.text, p.b64, 0, p.ends[len(p.ends)-1])
	if err != nil {
		return nil, err
	}
	out, errs := make([]byte, p.size), make([]error, len(p.ends))
	grid.Parallel(len(p.ends), func(i int) {
		lo, hi, from, to := p.span(i)
		n, err := p.comp.unpack(out[lo:hi], packed[from:to])
		if err == nil && n != hi-lo {
			err = fmt.Errorf("the block holds %d bytes, %d are announced", n, hi-lo)
		}
		if err != nil {
			errs[i] = fmt.Errorf("block %d of %d: %w", i+1, len(p.ends), err)
		}
	})
	return out, cmp.Or(errs...)
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

var inflaters sync.Pool // a block takes less time than the making of its reader

func inflate(out, in []byte) (n int, err error) {
	z, _ := inflaters.Get().(io.ReadCloser)
	if z == nil {
		z, err = zlib.NewReader(bytes.NewReader(in))
	} else {
		err = z.(zlib.Resetter).Reset(bytes.NewReader(in), nil)
	}
	if err != nil {
		return 0, err
	}
	defer inflaters.Put(z)
	return unpackAll(z, out)
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

// values reads n numbers of type t: those of a payload, whose length the caller has checked, or
// where there is none the words of s.data[lo:hi]; end is the offset behind the last of these.
func values[T float64 | int32](s *source, p *payload, t number.Type, lo, hi, n int, what string) (dst []T, end int) {
	if p == nil {
		return textNumbers[T](s, lo, hi, n, what)
	}
	b, err := p.content()
	s.failIf(err != nil, p.off, cutCure, "%s: %v", what, err)
	dst = make([]T, n)
	switch to := any(dst).(type) {
	case []int32:
		k := number.Ints(to, b, t, p.big)
		s.failIf(k >= 0, p.off, cutCure, "%s: entry %d of %d is not a whole number below 2^31", what, k+1, n)
	case []float64:
		if t == number.Bit {
			number.Floats(to, b, 0, t, p.big)
			break
		}
		grid.Ranges(n, func(lo, hi int) { number.Floats(to[lo:hi], b[lo*t.Size():], t.Size(), t, p.big) })
	}
	return dst, 0
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
	return grid.Fill(n, func(i int) uint64 { return c.word.Value(b[c.word.Bytes(i):], c.big) }), nil
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
	p := &payload{comp: c.comp, big: c.big, b64: b64, ends: make([]int, n)}
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
		if lo, hi, from, to := p.span(i); hi-lo > c.comp.ratio*(to-from)+64 {
			return nil, 0, fmt.Errorf("block %d of %d cannot hold %d bytes in %d compressed ones", i+1, n, hi-lo, to-from)
		}
	}
	return p, used, nil
}
