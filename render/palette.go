package render

import (
	"cmp"
	"encoding/binary"
	"image"
	"math"
	"slices"

	"wakeledger/grid"
)

const (
	// maxColours bounds the colours that are counted: a picture with more has smooth
	// shades, which no palette holds.
	maxColours = 1 << 15
	// solidPixels is the number of pixels within an area of one colour from which the
	// colour is kept as it is: bands, pages, bodies. The others are the soft edges of
	// texts and lines.
	solidPixels = 16
)

// edgeErrors are the distances in RGB, of 255 a channel, by which the colours of soft
// edges may be moved; the least that leaves 256 colours is taken. At 24 an edge of black
// on white still has ten steps.
var edgeErrors = [3]int{0, 16, 24}

// colour is one colour of a picture, the number of pixels that have it, those among
// them in runs of three and more below others of the colour, and its place in the
// palette.
type colour struct {
	rgb           [3]uint8
	pixels, solid int
	place         uint8
}

// paletted finds at most 256 colours that show img, and gives them, three bytes each,
// with img's rows as a PNG has them: a 0 for "not filtered", then a byte a pixel. ok is
// false where no palette will do: then the picture has shades or is not opaque.
func paletted(img *image.RGBA) (palette, rows []byte, ok bool) {
	ids, colours, ok := countColours(img)
	if !ok {
		return nil, nil, false
	}
	order := grid.Fill(len(colours), func(k int) *colour { return &colours[k] })
	rank := func(c *colour) int {
		if c.solid >= solidPixels {
			return math.MinInt
		}
		return -c.pixels
	}
	slices.SortFunc(order, func(a, b *colour) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), slices.Compare(a.rgb[:], b.rgb[:]))
	})
	for _, most := range edgeErrors {
		if palette = choose(order, most); palette != nil {
			break
		}
	}
	if palette == nil {
		return nil, nil, false
	}
	places := grid.Fill(len(colours), func(k int) byte { return colours[k].place })
	w := img.Rect.Dx()
	rows = make([]byte, (w+1)*img.Rect.Dy())
	for y := range img.Rect.Dy() {
		row := rows[y*(w+1)+1:][:w]
		for x, k := range ids[y*w:][:w] {
			row[x] = places[k]
		}
	}
	return palette, rows, true
}

// countColours numbers the colours of img, pixel by pixel in ids. It goes by runs of
// one colour, since most of a picture is made of long ones.
func countColours(img *image.RGBA) (ids []uint16, colours []colour, ok bool) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	ids = make([]uint16, w*h)
	known := map[uint32]uint16{}
	// near are numbers of colours by a part of their bits, since most are met again soon.
	var near [1 << 12]struct {
		c uint32
		k uint16
	}
	for y := range h {
		pix, row := img.Pix[y*img.Stride:][:4*w], ids[y*w:][:w]
		for x := 0; x < w; {
			c := binary.LittleEndian.Uint32(pix[4*x:])
			end := x + 1
			for two := uint64(c)<<32 | uint64(c); end+1 < w && binary.LittleEndian.Uint64(pix[4*end:]) == two; {
				end += 2
			}
			for end < w && binary.LittleEndian.Uint32(pix[4*end:]) == c {
				end++
			}
			at := &near[c*0x9e3779b1>>20]
			k, seen := at.k, at.c == c && c != 0
			if !seen {
				k, seen = known[c]
			}
			if !seen {
				if c>>24 != 255 || len(colours) == maxColours {
					return ids, nil, false
				}
				k = uint16(len(colours))
				known[c] = k
				colours = append(colours, colour{rgb: [3]uint8(pix[4*x:])})
			}
			at.c, at.k = c, k
			for i := x; i < end; i++ {
				row[i] = k
			}
			n := end - x
			colours[k].pixels += n
			if n >= 3 && y > 0 && ids[(y-1)*w+x] == k && ids[(y-1)*w+end-1] == k {
				colours[k].solid += n
			}
			x = end
		}
	}
	return ids, colours, true
}

// choose takes the colours in their order into a palette, those that are not solid only
// where none lies within most of them; else they get the place of the nearest. It gives
// nil where more than 256 are needed.
func choose(order []*colour, most int) []byte {
	var palette []byte
	for _, c := range order {
		near, at := math.MaxInt, 0
		if c.solid < solidPixels && most > 0 {
			for k := 0; k < len(palette); k += 3 {
				r, g, b := int(c.rgb[0])-int(palette[k]), int(c.rgb[1])-int(palette[k+1]), int(c.rgb[2])-int(palette[k+2])
				if d := r*r + g*g + b*b; d < near {
					near, at = d, k
				}
			}
		}
		if near > most*most {
			at = len(palette)
			palette = append(palette, c.rgb[:]...)
		}
		if len(palette) > 3*256 {
			return nil
		}
		c.place = uint8(at / 3)
	}
	return palette
}
