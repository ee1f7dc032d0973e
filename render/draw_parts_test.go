package render

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/image/font"
)

// Parts of a clipped line lie in the frame and on the line, and their length is
// the part of the line inside, counted by sampling.
func TestClip(t *testing.T) {
	f := frame{0, 0, 10, 6}
	r := rand.New(rand.NewPCG(8, 8))
	for trial := range 200 {
		line := make([]pt, 6)
		for i := range line {
			line[i] = pt{r.Float64()*30 - 10, r.Float64()*18 - 6}
		}
		closed := trial%2 == 0
		got := 0.0
		for _, part := range f.clip(line, closed) {
			got += pathLength(part)
			for _, p := range part {
				if !f.holds(p) {
					t.Fatalf("trial %d: %v is outside", trial, p)
				}
			}
		}
		if closed {
			line = append(line, line[0])
		}
		const n = 4000
		want := 0.0
		for i := 1; i < len(line); i++ {
			a, b := line[i-1], line[i]
			for k := range n {
				s := (float64(k) + 0.5) / n
				if f.holds(pt{a.x + s*(b.x-a.x), a.y + s*(b.y-a.y)}) {
					want += math.Hypot(b.x-a.x, b.y-a.y) / n
				}
			}
		}
		if math.Abs(got-want) > 0.1 {
			t.Errorf("trial %d: length %g, sampling gives %g", trial, got, want)
		}
	}
}

func TestClipSpecialCases(t *testing.T) {
	f := frame{0, 0, 10, 10}
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		line   []pt
		closed bool
		parts  int
	}{
		"empty": {nil, true, 0}, "point": {[]pt{{1, 1}}, true, 0}, "inside": {[]pt{{1, 1}, {2, 2}}, false, 1},
		"outside": {[]pt{{11, 1}, {12, 2}}, false, 0}, "through": {[]pt{{-1, 5}, {11, 5}}, false, 1},
		"NaN breaks": {[]pt{{1, 1}, {2, 2}, {nan, 3}, {4, 4}, {5, 5}}, false, 2},
		"infinite":   {[]pt{{1, 1}, {inf, 2}, {3, 3}}, false, 0}, "far": {[]pt{{-1e12, 5}, {1e12, 5}}, false, 1}, "too far for its digits": {[]pt{{-1e300, 5}, {1e300, 5}}, false, 0},
		"overflow":          {[]pt{{-math.MaxFloat64, 5}, {math.MaxFloat64, 5}}, false, 0},
		"in and out and in": {[]pt{{1, 1}, {1, 20}, {5, 20}, {5, 1}}, false, 2},
	} {
		if got := f.clip(c.line, c.closed); len(got) != c.parts {
			t.Errorf("%s: %v, want %d parts", name, got, c.parts)
		}
	}
}

func TestWrap(t *testing.T) {
	regular, _ := fontFiles()
	f := newFace(regular, 16)
	for _, s := range []string{"one two three four five six", strings.Repeat("x", 300), "a\nb", "Δ∞ρ²³ ≤ ≥ × · → −σ…ü", "  spaced   out  "} {
		for _, w := range []int{1, 40, 90, 1000} {
			lines := f.wrap(s, w)
			for _, l := range lines {
				if f.width(l) > w && len([]rune(l)) > 1 {
					t.Errorf("%q in %d pixels: line %q has %d", s, w, l, f.width(l))
				}
			}
			got := strings.Join(strings.Fields(strings.Join(lines, "")), "")
			if want := strings.Join(strings.Fields(s), ""); got != want {
				t.Errorf("%q in %d pixels: letters %q", s, w, got)
			}
		}
	}
	if d := cmp.Diff([]string{"one two", "three"}, f.wrap("one two three", f.width("one two"))); d != "" {
		t.Error(d)
	}
	if f.wrap("", 100) != nil || f.wrap(" \n ", 100) != nil {
		t.Error("no text has lines")
	}
}

