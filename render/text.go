package render

import (
	"image"
	"image/color"
	"image/draw"
	"strings"
	"sync"

	"github.com/golang/freetype/truetype"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/math/fixed"
)

var fontFiles = sync.OnceValues(func() (regular, bold *truetype.Font) {
	parse := func(ttf []byte) *truetype.Font {
		f, err := truetype.Parse(ttf)
		if err != nil {
			panic("render: the embedded font does not parse: " + err.Error())
		}
		return f
	}
	return parse(goregular.TTF), parse(gobold.TTF)
})

// face is a font at a size, with the measures that layout needs, in pixels.
type face struct {
	font.Face
	line, ascent, caps int
	// advance remembers advances: finding one hints the glyph anew.
	advance map[rune]fixed.Int26_6
	// free has the faces of this font and size that are not in use.
	free *sync.Pool
}

// faces are those that newFace has made, by font and size. A face must not be shared
// between goroutines, so every picture takes its own; it remembers the glyphs that it has
// hinted, so pictures leave theirs to those that come after.
var faces sync.Map

type faceKey struct {
	font *truetype.Font
	px   int
}

// newFace gives a face of the given pixel size, which release gives back. The font's own
// hints are used, and glyphs are drawn at whole pixels, which keeps stems sharp.
func newFace(f *truetype.Font, px int) *face {
	pool, _ := faces.LoadOrStore(faceKey{f, px}, &sync.Pool{})
	free := pool.(*sync.Pool)
	if held, ok := free.Get().(*face); ok {
		return held
	}
	ff := truetype.NewFace(f, &truetype.Options{Size: float64(px), DPI: 72, Hinting: font.HintingFull})
	m := ff.Metrics()
	b, _, _ := ff.GlyphBounds('H')
	return &face{Face: ff, line: (px*13 + 5) / 10, ascent: m.Ascent.Ceil(), caps: (-b.Min.Y).Round(), advance: map[rune]fixed.Int26_6{}, free: free}
}

func (f *face) release() { f.free.Put(f) }

// width is how far s reaches when it is written, kerning included.
func (f *face) width(s string) int {
	var w fixed.Int26_6
	last := rune(-1)
	for _, r := range s {
		a, ok := f.advance[r]
		if !ok {
			a, _ = f.GlyphAdvance(r)
			f.advance[r] = a
		}
		if last >= 0 {
			w += f.Kern(last, r)
		}
		w += a
		last = r
	}
	return w.Ceil()
}

// wrap breaks s into lines of at most w pixels, at spaces, inside words only when
// a word is wider than a line. It keeps line breaks of s and returns no line for
// an empty s.
func (f *face) wrap(s string, w int) []string {
	if strings.TrimSpace(s) == "" {
		return nil
	}
	var lines []string
	for para := range strings.SplitSeq(s, "\n") {
		line := ""
		for _, word := range strings.Fields(para) {
			if joined := strings.TrimSpace(line + " " + word); f.width(joined) <= w {
				line = joined
				continue
			}
			if line != "" {
				lines = append(lines, line)
			}
			rest := []rune(word)
			for len(rest) > 1 && f.width(string(rest)) > w {
				n := len(rest) - 1
				for n > 1 && f.width(string(rest[:n])) > w {
					n--
				}
				lines, rest = append(lines, string(rest[:n])), rest[n:]
			}
			line = string(rest)
		}
		lines = append(lines, line)
	}
	return lines
}

// write draws s with its baseline starting at (x, y).
func (f *face) write(dst draw.Image, s string, x, y int, c color.Color) {
	d := font.Drawer{Dst: dst, Src: image.NewUniform(c), Face: f, Dot: fixed.P(x, y)}
	d.DrawString(s)
}

// writeHalo draws s on a halo of r pixels, so that it reads on any ground.
func (f *face) writeHalo(dst *image.RGBA, s string, x, y, r int, c, halo color.RGBA) {
	for dy := -r; dy <= r; dy++ {
		for dx := -r; dx <= r; dx++ {
			if dx*dx+dy*dy <= r*r+r/2 {
				f.write(dst, s, x+dx, y+dy, halo)
			}
		}
	}
	f.write(dst, s, x, y, c)
}

// writeUp draws s upward, with its baseline ending the text's left side at x and
// starting at y. The glyphs are those of level text, turned by a right angle.
func (f *face) writeUp(dst *image.RGBA, s string, x, y int, c color.RGBA) {
	mask := image.NewAlpha(image.Rect(0, 0, f.width(s)+2, f.line+2))
	f.write(mask, s, 1, 1+f.ascent, color.Opaque)
	w, h := mask.Rect.Dx(), mask.Rect.Dy()
	up := image.NewAlpha(image.Rect(0, 0, h, w))
	for py := range h {
		for px := range w {
			up.Pix[(w-1-px)*up.Stride+py] = mask.Pix[py*mask.Stride+px]
		}
	}
	at := image.Rect(x-1-f.ascent, y+1-w, x-1-f.ascent+h, y+1)
	draw.DrawMask(dst, at, image.NewUniform(c), image.Point{}, up, image.Point{}, draw.Over)
}
