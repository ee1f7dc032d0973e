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
)

// Text is a note stored inside a PNG: Key "Title", "Source", "Description"…
type Text struct{ Key, Value string }

// EncodePNG writes img as a PNG with the notes in it, in their order. Nothing but
// img, the notes and dpi decides the bytes: there is no date. A dpi above 0, pixels
// to the inch of 25.4 mm, goes into a pHYs chunk, so that the picture is placed at
// its size in print.
//
// A picture with bands is compressed at the default effort, one whose colours run
// smoothly at the fastest: there the default takes four times as long for two
// thirds of the size.
//
// A note is a tEXt chunk if Latin-1 holds it, else an uncompressed iTXt chunk
// (PNG specification, 3rd edition, 11.3.3). A key must have 1 to 79 characters,
// printable ASCII without spaces at either end; a value must not hold NUL.
func EncodePNG(w io.Writer, img *image.RGBA, notes []Text, dpi float64) error {
	var chunks bytes.Buffer
	if dpi > 0 {
		perMetre := binary.BigEndian.AppendUint32(nil, uint32(min(math.Round(dpi/0.0254), math.MaxInt32)))
		writeChunk(&chunks, "pHYs", append(append(slices.Clone(perMetre), perMetre...), 1))
	}
	for _, n := range notes {
		if err := writeNote(&chunks, n); err != nil {
			return err
		}
	}
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if mostlyFlat(img) {
		enc.CompressionLevel = png.DefaultCompression
	}
	var out bytes.Buffer
	if err := enc.Encode(&out, img); err != nil {
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

func writeNote(w *bytes.Buffer, n Text) error {
	if len(n.Key) < 1 || len(n.Key) > 79 || n.Key[0] == ' ' || n.Key[len(n.Key)-1] == ' ' {
		return fmt.Errorf("key %q of a picture's note: 1 to 79 characters without spaces at the ends are needed", n.Key)
	}
	for _, c := range []byte(n.Key) {
		if c < 32 || c > 126 {
			return fmt.Errorf("key %q of a picture's note: only printable ASCII is possible", n.Key)
		}
	}
	latin := make([]byte, 0, len(n.Value))
	for _, r := range n.Value {
		if r == 0 {
			return fmt.Errorf("note %q of a picture holds a NUL character", n.Key)
		}
		if latin != nil && (r <= 126 || r >= 160 && r <= 255) {
			latin = append(latin, byte(r))
		} else {
			latin = nil
		}
	}
	kind, data := "tEXt", append(append([]byte(n.Key), 0), latin...)
	if latin == nil {
		kind, data = "iTXt", append(append([]byte(n.Key), 0, 0, 0, 0, 0), n.Value...)
	}
	writeChunk(w, kind, data)
	return nil
}

func writeChunk(w *bytes.Buffer, kind string, data []byte) {
	body := append([]byte(kind), data...)
	var size, sum [4]byte
	binary.BigEndian.PutUint32(size[:], uint32(len(data)))
	binary.BigEndian.PutUint32(sum[:], crc32.ChecksumIEEE(body))
	w.Write(size[:])
	w.Write(body)
	w.Write(sum[:])
}

// mostlyFlat reports whether fewer than one pixel in twenty differs from its left
// neighbour by a little, as the pixels of a smooth field do: level lines, edges
// and texts differ by much. Every eighth row is looked at.
func mostlyFlat(img *image.RGBA) bool {
	const little = 8
	b := img.Bounds()
	gentle, all := 0, 0
	for y := b.Min.Y; y < b.Max.Y; y += 8 {
		row := img.Pix[img.PixOffset(b.Min.X, y):][:4*b.Dx()]
		for x := 4; x < len(row); x += 4 {
			all++
			d := 0
			for k := x; k < x+3; k++ {
				d = max(d, int(row[k])-int(row[k-4]), int(row[k-4])-int(row[k]))
			}
			if d > 0 && d <= little {
				gentle++
			}
		}
	}
	return 20*gentle < all
}
