package vtk

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/klauspost/compress/zlib"
	"github.com/pierrec/lz4/v4"
)

// compressor of an XML file's payloads.
type compressor uint8

const (
	plain compressor = iota
	zlibs
	lz4s
	lzmas
)

var compressors = map[string]compressor{
	"vtkZLibDataCompressor": zlibs,
	"vtkLZ4DataCompressor":  lz4s,
	"vtkLZMADataCompressor": lzmas,
}

// maxRatio is what a compression can reach at most, bytes out per byte in. A
// header that claims more is wrong. Deflate: 258 bytes for two bits [zlib
// technical notes, 1032:1]. LZ4: a length byte adds at most 255. LZMA: a repeated
// match of 273 bytes costs about 0.3 bits at best, near 7000:1 [mem].
var maxRatio = [...]int{1, 1032, 255, 8192}

// payload is the encoded content of one array in an XML file: size bytes in n
// blocks, each block bytes long except perhaps the last.
//
// The header before it is, plain: the length; compressed: the number of blocks,
// the block length, the length of the last block if shorter (else 0), and the
// compressed length of each. Base64 text encodes header and content as one
// stream when plain, and as two, each padded on its own, when compressed.
type payload struct {
	off            int // of the header in the file
	size, block, n int
	comp           compressor
	raw            []byte // content, when not base64
	b64            []byte // base64 text, when it is
	skip           int    // decoded bytes of b64 before the content
	ends           []int  // compressed: where each block ends in the content
	// wrong is set where the header announces another length, which is claim.
	wrong bool
	claim uint64
}

// span is the range of the content of block i.
func (p *payload) span(i int) (lo, hi int) {
	return i * p.block, min((i+1)*p.block, p.size)
}

// scratch is a worker's memory.
type scratch struct {
	text, out []byte
	src       bytes.Reader
	inflate   io.ReadCloser
}

func grow(b []byte, n int) []byte {
	if cap(b) < n {
		return make([]byte, n)
	}
	return b[:n]
}

// b64Range decodes bytes lo…hi of the stream that text encodes.
func b64Range(text []byte, lo, hi int, buf []byte) (out, newBuf []byte, err error) {
	g0, g1 := lo/3*4, (hi+2)/3*4
	if g1 > len(text) {
		return nil, buf, errors.New("the base64 text is too short")
	}
	buf = grow(buf, (g1-g0)/4*3)
	n, err := base64.StdEncoding.Decode(buf, text[g0:g1])
	if err != nil {
		return nil, buf, err
	}
	if n < hi-lo/3*3 {
		return nil, buf, errors.New("the base64 text is padded too early")
	}
	return buf[lo-lo/3*3 : hi-lo/3*3], buf, nil
}

// bytes returns the content of block i; it is valid until the next call with the
// same scratch.
func (p *payload) bytes(i int, sc *scratch) ([]byte, error) {
	lo, hi := p.span(i)
	if p.comp == plain {
		if p.b64 == nil {
			return p.raw[lo:hi], nil
		}
		var out []byte
		var err error
		out, sc.text, err = b64Range(p.b64, p.skip+lo, p.skip+hi, sc.text)
		return out, err
	}
	in, err := p.packed(i, sc)
	if err != nil {
		return nil, err
	}
	sc.out = grow(sc.out, hi-lo)
	n, err := p.unpack(in, sc.out, sc)
	if err == nil && n != len(sc.out) {
		err = fmt.Errorf("the block holds %d bytes, %d are announced", n, len(sc.out))
	}
	return sc.out, err
}

// packed returns the compressed bytes of block i.
func (p *payload) packed(i int, sc *scratch) (in []byte, err error) {
	c0 := 0
	if i > 0 {
		c0 = p.ends[i-1]
	}
	if p.b64 == nil {
		return p.raw[c0:p.ends[i]], nil
	}
	in, sc.text, err = b64Range(p.b64, c0, p.ends[i], sc.text)
	return in, err
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
	if len(p.ends) == 0 || size > p.room(p.ends[p.n-1], p.n) {
		return false
	}
	var sc scratch
	content := make([]byte, size)
	at := 0
	for i := range p.n {
		in, err := p.packed(i, &sc)
		if err != nil {
			return false
		}
		n, err := p.unpack(in, content[at:min(size, at+p.room(len(in), 1))], &sc)
		if err != nil {
			return false
		}
		at += n
	}
	if at != size {
		return false
	}
	*p = payload{off: p.off, size: size, raw: content}
	p.cut()
	return true
}

