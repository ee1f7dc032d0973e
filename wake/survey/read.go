package survey

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime"
	"sync"

	"wakeledger/grid"
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
	// Frame says how the file's axes lie.
	Frame wake.Frame
	// Density, kg/m³, takes a kinematic pressure to Pa; 0 where it is not known.
	Density float64
	// Uniform planes, such as inlets, are no fault: u and the rest may be constant.
	Uniform bool
	// By is who decided on what these options say, "flag" or "study"; empty means
	// "flag".
	By string

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
// A row that lacks a value in one of the columns that are understood is left out and
// counted in Dropped, and so are samples with a number that means no value (-999 far off
// all other values, say) or without any flow. Everything that cannot be right is a
// *wake.InputError with line and field: text or an infinity for a number, a position
// without value, a value beyond 1e9 m or 1e18, two coordinates or u constant, a unit of
// another dimension, two columns for one quantity, a file that changes while it is read.
// Doubts are in Warnings. The error is ctx.Err() when ctx ends first.
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
	s, err := steadily(name, func(t *text) (*wake.Samples, error) { return read(ctx, t, &opt) })
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return s, err
}

// refuse ends the attempt with an error in a line and field, from 1; 0 is none.
func refuse(file string, line, column int, text, cure string) {
	wake.Stop(&wake.InputError{File: file, Line: line, Column: column, Text: text, Cure: cure})
}

func read(ctx context.Context, t *text, opt *Options) (s *wake.Samples, err error) {
	err = wake.Attempt(func() {
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
	room := cmp.Or(opt.head, headBytes)
	if t.size >= 0 { // a study may hold thousands of small files
		grows := int64(1)
		if t.packed {
			grows = 40
		}
		room = int(min(int64(room), grows*t.size+1))
	}
	b := &blocks{t: t, r: bufio.NewReaderSize(t.out, room), size: cmp.Or(opt.block, blockBytes)}
	head, err := b.r.Peek(room)
	whole := err != nil
	if err == io.EOF {
		err = nil
	}
	if err != nil {
		err = t.failed(err)
		if len(head) == 0 {
			wake.Stop(err)
		}
	}
	peeked := len(head)
	head = bytes.TrimPrefix(head, []byte(byteOrderMark))
	wake.Stop(t.noNUL(head))
	var d *dialect
	if e := wake.Attempt(func() { d = detect(t.name, head, whole, opt.naming()) }); e != nil {
		wake.Stop(err) // the file is damaged: no wonder
		wake.Stop(e)
	}
	l := assign(t.name, d, opt)
	workers := runtime.GOMAXPROCS(0)
	if left := len(head) - d.start; whole && left <= b.size {
		workers, b.size = 1, left+1
	}
	b.r.Discard(peeked - len(head) + d.start) // it is in the buffer
	b.line = d.startLine
	table, err := parseAll(ctx, b, l, workers)
	if err != nil && t.packed && ctx.Err() == nil {
		// Damage shows as nonsense first and in the checksum at the end. A file that is only cut
		// short has sound rows, and a fault in them is their own.
		if _, e := io.Copy(io.Discard, io.LimitReader(t.out, maxText)); e != nil && !t.short {
			err = e
		}
	}
	wake.Stop(err)
	s := l.samples(table)
	s.CellValues = d.ofCells
	return s
}

// blocks hands out the text in pieces of whole lines, in order, to whoever asks.
// Where the pieces begin depends on the text and on size only.
type blocks struct {
	mu    sync.Mutex
	t     *text
	r     *bufio.Reader
	size  int
	line  int // number of the next line
	ended bool
	err   error // what ended the stream, nil at its end
	rows  store
	// failure is the first error in the file, that of block number failed.
	failure error
	failed  int
}

// next returns the text of the next block, in buf or in a larger slice, and room for its
// rows; no room where nothing is left to do.
func (b *blocks) next(p *layout, buf []byte) (data []byte, dst *part) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.ended || b.failure != nil {
		return nil, nil
	}
	data, b.err = b.read(buf)
	b.ended = b.err != nil
	if len(data) == 0 {
		return nil, nil
	}
	lines := bytes.Count(data, []byte{'\n'})
	left := int64(-1)
	if in := b.t.in.n; b.t.size > 0 && in > 0 {
		// What is left to come, in bytes of text, if it packs like what was read.
		left = int64(float64(b.t.out.n) / float64(in) * float64(max(b.t.size-in, 0)))
		left = min(left, 32*b.t.size) + int64(b.r.Buffered())
	}
	dst, ok := b.rows.take(p, len(data), lines, left)
	if !ok {
		b.ended = true
		b.err = &wake.InputError{File: b.t.name, Text: fmt.Sprintf("holds more than %d samples", maxSamples), Cure: "export fewer samples"}
		return nil, nil
	}
	dst.line = b.line
	b.line += lines
	return data, dst
}

// read fills buf with the next piece up to a line end. The error is what ended the
// stream: rows before damage come first, since theirs is the first error in the file.
func (b *blocks) read(buf []byte) ([]byte, error) {
	if cap(buf) < b.size {
		buf = make([]byte, b.size, b.size+4096)
	}
	buf = buf[:b.size]
	m, err := io.ReadFull(b.r, buf)
	buf = buf[:m]
	for err == nil && buf[len(buf)-1] != '\n' {
		var rest []byte
		rest, err = b.r.ReadSlice('\n')
		buf = append(buf, rest...)
		if err == bufio.ErrBufferFull {
			err = nil
		}
		if len(buf) > b.size+maxLine {
			start := bytes.LastIndexByte(buf[:b.size], '\n') + 1
			line := b.line + bytes.Count(buf[:start], []byte{'\n'})
			return buf[:start], &wake.InputError{File: b.t.name, Line: line, Text: fmt.Sprintf("the line is longer than %d bytes", maxLine), Cure: "write one sample a line"}
		}
	}
	switch {
	case b.t.out.n > maxBytes:
		return nil, &wake.InputError{File: b.t.name, Text: fmt.Sprintf("holds more than %d bytes of text", int64(maxBytes)), Cure: "split the file by planes"}
	case err == nil:
		return buf, nil
	case err == io.EOF || err == io.ErrUnexpectedEOF:
		if n := len(buf); n > 0 && buf[n-1] != '\n' {
			buf = append(buf, '\n')
		}
		return buf, io.EOF
	}
	return buf[:bytes.LastIndexByte(buf, '\n')+1], b.t.failed(err)
}

func parseAll(ctx context.Context, b *blocks, p *layout, workers int) (*table, error) {
	grid.Parallel(workers, func(int) {
		var buf []byte
		for ctx.Err() == nil {
			data, dst := b.next(p, buf)
			if dst == nil {
				return
			}
			var err error
			buf = data
			dst.parsed, err = p.parseBlock(data, dst.line, dst.cols)
			if err == nil {
				continue
			}
			b.mu.Lock()
			if b.failure == nil || dst.index < b.failed {
				b.failed, b.failure = dst.index, err
			}
			b.mu.Unlock()
		}
	})
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case b.failure != nil:
		return nil, b.failure
	case b.err != nil && b.err != io.EOF:
		return nil, b.err
	}
	return b.rows.join(), nil
}
