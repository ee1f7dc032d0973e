package survey

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"wakeledger/wake"
	"wakeledger/wake/survey/vtk"
)

// Limits on what is read. Text compresses 3 to 30 times; a file that grows by
// more than maxRatio beyond the first ratioFloor bytes is taken for damaged or
// hostile.
const (
	maxBytes   = 1 << 36 // 64 GiB of text
	maxRatio   = 250
	ratioFloor = 16 << 20
	maxWindow  = 128 << 20 // zstd window
	sniffBytes = 512
)

type kind uint8

const (
	kindText kind = iota
	kindGzip
	kindZstd
	kindVTK
	kindNumpy
	kindZip // of NumPy arrays, or else a spreadsheet
	kindUTF16LE
	kindUTF16BE
	kindOther // known and not read here; the name says what
	kindBinary
	kindEmpty
)

// magics are the first bytes of files, with the name of what is packed or refused.
var magics = []struct {
	start string
	kind  kind
	name  string
}{
	{"\x1f\x8b", kindGzip, "gzip"},
	{"\x28\xb5\x2f\xfd", kindZstd, "zstd"},
	{"\xff\xfe", kindUTF16LE, ""},
	{"\xfe\xff", kindUTF16BE, ""},
	{numpyMagic, kindNumpy, "a NumPy array"},
	{"PK\x03\x04", kindZip, "a zip archive or a spreadsheet"},
	{"PAR1", kindOther, "a Parquet table"},
	{"ARROW1", kindOther, "an Arrow table"},
	{"FEA1", kindOther, "an Arrow table"},
	{"\xfd7zXZ\x00", kindOther, "an xz file"},
	{"\x04\x22\x4d\x18", kindOther, "an lz4 file"},
	{"\x89HDF\r\n", kindOther, "an HDF5 file"},
}

func identify(b []byte) (k kind, name string) {
	for _, m := range magics {
		if bytes.HasPrefix(b, []byte(m.start)) {
			return m.kind, m.name
		}
	}
	start := bytes.TrimLeft(bytes.TrimPrefix(b, []byte(byteOrderMark)), " \t\r\n")
	switch {
	case len(b) == 0:
		return kindEmpty, ""
	case bytes.HasPrefix(b, []byte("BZh")) && len(b) > 10 && bytes.HasPrefix(b[4:], []byte("1AY&SY")):
		return kindOther, "a bzip2 file"
	case vtk.Looks(b):
		return kindVTK, "a VTK-format file"
	case bytes.HasPrefix(start, []byte("<?xml")):
		return kindOther, "an XML file of another kind than VTK's"
	case len(b) >= 4 && b[0] != 0 && b[1] == 0 && b[2] != 0 && b[3] == 0:
		return kindUTF16LE, ""
	case len(b) >= 4 && b[0] == 0 && b[1] != 0 && b[2] == 0 && b[3] != 0:
		return kindUTF16BE, ""
	case bytes.IndexByte(b, 0) >= 0:
		return kindBinary, ""
	}
	return kindText, ""
}

// text is a stream of UTF-8 text (or of an 8-bit code, before its header is
// known), or of the bytes of a VTK-format or NumPy file, with what is known of its
// size.
type text struct {
	name string
	kind kind
	disk bool
	// packed is set where the bytes of r are unpacked from gzip or zstd.
	packed bool
	// short is set when the packed data ended early.
	short bool
	// in counts the bytes taken from the file, out those handed on.
	in, out *counter
	// size is the file's size in bytes, −1 where it is not known.
	size  int64
	close []func() error
}

// counter counts the bytes that it passes on; judge, where it is not nil, may refuse them.
type counter struct {
	r     io.Reader
	n     int64
	judge func(n int64, err error) error
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if c.n += int64(n); c.judge != nil {
		err = c.judge(c.n, err)
	}
	return n, err
}

func (t *text) Close() {
	for _, f := range t.close {
		_ = f() // it was only read
	}
}

func (t *text) fail(text, cure string) error {
	return &wake.InputError{File: t.name, Text: text, Cure: cure}
}

