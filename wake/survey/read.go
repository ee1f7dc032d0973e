package survey

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"

	"wakeledger/wake"
)

// Blocks are what a core parses at a time; the head is what the dialect is
// learned from. A line may not be longer than maxLine.
const (
	blockBytes = 4 << 20
	headBytes  = 1 << 20
	maxLine    = 1 << 20
	maxSamples = 1<<31 - 1 // meshes number their samples with int32
)

// Options say what the file itself does not.
type Options struct {
	// Columns names the column of a quantity: "NAME [unit]". NAME is a header, with
	// or without its unit, or the number of a column, from 1. "= VALUE unit" gives
	// one value for all samples instead.
	Columns map[wake.Quantity]string
	// Units gives units of quantities, over what the file says; a unit in Columns
	// goes before it. LengthUnit does so for the three coordinates.
	Units      map[wake.Quantity]string
	LengthUnit string
	// Frame says how the file's axes lie.
	Frame wake.Frame
	// Density, kg/m³, takes a kinematic pressure to Pa; 0 where it is not known.
	Density float64
	// By is who decided on what these options say, "flag" or "study"; empty means
	// "flag".
	By string
	// Workers is how many blocks are parsed at once; 0 means all cores. The result
	// does not depend on it.
	Workers int

	block, head int // bytes, for tests
	// absent, where it is not nil, takes the errors of columns that the file lacks,
	// for files that are read together.
	absent map[wake.Quantity]error
}

// Read reads the samples of a file; "-" is the standard input. What the file is
// (delimited text, a VTK format, NumPy arrays; plain, gzip or zstd; in which code
// and dialect) is found from its bytes. A name "FILE1+FILE2" that is no file itself
// means files of the same points that hold different quantities; see Parts.
//
// A row that lacks a value in one of the columns that are understood is left out
// and counted in Dropped. Everything that cannot be right is a *wake.InputError
// with line and field: a row with another number of fields, text or an infinity
// for a number, a position without value, a value beyond all bounds (1e9 m, 1e18
// else), a density that is not positive, two coordinates or the velocity u constant,
// a unit of another dimension, a declared number of rows that is not
// met, two columns for one quantity, a file that changes while it is read. Doubts are in Warnings, with the codes
// place-not-clear, kinematic-pressure, constant-column and many-dropped. Samples with a number that means
// no value (-999 far off all other values, say) and samples where velocity and pressures
// are exactly zero are left out and counted in Dropped too, with the warnings missing-value
// and no-flow. The error is ctx.Err() when ctx ends first.
func Read(ctx context.Context, name string, opt Options) (*wake.Samples, error) {
	parts, err := Parts(name)
	if err != nil {
		return nil, err
	}
	s, err := readJoined(ctx, name, parts, opt)
	if err == nil {
		leaveOut(s)
	}
	return s, err
}

func readFile(ctx context.Context, name string, opt Options) (*wake.Samples, error) {
	steady := Steady(name)
	s, err := func() (*wake.Samples, error) {
		t, err := openFile(name)
		if err != nil {
			return nil, err
		}
		defer t.Close()
		return read(ctx, t, &opt)
	}()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	// A fault found in a file that changed is no fault of the file.
	if changed := steady(); changed != nil {
		return nil, changed
	}
	return s, err
}

// ReadFrom is Read for a stream; name is for messages.
func ReadFrom(ctx context.Context, name string, r io.Reader, opt Options) (*wake.Samples, error) {
	size := int64(-1)
	if l, ok := r.(interface{ Len() int }); ok {
		size = int64(l.Len())
	}
	t, err := openReader(name, r, size)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	s, err := read(ctx, t, &opt)
	if err == nil {
		leaveOut(s)
	}
	return s, err
}

// ReadBytes is Read for the contents of a file.
func ReadBytes(ctx context.Context, name string, data []byte, opt Options) (*wake.Samples, error) {
	return ReadFrom(ctx, name, bytes.NewReader(data), opt)
}

// refusal carries an error from where it is found to attempt.
type refusal struct{ error }

