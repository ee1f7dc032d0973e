package render

import (
	"encoding/binary"
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"

	"github.com/fogleman/gg"

	"wakeledger/grid"
)

// painter draws one panel into its part of the page.
type painter struct {
	img  *image.RGBA
	gg   *gg.Context
	w, h int
	box  grid.Box
	em   float64
	// small is the face of labels on the map.
	small, bold *face
	place       placer
	theme       Theme
	// texts has the room of each text and mark on the map.
	texts []image.Rectangle
}

// ink is one kind of stroke: a line and the halo under it.
type ink struct {
	c, halo     color.RGBA
	alpha       float64
	width, edge float64
	dash        []float64
}

// shown are the colours without a value that occur.
type shown struct{ body, left, missing bool }

// paintPanel paints a panel into img and says what is hatched in it.
func paintPanel(p *Panel, v View, box grid.Box, img *image.RGBA, c *canvas) (seen shown) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	d := &painter{
		img: img, w: w, h: h, box: box, em: float64(c.em), small: c.small, bold: c.smallBold, theme: c.theme,
		place: placer{area: frame{2, 2, float64(w - 2), float64(h - 2)}},
	}
	d.gg = gg.NewContextForRGBA(d.img)
	d.gg.SetLineCap(gg.LineCapButt)
	d.gg.SetLineJoin(gg.LineJoinRound)
	ground := v.Ground && !v.stripWanted(box) && box.Min.Y < 0 && box.Max.Y > 0
	mesh, values := p.Mesh.Nodal(p.Values)
	s := p.Samplers.get(mesh, box, w, h)
	px := s.Field(values)
	var doubt []float32
	if p.Doubt != nil {
		_, f := p.Mesh.Nodal(p.Doubt)
		doubt = s.Field(f)
	}
	d.fill(p, s, px, doubt)
	seen = d.hatchBare(p, s)
	var levels []levelLines
	if p.Lines {
		levels = d.levelLines(p.Scale, mesh, values, s, px)
		d.drawLevels(p.Scale, levels)
	}
	if ground {
		d.ground()
	}
	if p.Vectors != nil {
		_, x := p.Mesh.Nodal(p.Vectors.X)
		_, y := p.Mesh.Nodal(p.Vectors.Y)
		d.vectors(p.Vectors, s, x, y)
	}
	each(p.Outlines, d.outline)
	each(p.Boxes, d.boxLines)
	// Marks are booked first, since they cannot move; then texts, the most wanted
	// first.
	each(p.Markers, d.bookMarker)
	each(p.Arrows, d.bookArrow)
	each(p.Boxes, d.boxName)
	each(p.Arrows, d.arrow)
	each(p.Markers, d.marker)
	d.labelLevels(p.Scale, levels)
	c.onMap = append(c.onMap, d.texts)
	return seen
}

func each[T any](list []T, do func(T)) {
	for _, x := range list {
		do(x)
	}
}

// at takes a point of the plane to pixels, with whole numbers on pixel borders.
func (d *painter) at(p grid.Point) pt {
	return pt{(p.X - d.box.Min.X) / d.box.Width() * float64(d.w), (d.box.Max.Y - p.Y) / d.box.Height() * float64(d.h)}
}

func (d *painter) edges() frame { return frame{0, 0, float64(d.w), float64(d.h)} }

// fill colours the pixels; those without an element keep the paper, those whose
// value is within its doubt are neutral.
func (d *painter) fill(p *Panel, s *Sampler, px, doubt []float32) {
	neutral := bytesOf(p.Scale.Band(min(max(0, p.Scale.Lo), p.Scale.Hi)))
	paper, missing, bare := bytesOf(d.theme.Paper), bytesOf(p.Scale.Map.NoData), s.bare()
	grid.Parallel(d.h, func(j int) {
		pix, bare := d.img.Pix[j*d.img.Stride:][:4*d.w], bare[j*d.w:]
		// The next pixel is most often of the same band.
		var band uint32
		from, to := math.Inf(1), math.Inf(-1)
		for i, v := range px[j*d.w:][:d.w] {
			v, c := float64(v), band
			switch {
			case doubt != nil && math.Abs(v) <= float64(doubt[j*d.w+i]):
				c = neutral
			case v >= from && v < to:
			case v == v:
				var col color.RGBA
				col, from, to = p.Scale.band(v)
				band = bytesOf(col)
				c = band
			case bare[i]:
				c = paper
			default:
				c = missing
			}
			binary.LittleEndian.PutUint32(pix[4*i:], c)
		}
	})
}

// bytesOf has the bytes of an opaque pixel, red lowest.
func bytesOf(c color.RGBA) uint32 {
	return uint32(c.R) | uint32(c.G)<<8 | uint32(c.B)<<16 | 255<<24
}

