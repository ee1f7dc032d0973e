package vtk

import (
	"bytes"
	"compress/zlib"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
)

// payloadOf encodes le as the format says: compressed when block > 0.
func payloadOf(le []byte, word, block int) (head, content []byte) {
	put := func(v int) {
		if word == 4 {
			head = binary.LittleEndian.AppendUint32(head, uint32(v))
		} else {
			head = binary.LittleEndian.AppendUint64(head, uint64(v))
		}
	}
	if block == 0 {
		put(len(le))
		return head, le
	}
	n := (len(le) + block - 1) / block
	put(n)
	put(block)
	put(len(le) % block)
	for len(le) > 0 {
		k := min(block, len(le))
		var z bytes.Buffer
		w := zlib.NewWriter(&z)
		w.Write(le[:k])
		w.Close()
		put(z.Len())
		content = append(content, z.Bytes()...)
		le = le[k:]
	}
	return head, content
}

func leFloats(v ...float64) []byte {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

// TestPayloads reads one array through encodings that the library's own writers do
// not make: blocks that cut values, base64 broken into lines.
func TestPayloads(t *testing.T) {
	want := []float64{1, -2.5, math.Pi, math.Inf(-1)}
	le := leFloats(want...)
	for _, c := range []struct {
		name        string
		word, block int
		wrap        bool
	}{
		{"plain", 4, 0, false}, {"plain wrapped", 8, 0, true}, {"blocks", 8, 8, false}, {"cut values", 4, 5, false},
		{"cut values wrapped", 8, 7, true}, {"full blocks", 4, 16, false}, {"one block", 4, 1000, false},
	} {
		head, content := payloadOf(le, c.word, c.block)
		text := base64.StdEncoding.EncodeToString(append(bytes.Clone(head), content...))
		attrs := fmt.Sprintf(` header_type="UInt%d"`, 8*c.word)
		if c.block > 0 {
			text = base64.StdEncoding.EncodeToString(head) + base64.StdEncoding.EncodeToString(content)
			attrs += ` compressor="vtkZLibDataCompressor"`
		}
		if c.wrap {
			var w strings.Builder
			for len(text) > 10 {
				w.WriteString(text[:10] + "\n\t ")
				text = text[10:]
			}
			text = w.String() + text
		}
		for _, form := range []string{"inline", "base64", "raw"} {
			if c.wrap && form != "inline" {
				continue
			}
			t.Run(c.name+" "+form, func(t *testing.T) {
				a := `<DataArray type="Float64" Name="p" format="binary">` + text + `</DataArray>`
				app := ""
				if form != "inline" {
					a = `<DataArray type="Float64" Name="p" format="appended" offset="15"/>`
					body := text
					if form == "raw" {
						body = string(append(bytes.Clone(head), content...))
					}
					// Raw data may hold anything that looks like an end.
					app = `<AppendedData encoding="` + strings.Replace(form, "inline", "", 1) + `">_` + "</AppendedData>" + body + "\n</AppendedData>\n"
				}
				d := one(t, vtp(attrs, square(0, a, ""), app))
				same(t, "values", d.PointArrays, []Array{{Name: "p", Components: 1, Values: want}})
			})
		}
	}
}

// TestWrongLength reads arrays whose header announces another length than the counts
// need, while the content is just that long: the counts are trusted, and it is said.
func TestWrongLength(t *testing.T) {
	values := []float64{1, -2.5, math.Pi, math.Inf(-1)}
	for _, claim := range []uint64{32, 128, 16, math.MaxUint32} {
		for _, word := range []int{4, 8} {
			raw := binary.LittleEndian.AppendUint64(nil, claim)[:word]
			raw = append(raw, leFloats(values...)...)
			a := `<DataArray type="Float64" Name="p" format="binary">` + base64.StdEncoding.EncodeToString(raw) + `</DataArray>`
			d := one(t, vtp(fmt.Sprintf(` header_type="UInt%d"`, 8*word), square(0, a, ""), ""))
			same(t, fmt.Sprint(claim, word), d.PointArrays[0].Values, values)
			if said := noted(d, fmt.Sprintf(`the array "p": its header announces %d bytes; the 32 that its counts need are there and were read`, claim)); said != (claim != 32) {
				t.Errorf("%d, words of %d: notes %q", claim, word, d.Notes)
			}
		}
	}
}

// TestPayloadErrors checks that a header that disagrees with its payload is an
// error at the payload's byte.
func TestPayloadErrors(t *testing.T) {
	le := leFloats(1, 2, 3, 4)
	mark := "PAYLOAD"
	inline := `<DataArray type="Float64" Name="p" format="binary">` + mark + `</DataArray>`
	b64 := func(b ...[]byte) string {
		s := ""
		for _, x := range b {
			s += base64.StdEncoding.EncodeToString(x)
		}
		return s
	}
	plainOf := func(announce int, data []byte) string {
		return b64(append(binary.LittleEndian.AppendUint32(nil, uint32(announce)), data...))
	}
	words := func(v ...uint32) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint32(b, x)
		}
		return b
	}
	_, z := payloadOf(le, 4, 1000)
	_, z5 := payloadOf(leFloats(1, 2, 3, 4, 5), 4, 1000)
	const comp = ` compressor="vtkZLibDataCompressor"`
	for _, c := range []struct{ name, attrs, text, part string }{
		{"short", "", plainOf(32, le[:24]), "its header announces 32 bytes, 24 follow"},
		{"one short", "", plainOf(32, le[:31]), "its header announces 32 bytes, 31 follow"},
		{"long", "", plainOf(24, append(bytes.Clone(le), 0)), "its header announces 24 bytes, 33 follow"},
		{"few values", "", plainOf(24, le[:24]), "its header announces 24 bytes, but 4 values of type Float64 take 32"},
		{"no base64", "", "AB*DAAAA", "base64"},
		{"padded early", "", b64([]byte{32}) + b64(le), "base64"},
		{"blocks", comp, b64(words(900000000, 8, 0, 4)), "its header announces 900000000 blocks"},
		{"block size", comp, b64(words(1, 0xffffffff, 0, uint32(len(z5))), z5), "blocks of 4294967295 bytes"},
		{"last block", comp, b64(words(1, 8, 9, uint32(len(z5))), z5), "a last one of 9"},
		{"compressed size", comp, b64(words(1, 32, 0, uint32(len(z)+40)), z), "compressed bytes by its header"},
		{"left over", comp, b64(words(1, 32, 0, uint32(len(z)-4)), z), "left over"},
		{"ratio", comp, b64(words(1, 1<<30, 0, uint32(len(z5))), z5), "cannot hold 1073741824 bytes"},
		{"more in block", comp, b64(words(1, 24, 0, uint32(len(z5))), z5), "announces 24 bytes, but 4 values"},
		{"more behind it", comp, b64(words(1, 32, 0, uint32(len(z5))), z5), "holds more than announced"},
		{"checksum", comp, b64(words(1, 32, 0, uint32(len(z))), append(bytes.Clone(z[:len(z)-1]), z[len(z)-1]^1)), "block 1 of 1: "},
		{"no deflate", comp, b64(words(1, 32, 0, 8), le[:8]), "block 1 of 1: "},
		{"no lz4", ` compressor="vtkLZ4DataCompressor"`, b64(words(1, 32, 0, 8), bytes.Repeat([]byte{0xff}, 8)), "block 1 of 1: "},
		{"no xz", ` compressor="vtkLZMADataCompressor"`, b64(words(1, 32, 0, 8), le[:8]), "block 1 of 1: no .xz stream"},
		{"compressor", ` compressor="vtkOtherCompressor"`, "", `the compressor "vtkOtherCompressor" is not known`},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := vtp(c.attrs, square(0, inline, ""), "")
			at := strings.Index(file, mark)
			_, err := Read("a.vtp", []byte(strings.Replace(file, mark, c.text, 1)), nil, nil)
			in := wantError(t, err, c.part)
			if c.name != "compressor" && !strings.Contains(in.Text, fmt.Sprintf("(byte %d)", at)) {
				t.Errorf("%v: not at byte %d", err, at)
			}
			if c.name != "compressor" && in.Line != 1+strings.Count(file[:at], "\n") {
				t.Errorf("%v: line %d", err, in.Line)
			}
		})
	}
}