// Our width is that of the font library, and every sign that the pictures use is
// in the font.
func TestFaces(t *testing.T) {
	regular, bold := fontFiles()
	const signs = "AVTo. −0.25 Δ∞ρ²³≤≥×·→σωθ°½ äöüéß…"
	for _, px := range []int{11, 16, 40} {
		f := newFace(regular, px)
		if got, want := f.width(signs), font.MeasureString(f.Face, signs).Ceil(); got != want {
			t.Errorf("%d pixels: width %d, want %d", px, got, want)
		}
		if f.caps < px*6/10 || f.caps > px*8/10 {
			t.Errorf("%d pixels: capitals of %d", px, f.caps)
		}
	}
	for _, r := range signs {
		if regular.Index(r) == 0 || bold.Index(r) == 0 {
			t.Errorf("%q is not in the font", r)
		}
	}
}

type chunk struct {
	kind string
	data []byte
}

func chunksOf(t *testing.T, b []byte) []chunk {
	t.Helper()
	if !bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")) {
		t.Fatal("no PNG signature")
	}
	var out []chunk
	for b = b[8:]; len(b) > 0; {
		n := int(binary.BigEndian.Uint32(b))
		if sum := binary.BigEndian.Uint32(b[8+n:]); sum != crc32.ChecksumIEEE(b[4:8+n]) {
			t.Fatalf("chunk %s: wrong check sum", b[4:8])
		}
		out = append(out, chunk{string(b[4:8]), b[8 : 8+n]})
		b = b[12+n:]
	}
	return out
}

func TestEncodePNG(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 40, 30))
	r := rand.New(rand.NewPCG(1, 1))
	for i := range img.Pix {
		img.Pix[i] = uint8(r.UintN(256)) | uint8(i%4/3*255)
	}
	notes := []Text{{"Title", "Fläche ½"}, {"Source", "a.csv"}, {"Description", "momentum, ρ = 1.2"}}
	var one, two bytes.Buffer
	for _, w := range []*bytes.Buffer{&one, &two} {
		if err := EncodePNG(w, img, notes, 254); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(one.Bytes(), two.Bytes()) {
		t.Error("two encodings differ")
	}
	got := chunksOf(t, one.Bytes())
	want := []chunk{
		// 254 pixels in 25.4 mm are 10000 in a metre, which is 0x2710.
		{"pHYs", []byte{0, 0, 0x27, 0x10, 0, 0, 0x27, 0x10, 1}},
		{"iTXt", []byte("Title\x00\x00\x00\x00\x00Fläche ½")}, {"iTXt", []byte("Source\x00\x00\x00\x00\x00a.csv")},
		{"iTXt", []byte("Description\x00\x00\x00\x00\x00momentum, ρ = 1.2")},
	}
	if d := cmp.Diff(want, got[1:5], cmp.AllowUnexported(chunk{})); got[0].kind != "IHDR" || d != "" {
		t.Errorf("first chunk %s; %s", got[0].kind, d)
	}
	back := must(png.Decode(&one))
	for y := range 30 {
		for x := range 40 {
			if color.RGBAModel.Convert(back.At(x, y)) != img.At(x, y) {
				t.Fatalf("pixel (%d, %d) changed", x, y)
			}
		}
	}
	if err := EncodePNG(&two, img, []Text{{"key", "a\x00b"}}, 0); err == nil {
		t.Error("NUL: no error")
	}
}

// TestPalette checks that a map gets a palette that leaves the colours of bands and page
// alone and soft edges nearly so.
func TestPalette(t *testing.T) {
	m := benchMap(1000, false)
	img := must(Draw(m.page(), image.Pt(700, 500)))
	var b bytes.Buffer
	if err := EncodePNG(&b, img, nil, 0); err != nil {
		t.Fatal(err)
	}
	back := must(png.Decode(&b))
	p, ok := back.(*image.Paletted)
	if !ok {
		t.Fatalf("a map is a %T", back)
	}
	for y := range 500 {
		for x := range 700 {
			a, b := img.RGBAAt(x, y), color.RGBAModel.Convert(p.At(x, y)).(color.RGBA)
			if d := max(gap(a.R, b.R), gap(a.G, b.G), gap(a.B, b.B)); d > edgeErrors[1] {
				t.Fatalf("pixel (%d, %d) is %v, was %v", x, y, b, a)
			}
		}
	}
	colours := []color.RGBA{Light.Paper, Light.Ink}
	for k := range len(m.Scale.Levels) - 1 {
		colours = append(colours, m.Scale.bandColor(k))
	}
	for _, c := range colours {
		if !slices.Contains(p.Palette, color.Color(c)) {
			t.Errorf("the palette lacks %v", c)
		}
	}
}
