package render

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/klauspost/compress/zlib"
)

// Text is a note stored inside a PNG: Key "Title", "Source", "Description"…
type Text struct{ Key, Value string }

// EncodePNG writes img as a PNG with the notes in it, in their order. Nothing but
// img, the notes and dpi decides the bytes: there is no date. A dpi above 0, pixels
// to the inch of 25.4 mm, goes into a pHYs chunk, so that the picture is placed at
// its size in print.
//
// Where 256 colours hold the picture it has a palette: areas of one colour keep theirs,
// the soft edges of texts and lines may be off by up to 24 of 255, which is not seen. One
// that needs more has three bytes a pixel.
//
// A note is an uncompressed iTXt chunk (PNG specification, 3rd edition, 11.3.3), whose
// value must not hold NUL.
func EncodePNG(w io.Writer, img *image.RGBA, notes []Text, dpi float64) error {
	var chunks bytes.Buffer
	if dpi > 0 {
		perMetre := binary.BigEndian.AppendUint32(nil, uint32(min(math.Round(dpi/0.0254), math.MaxInt32)))
		writeChunk(&chunks, "pHYs", append(append(slices.Clone(perMetre), perMetre...), 1))
	}
	for _, n := range notes {
		if strings.ContainsRune(n.Value, 0) {
			return fmt.Errorf("note %q of a picture holds a NUL character", n.Key)
		}
		writeChunk(&chunks, "iTXt", []byte(n.Key+"\x00\x00\x00\x00\x00"+n.Value))
	}
	var out bytes.Buffer
	if palette, rows, ok := paletted(img); ok {
		writePaletted(&out, img.Rect.Size(), palette, rows)
	} else if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&out, img); err != nil {
		return err
	}
	// Signature (8) and IHDR (12 + 13) come first, always.
	const head = 8 + 12 + 13
	b := out.Bytes()
	for _, part := range [][]byte{b[:head], chunks.Bytes(), b[head:]} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// writePaletted writes signature and chunks of a picture with a palette, eight bits a
// pixel. Its rows are not filtered: numbers of colours have no slopes.
func writePaletted(w *bytes.Buffer, size image.Point, palette, rows []byte) {
	w.WriteString("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(nil, uint32(size.X))
	head = binary.BigEndian.AppendUint32(head, uint32(size.Y))
	writeChunk(w, "IHDR", append(head, 8, 3, 0, 0, 0))
	writeChunk(w, "PLTE", palette)
	var data bytes.Buffer
	z := zlib.NewWriter(&data)
	z.Write(rows) // into memory: no error
	z.Close()
	writeChunk(w, "IDAT", data.Bytes())
	writeChunk(w, "IEND", nil)
}

func writeChunk(w *bytes.Buffer, kind string, data []byte) {
	body := append([]byte(kind), data...)
	w.Write(binary.BigEndian.AppendUint32(nil, uint32(len(data))))
	w.Write(binary.BigEndian.AppendUint32(body, crc32.ChecksumIEEE(body)))
}