// room is how many bytes n compressed ones in so many blocks can unpack to.
func (p *payload) room(n, blocks int) int { return maxRatio[p.comp]*n + 64*blocks }

// each calls f with every block, several at a time when there is enough to do. The
// error is that of the first block that fails, whatever the number of workers:
// blocks are handed out in order and each one begun is finished.
func (p *payload) each(f func(i int, b []byte) error) error {
	workers := min(runtime.GOMAXPROCS(0), p.n)
	if p.size < 1<<18 {
		workers = min(workers, 1)
	}
	var (
		next atomic.Int64
		mu   sync.Mutex
		wg   sync.WaitGroup
		at   = p.n
		bad  error
		stop atomic.Bool
	)
	work := func() {
		var sc scratch
		for !stop.Load() {
			i := int(next.Add(1)) - 1
			if i >= p.n {
				return
			}
			b, err := p.bytes(i, &sc)
			if err == nil {
				err = f(i, b)
			}
			if err != nil {
				stop.Store(true)
				mu.Lock()
				if i < at {
					at, bad = i, err
				}
				mu.Unlock()
			}
		}
	}
	for range workers - 1 {
		wg.Go(work)
	}
	work()
	wg.Wait()
	if bad != nil {
		return fmt.Errorf("block %d of %d: %w", at+1, p.n, bad)
	}
	return nil
}

// plainBlock is the length in which plain payloads are handed to the workers: a
// multiple of every value's length, small enough for the cache.
const plainBlock = 1 << 16

// cut sets the blocks of a plain payload.
func (p *payload) cut() {
	p.block = plainBlock
	p.n = (p.size + p.block - 1) / p.block
}

// header reads the words of a payload's header.
type header struct {
	word  int
	order binary.ByteOrder
}

func (h header) at(b []byte, i int) uint64 {
	if h.word == 4 {
		return uint64(h.order.Uint32(b[4*i:]))
	}
	return h.order.Uint64(b[8*i:])
}