// attempt calls f and returns what it refuses.
func attempt(f func()) (err error) {
	defer func() {
		switch e := recover().(type) {
		case nil:
		case refusal:
			err = e.error
		default:
			panic(e)
		}
	}()
	f()
	return nil
}

// refuse ends the attempt with an error in a line and field, from 1; 0 is none.
func refuse(file string, line, column int, text, cure string) {
	panic(refusal{&wake.InputError{File: file, Line: line, Column: column, Text: text, Cure: cure}})
}

// stop ends the attempt with an error, if it is one.
func stop(err error) {
	if err != nil {
		panic(refusal{err})
	}
}

func read(ctx context.Context, t *text, opt *Options) (s *wake.Samples, err error) {
	err = attempt(func() {
		switch t.kind {
		case kindVTK:
			s = readVTK(ctx, t, opt)
		case kindNumpy, kindZip:
			s = readNumpy(ctx, t, opt)
		default:
			s = readText(ctx, t, opt)
		}
	})
	return s, err
}

func readText(ctx context.Context, t *text, opt *Options) *wake.Samples {
	b := &blocks{t: t, size: cmp.Or(opt.block, blockBytes)}
	head := b.head(cmp.Or(opt.head, headBytes))
	var d *dialect
	if err := attempt(func() { d = detect(t.name, head, b.ended, wantedNames(opt)) }); err != nil {
		stop(b.err) // the file is damaged: no wonder
		stop(err)
	}
	l := assign(t.name, d, opt)
	workers := opt.Workers
	if b.ended && len(head)-d.start <= b.size {
		workers = 1
	}
	b.begin(d, head)
	table, err := parseAll(ctx, b, l, workers)
	if err != nil {
		stop(t.damage(ctx, err))
	}
	if d.cells > 0 && d.points > 0 {
		l.doubt("place-not-clear", fmt.Sprintf("line %d says that values belong to cells, line %d that they belong to points; they are taken as on points", d.cells, d.points),
			"say which with --support cells or --support nodes")
	}
	s := l.samples(table)
	s.CellValues = d.cells > 0 && d.points == 0
	return s
}

// blocks hands out the text in pieces of whole lines, in order, to whoever asks.
// Where the pieces begin depends on the text and on size only.
type blocks struct {
	mu    sync.Mutex
	t     *text
	r     io.Reader // what is left of the head, and the rest
	size  int
	eol   byte
	carry []byte // the beginning of a line whose rest is still to come
	line  int    // number of the next line
	ended bool
	err   error // what ended the stream, nil at its end
	rows  store
}

// head reads the first piece of the text, up to limit bytes, enough to learn the dialect.
func (b *blocks) head(limit int) []byte {
	// Small files get small buffers: a study may hold thousands of them.
	room := limit
	if size := b.t.size; size >= 0 {
		room = int(min(int64(room), max(size+1, 4096)))
	}
	var buf []byte
	for len(buf) < limit && !b.ended {
		n := len(buf)
		buf = slices.Grow(buf, min(max(n, room), limit-n)+1)
		m, err := io.ReadFull(b.t.out, buf[n:min(cap(buf)-1, limit)])
		buf = buf[:n+m]
		switch err {
		case nil:
		case io.EOF, io.ErrUnexpectedEOF:
			b.ended = true
		default:
			b.ended, b.err = true, b.t.failed(err)
			if len(buf) == 0 {
				stop(b.err)
			}
		}
	}
	head := bytes.TrimPrefix(buf, []byte("\xef\xbb\xbf"))
	if i := bytes.IndexByte(head, 0); i >= 0 {
		refuse(b.t.name, 0, 0, fmt.Sprintf("byte %d is 0: this is not text", i+1), "export the plane as comma-separated text")
	}
	return head
}

// begin goes to the first row.
func (b *blocks) begin(d *dialect, head []byte) {
	b.eol, b.line = d.eol, d.startLine
	head = head[d.start:]
	b.r = io.MultiReader(bytes.NewReader(head), b.t.out)
	if b.ended { // small files get small buffers
		b.size = min(b.size, len(head)+1)
		b.r = io.MultiReader(bytes.NewReader(head), broken{cmp.Or(b.err, io.EOF)})
	}
	b.ended, b.err = false, nil
}