// hatching is a paper with lines of the given period and width, rising to the right or falling.
type hatching struct {
	paper, line   color.RGBA
	period, width float64
	falls         bool
}

func bodyHatch(em float64) hatching {
	return hatching{bodyFill, bodyLine, 0.85 * em, max(1, em/12), false}
}

func leftHatch(em float64) hatching {
	return hatching{leftFill, bodyLine, 0.5 * em, max(1, em/16), true}
}

// over gives the pixels of r that a mask of r's size marks, or all of them without one.
func (t hatching) over(img *image.RGBA, r image.Rectangle, mask []bool) {
	r = r.Intersect(img.Rect)
	// The colour depends on x + y, or where the lines fall on x − y.
	lo, hi, sign := r.Min.X+r.Min.Y, r.Max.X+r.Max.Y, 1
	if t.falls {
		lo, hi, sign = r.Min.X-r.Max.Y, r.Max.X-r.Min.Y, -1
	}
	var shades []uint32
	for k := lo; k <= hi; k++ {
		u := math.Mod(math.Mod(float64(k)+0.5, t.period)+t.period, t.period) - t.period/2
		shades = append(shades, bytesOf(over(t.paper, t.line, min(max(t.width/2-math.Abs(u)/math.Sqrt2+0.5, 0), 1))))
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		pix, shade := img.Pix[img.PixOffset(r.Min.X, y):][:4*r.Dx()], shades[r.Min.X+sign*y-lo:][:r.Dx()]
		for i, c := range shade {
			if mask == nil || mask[(y-r.Min.Y)*r.Dx()+i] {
				binary.LittleEndian.PutUint32(pix[4*i:], c)
			}
		}
	}
}

// hatchBare hatches what has no element: places of samples that were left out, which other meshes
// have, and the body, with an edge inside it where an element is near.
func (d *painter) hatchBare(p *Panel, s *Sampler) (seen shown) {
	body, bare := s.body(), s.bare()
	if len(p.Whole) > 0 {
		left := make([]bool, len(bare))
		body = slices.Clone(body)
		for _, m := range p.Whole {
			for k, b := range p.Samplers.get(m.NodalMesh(), d.box, d.w, d.h).bare() {
				if bare[k] && !b {
					left[k], body[k], seen.left = true, false, true
				}
			}
		}
		leftHatch(d.em).over(d.img, d.img.Rect, left)
	}
	if seen.body = slices.Contains(body, true); !seen.body {
		return seen
	}
	bodyHatch(d.em).over(d.img, d.img.Rect, body)
	edge := max(1, int(d.em/11+0.5))
	for k, b := range body {
		if !b {
			continue
		}
		at := image.Pt(k%d.w, k/d.w)
		for _, q := range [4]image.Point{{X: -edge}, {X: edge}, {Y: -edge}, {Y: edge}} {
			if q = at.Add(q); q.In(d.img.Rect) && !body[q.Y*d.w+q.X] {
				d.img.SetRGBA(at.X, at.Y, bodyEdge)
			}
		}
	}
	return seen
}

// ground hatches what lies below Y = 0 inside the picture and draws the line.
func (d *painter) ground() {
	y := int(d.at(grid.Point{Y: 0}).y + 0.5)
	hatchGround(d.img, image.Rect(0, y, d.w, d.h), int(d.em), d.theme)
}

// hatchGround hatches the ground, with the ground line on top.
func hatchGround(img *image.RGBA, r image.Rectangle, em int, t Theme) {
	line := r.Min.Y + max(2, em/7)
	r.Min.Y = max(r.Min.Y, 0)
	hatching{t.Paper, t.Faint, 0.6 * float64(em), max(1, float64(em)/14), false}.over(img, r, nil)
	r.Max.Y = min(line, r.Max.Y)
	draw.Draw(img, r, image.NewUniform(t.Ink), image.Point{}, draw.Src)
}

// stroke draws a polyline given in pixels, clipped to the picture.
func (d *painter) stroke(line []pt, closed bool, k ink) {
	room := d.edges().grown(k.width + k.edge + 2)
	parts := room.clip(line, closed)
	draw := func(c color.RGBA, width float64, dash []float64) {
		with := color.NRGBA{c.R, c.G, c.B, uint8(255*k.alpha + 0.5)}
		for _, part := range parts {
			part = thin(part, 0.4)
			// A ring that was not cut is closed, so that its ends join.
			if n := len(part); closed && len(parts) == 1 && n > 2 && part[0] == part[n-1] && len(dash) == 0 {
				outline(d.gg, with, width, part)
			} else {
				stroke(d.gg, with, width, dash, part)
			}
		}
	}
	if k.edge > 0 {
		draw(k.halo, k.width+2*k.edge, nil)
	}
	draw(k.c, k.width, k.dash)
}