// openPayload reads the header of the payload at data[lo:hi], which takes size bytes
// by the file's counts. When exact is true the payload must fill that range, otherwise
// it may end before. It returns the offset behind the payload.
//
// Some writers announce a wrong length. Where the content is just as long as the counts
// need, it is read and the payload marked as wrong; a content of another length shows
// that bytes are lost or foreign.
func openPayload(s *source, lo, hi int, b64, exact bool, comp compressor, h header, size int, what string) (*payload, int, error) {
	p := &payload{off: lo, comp: comp}
	text := s.data[lo:hi]
	fail := func(format string, a ...any) (*payload, int, error) {
		return nil, 0, s.fail(lo, cutCure, "%s: %s", what, fmt.Sprintf(format, a...))
	}
	// head decodes the first n bytes of the header.
	head := func(n int) ([]byte, error) {
		if !b64 {
			if n > len(text) {
				return nil, fmt.Errorf("only %d bytes are left for its header of %d", len(text), n)
			}
			return text[:n], nil
		}
		if (n+2)/3*4 > len(text) {
			return nil, fmt.Errorf("only %d characters are left for its header of %d bytes", len(text), n)
		}
		b, _, err := b64Range(text, 0, n, nil)
		return b, err
	}
	first, err := head(h.word)
	if err != nil {
		return fail("%v", err)
	}
	v := h.at(first, 0)
	if comp == plain {
		// holds is the length of the content, if it fills the range.
		holds := len(text) - h.word
		if b64 {
			pad := len(text) - len(bytes.TrimRight(text, "="))
			holds = len(text)/4*3 - pad - h.word
		} else if !exact && holds > size && len(bytes.TrimSpace(text[h.word+size:])) == 0 {
			holds = size // then the line break before the closing tag
		}
		if v != uint64(size) && holds == size {
			p.wrong, p.claim, v = true, v, uint64(size)
		}
		if v > uint64(max(holds, 0)) {
			return fail("its header announces %d bytes, %d follow", v, max(holds, 0))
		}
		p.size = int(v)
		p.cut()
		used := h.word + p.size
		if b64 {
			p.b64, p.skip = text, h.word
			used = (used + 2) / 3 * 4
		} else {
			p.raw = text[h.word:used]
		}
		if exact && p.size != holds {
			return fail("its header announces %d bytes, %d follow", v, holds)
		}
		return p, lo + used, nil
	}
	// Compressed. Each block costs a word of header.
	if v == 0 {
		// The library writes the number of blocks alone, or all three words.
		used := h.word
		if b64 {
			used = (used + 2) / 3 * 4
			if exact && len(text) == h.word*4 {
				used = len(text)
			}
		}
		if exact && used != len(text) {
			return fail("its header announces no blocks, %d characters are left over", len(text)-used)
		}
		return p, lo + used, nil
	}
	if v > uint64(len(text)/h.word) {
		return fail("its header announces %d blocks, %d bytes follow", v, len(text))
	}
	p.n = int(v)
	words := 3 + p.n
	b, err := head(words * h.word)
	if err != nil {
		return fail("its header announces %d blocks, but %v", p.n, err)
	}
	used := words * h.word
	if b64 {
		used = (used + 2) / 3 * 4
	}
	content := text[used:]
	avail := len(content)
	if b64 {
		avail = avail / 4 * 3
	}
	p.ends = make([]int, p.n)
	sum := 0
	for i := range p.ends {
		c := h.at(b, 3+i)
		if c > uint64(avail-sum) {
			return fail("block %d of %d has %d compressed bytes by its header, %d are left", i+1, p.n, c, avail-sum)
		}
		sum += int(c)
		p.ends[i] = sum
	}
	if b64 {
		p.b64 = content
		used += (sum + 2) / 3 * 4
		if used > len(text) {
			return fail("its header announces %d compressed bytes, fewer follow", sum)
		}
	} else {
		p.raw = content
		used += sum
	}
	if exact && used != len(text) {
		return fail("its header announces %d compressed bytes, %d characters are left over", sum, len(text)-used)
	}
	block, last := h.at(b, 1), h.at(b, 2)
	// In 64 bits, whose overflow gives another claim than size.
	claim := v * block
	if last > 0 {
		claim -= block - last
	}
	if sound := 0 < block && block <= maxCount && last <= block; !sound || claim != uint64(size) {
		if p.mend(size) {
			p.wrong, p.claim = true, claim
			return p, lo + used, nil
		}
		if !sound {
			return fail("its header announces blocks of %d bytes with a last one of %d", block, last)
		}
	}
	p.block, p.size = int(block), int(claim)
	for i, c := 0, 0; i < p.n; i, c = i+1, p.ends[i] {
		if blo, bhi := p.span(i); bhi-blo > p.room(p.ends[i]-c, 1) {
			return fail("block %d of %d cannot hold %d bytes in %d compressed ones", i+1, p.n, bhi-blo, p.ends[i]-c)
		}
	}
	return p, lo + used, nil
}

// floats converts the whole payload, n values of type t, whose length the caller
// has checked.
func (p *payload) floats(n int, t number, order binary.ByteOrder) ([]float64, error) {
	dst := make([]float64, n)
	size := numberSize[t]
	if t == bits || p.block%size != 0 {
		all, err := p.all()
		if err != nil {
			return nil, err
		}
		toFloats(dst, all, t, order)
		return dst, nil
	}
	err := p.each(func(i int, b []byte) error {
		lo, hi := p.span(i)
		toFloats(dst[lo/size:hi/size], b, t, order)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return dst, nil
}

// ints is floats for whole numbers that fit 32 bits.
func (p *payload) ints(n int, t number, order binary.ByteOrder) ([]int32, error) {
	dst := make([]int32, n)
	size := numberSize[t]
	convert := func(lo, hi int, b []byte) error {
		if k := toInts(dst[lo:hi], b, t, order); k >= 0 {
			return fmt.Errorf("entry %d of %d is not a whole number below 2^31", lo+k+1, n)
		}
		return nil
	}
	if p.block%size != 0 {
		all, err := p.all()
		if err != nil {
			return nil, err
		}
		if err := convert(0, n, all); err != nil {
			return nil, err
		}
		return dst, nil
	}
	err := p.each(func(i int, b []byte) error {
		lo, hi := p.span(i)
		return convert(lo/size, hi/size, b)
	})
	if err != nil {
		return nil, err
	}
	return dst, nil
}

// all joins the blocks, for values that straddle them.
func (p *payload) all() ([]byte, error) {
	out := make([]byte, p.size)
	err := p.each(func(i int, b []byte) error {
		lo, _ := p.span(i)
		copy(out[lo:], b)
		return nil
	})
	return out, err
}