// broken is a stream that ends with an error.
type broken struct{ error }

func (b broken) Read([]byte) (int, error) { return 0, b.error }

// next returns the text of the next block, in buf or in a larger slice, and room for its
// rows. The error is io.EOF after the last block.
func (b *blocks) next(p *layout, buf []byte) (data []byte, dst *part, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.ended {
		data, err = b.read(buf)
	} else if err, b.err = b.err, nil; err == nil {
		err = io.EOF
	}
	if err == nil && len(data) == 0 {
		err = io.EOF
	}
	if err != nil {
		return nil, &part{index: len(b.rows.parts)}, err
	}
	lines := bytes.Count(data, []byte{b.eol})
	left := int64(-1)
	if in := b.t.in.n; b.t.size > 0 && in > 0 {
		// What is left to come, in bytes of text, if it packs like what was read.
		left = int64(float64(b.t.out.n) / float64(in) * float64(max(b.t.size-in, 0)))
		left = min(left, 32*b.t.size) + int64(len(b.carry))
	}
	dst, ok := b.rows.take(p, len(data), lines, left)
	if !ok {
		err = &wake.InputError{File: b.t.name, Text: fmt.Sprintf("holds more than %d samples", maxSamples), Cure: "export fewer samples"}
	}
	dst.line = b.line
	b.line += lines
	return data, dst, err
}

// read fills buf with the carry and the next piece up to its last line end.
func (b *blocks) read(buf []byte) ([]byte, error) {
	for {
		n := len(b.carry) + b.size
		if cap(buf) < n+1 {
			buf = make([]byte, n, n+1)
		}
		buf = buf[:n]
		copy(buf, b.carry)
		m, err := io.ReadFull(b.r, buf[len(b.carry):])
		buf = buf[:len(b.carry)+m]
		switch err {
		case nil:
		case io.EOF, io.ErrUnexpectedEOF:
			b.ended = true
			b.carry = nil
			if n := len(buf); n > 0 && buf[n-1] != b.eol {
				buf = append(buf, b.eol)
			}
			return buf, nil
		default:
			// Rows before the damage come first: theirs is the first error in the file.
			b.ended, b.err = true, b.t.failed(err)
		}
		if b.t.out.n > maxBytes {
			return nil, &wake.InputError{File: b.t.name, Text: fmt.Sprintf("holds more than %d bytes of text", int64(maxBytes)), Cure: "split the file by planes"}
		}
		end := bytes.LastIndexByte(buf, b.eol) + 1
		if end == 0 && len(buf) > maxLine {
			return nil, &wake.InputError{File: b.t.name, Line: b.line, Text: fmt.Sprintf("the line is longer than %d bytes", maxLine), Cure: "write one sample a line"}
		}
		b.carry = bytes.Clone(buf[end:])
		if end > 0 {
			return buf[:end], nil
		}
		if b.ended {
			err, b.err = b.err, nil
			return nil, err
		}
	}
}

// parseAll parses all blocks with a number of workers. Of several errors the
// first in the file counts: blocks are handed out in order and those handed out
// are finished, so that an earlier error is never missed.
func parseAll(ctx context.Context, b *blocks, p *layout, workers int) (*table, error) {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var (
		all     errgroup.Group
		mu      sync.Mutex
		failed  = math.MaxInt
		failure error
	)
	for range workers {
		all.Go(func() error {
			var buf []byte
			for ctx.Err() == nil {
				mu.Lock()
				stop := failure != nil
				mu.Unlock()
				if stop {
					break
				}
				data, dst, err := b.next(p, buf)
				if err == io.EOF {
					break
				}
				if err == nil {
					if cap(data) > cap(buf) {
						buf = data[:0]
					}
					dst.parsed, err = p.parseBlock(data, dst.line, dst.cols)
				}
				if err != nil {
					mu.Lock()
					if dst.index < failed {
						failed, failure = dst.index, err
					}
					mu.Unlock()
				}
			}
			return nil
		})
	}
	_ = all.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if failure != nil {
		return nil, failure
	}
	return b.rows.join(), nil
}