// openFile opens a file by name; "-" is the standard input.
func openFile(name string) (*text, error) {
	if name == "-" {
		return openReader(name, os.Stdin, -1)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, &wake.InputError{File: name, Text: "cannot be opened: " + wake.Reason(err), Cure: "check the name and the permissions"}
	}
	info, err := f.Stat()
	size := int64(-1)
	if err == nil && info.Mode().IsRegular() {
		size = info.Size()
	}
	t := &text{}
	if err == nil && info.IsDir() {
		err = &wake.InputError{File: name, Text: "is a folder", Cure: "name the files in it"}
	} else {
		t, err = openReader(name, f, size)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	t.disk = true
	t.close = append(t.close, f.Close)
	return t, nil
}

// openReader finds out what the bytes of r are and unpacks them to text.
func openReader(name string, r io.Reader, size int64) (*text, error) {
	t := &text{name: name, in: &counter{r: r}, size: size}
	if err := wake.Attempt(t.open); err != nil {
		t.Close()
		return nil, err
	}
	return t, nil
}

func (t *text) open() {
	raw := bufio.NewReaderSize(t.in, sniffBytes)
	label := t.sniff(raw)
	if t.packed = t.kind == kindGzip || t.kind == kindZstd; t.packed {
		// A larger buffer, as decompressors read in small steps.
		unpacked, err := t.unpack(bufio.NewReaderSize(raw, 256<<10))
		if err != nil {
			wake.Stop(t.broken(label, err))
		}
		what := label
		// It has to keep within maxRatio, and its errors are those of the packed data.
		raw = bufio.NewReaderSize(&counter{r: unpacked, judge: func(n int64, err error) error {
			switch {
			case n > ratioFloor && n/maxRatio > t.in.n:
				return t.fail(fmt.Sprintf("the %s data unpacks to more than %d times its size", what, maxRatio), "unpack it by hand if that is meant")
			case err != nil && err != io.EOF:
				return t.broken(what, err)
			}
			return err
		}}, sniffBytes)
		label = t.sniff(raw)
	}
	t.out = &counter{r: raw}
	refuse := func(text, cure string) { wake.Stop(t.fail(text, cure)) }
	switch t.kind {
	case kindUTF16LE:
		t.out.r = transform.NewReader(raw, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder())
	case kindUTF16BE:
		t.out.r = transform.NewReader(raw, unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder())
	case kindEmpty:
		refuse("is empty", "export it again")
	case kindGzip, kindZstd:
		refuse("is compressed twice ("+label+" inside)", "unpack it once")
	case kindOther:
		refuse("is "+label, "unpack it, or save the plane as comma-separated text, plain or as gzip or zstd, or as NumPy .npz")
	case kindBinary:
		refuse("is neither text nor a format that is known", "export comma-separated text")
	}
}

func (t *text) unpack(packed io.Reader) (io.Reader, error) {
	if t.kind == kindGzip {
		return gzip.NewReader(packed)
	}
	z := unpackers.Get().(*zstd.Decoder)
	t.close = append(t.close, func() error { defer unpackers.Put(z); return z.Reset(nil) })
	return z, z.Reset(packed)
}

// unpackers wait for the next file: the window of each is several times the size of a small one.
// There is no error: the options are right.
var unpackers = sync.Pool{New: func() any {
	z, _ := zstd.NewReader(nil, zstd.WithDecoderMaxWindow(maxWindow), zstd.WithDecoderLowmem(true), zstd.WithDecoderConcurrency(1))
	return z
}}

// steadily opens a file and reads it. A fault found in a file that changed meanwhile is no
// fault of the file.
func steadily[T any](name string, read func(t *text) (T, error)) (out T, err error) {
	steady := Steady(name)
	t, err := openFile(name)
	if err == nil {
		out, err = read(t)
		t.Close()
	}
	return out, cmp.Or(steady(), err)
}

// maxText is the most that TextFile reads, 1 GiB.
const maxText = 1 << 30

// TextFile gives the text of a file for readers of tables of another kind than a survey:
// unpacked from gzip or zstd, in UTF-8 and with the line end \n.
func TextFile(name string) (string, error) { return steadily(name, (*text).lines) }

func (t *text) lines() (string, error) {
	if t.kind == kindVTK || t.kind == kindNumpy || t.kind == kindZip {
		return "", t.fail("is no text", "save rows as text, plain or packed with gzip or zstd")
	}
	data, err := t.all(maxText)
	if err == nil {
		data = bytes.TrimPrefix(data, []byte(byteOrderMark))
		err = t.noNUL(data)
	}
	return strings.ReplaceAll(decode(data), "\r\n", "\n"), err
}

const byteOrderMark = "\xef\xbb\xbf"

func (t *text) noNUL(data []byte) error {
	if i := bytes.IndexByte(data, 0); i >= 0 {
		return t.fail(fmt.Sprintf("byte %d is 0: this is not text", i+1), "export comma-separated text")
	}
	return nil
}

// all reads the whole stream, up to most bytes.
func (t *text) all(most int64) ([]byte, error) {
	room := int64(sniffBytes)
	if t.size > 0 {
		room = min(t.size, 1<<30) + bytes.MinRead // grows beyond only as the bytes come
	}
	b := bytes.NewBuffer(make([]byte, 0, room))
	if _, err := b.ReadFrom(io.LimitReader(t.out, most)); err != nil {
		return nil, t.failed(err)
	}
	if int64(b.Len()) == most {
		return nil, t.fail(fmt.Sprintf("holds more than %d bytes", most), "split the file by planes")
	}
	return b.Bytes(), nil
}

func (t *text) sniff(r *bufio.Reader) (label string) {
	b, err := r.Peek(sniffBytes)
	if err != nil && err != io.EOF {
		wake.Stop(t.failed(err))
	}
	t.kind, label = identify(b)
	return label
}

func (t *text) failed(err error) error {
	if _, ok := errors.AsType[*wake.InputError](err); ok {
		return err
	}
	return t.fail("cannot be read: "+wake.Reason(err), "check the file")
}

func (t *text) broken(label string, err error) error {
	text := " data is damaged: " + err.Error()
	if t.short = errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF); t.short {
		text = " data ends early"
	}
	return t.fail("the "+label+text, "copy the file again, or export it again")
}
