package render

import (
	"cmp"
	"encoding/binary"
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/fogleman/gg"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
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

// lent are buffers that one picture uses after the other, since fresh pages of memory are
// dear. What is in them is what was there before.
type lent[T any] struct{ pool sync.Pool }

var (
	bytesLent   lent[uint8]
	pixelsLent  lent[float32]
	numbersLent lent[uint16]
)

func (l *lent[T]) take(n int) []T {
	if b, ok := l.pool.Get().(*[]T); ok && cap(*b) >= n {
		return (*b)[:n]
	}
	return make([]T, n)
}

func (l *lent[T]) give(b []T) { l.pool.Put(&b) }

// ink is one kind of stroke: a line and the halo under it.
type ink struct {
	c, halo     color.RGBA
	alpha       float64
	width, edge float64
	dash        []float64
}

// paintPanel paints a panel into img and says whether a body was hatched in it.
func paintPanel(p *Panel, v View, box grid.Box, img *image.RGBA, c *canvas) (body bool, err error) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	d := &painter{
		img: img, w: w, h: h, box: box, em: float64(c.em), small: c.small, bold: c.smallBold, theme: c.theme,
		place: placer{area: frame{2, 2, float64(w - 2), float64(h - 2)}},
	}
	d.gg = gg.NewContextForRGBA(d.img)
	d.gg.SetLineCap(gg.LineCapButt)
	d.gg.SetLineJoin(gg.LineJoinRound)
	ground := v.Ground && !stripWanted(v, box) && box.Min.Y < 0 && box.Max.Y > 0
	if p.Mesh == nil {
		draw.Draw(d.img, d.img.Rect, image.White, image.Point{}, draw.Src)
		if ground {
			d.ground()
		}
		d.spots(p.Spots)
		return false, nil
	}
	mesh, values := p.Mesh.Nodal(p.Values)
	s, err := p.Samplers.get(mesh, box, w, h)
	if err != nil {
		return false, err
	}
	px := s.field(values, pixelsLent.take(w*h))
	defer pixelsLent.give(px)
	var doubt []float32
	if p.Doubt != nil {
		_, f := p.Mesh.Nodal(p.Doubt)
		doubt = s.field(f, pixelsLent.take(w*h))
		defer pixelsLent.give(doubt)
	}
	d.fill(p, s, px, doubt)
	if v.Body {
		body = d.hatchBody(s.body())
	}
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
	for _, o := range p.Outlines {
		d.outline(o)
	}
	for _, e := range p.Ellipses {
		d.ellipse(e)
	}
	for _, b := range p.Boxes {
		d.boxLines(b)
	}
	// Marks are booked first, since they cannot move; then texts, the most wanted
	// first.
	for _, m := range p.Markers {
		d.bookMarker(m)
	}
	for _, a := range p.Arrows {
		d.bookArrow(a)
	}
	for _, b := range p.Boxes {
		d.boxName(b)
	}
	for _, a := range p.Arrows {
		d.arrow(a)
	}
	for _, m := range p.Markers {
		d.marker(m)
	}
	d.labelLevels(p.Scale, levels)
	c.onMap = append(c.onMap, d.texts)
	return body, nil
}

// at takes a point of the plane to pixels, with whole numbers on pixel borders.
func (d *painter) at(p grid.Point) pt {
	return pt{(p.X - d.box.Min.X) / d.box.Width() * float64(d.w), (d.box.Max.Y - p.Y) / d.box.Height() * float64(d.h)}
}

func (d *painter) edges() frame { return frame{0, 0, float64(d.w), float64(d.h)} }

// fill colours the pixels; those without an element keep the paper, those whose
// value is within its doubt are neutral.
func (d *painter) fill(p *Panel, s *Sampler, px, doubt []float32) {
	shade := p.Scale.shader()
	neutral, bare := p.Scale.neutral(), s.bare()
	grid.Parallel(d.h, func(j int) {
		shade, pix := shade, d.img.Pix[j*d.img.Stride:]
		var c uint32
		// The next pixel is most often of the same band.
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range d.w {
			switch v := float64(px[j*d.w+i]); {
			case v >= lo && v < hi:
			case doubt != nil && math.Abs(v) <= float64(doubt[j*d.w+i]):
				c, hi = bytesOf(neutral), lo
			case v == v:
				c = bytesOf(shade.color(v))
				if lo, hi = shade.band(v); doubt != nil {
					hi = lo
				}
			case bare[j*d.w+i]:
				c, hi = bytesOf(d.theme.Paper), lo
			default:
				c, hi = bytesOf(p.Scale.Map.NoData), lo
			}
			binary.LittleEndian.PutUint32(pix[4*i:], c)
		}
	})
}

// bytesOf has the bytes of an opaque pixel, red lowest.
func bytesOf(c color.RGBA) uint32 {
	return uint32(c.R) | uint32(c.G)<<8 | uint32(c.B)<<16 | 255<<24
}

// hatches are the colours of a paper with lines of the given period and width that rise to
// the right, by x + y from lo to hi.
func hatches(paper, line color.RGBA, period, width float64, lo, hi int) []color.RGBA {
	out := make([]color.RGBA, 0, max(0, hi-lo))
	for k := lo; k < hi; k++ {
		u := math.Mod(float64(k)+0.5, period) - period/2
		out = append(out, over(paper, line, min(max(width/2-math.Abs(u)/math.Sqrt2+0.5, 0), 1)))
	}
	return out
}

// bodyShades are the colours of a body by x + y.
func bodyShades(em float64, lo, hi int) []color.RGBA {
	return hatches(bodyFill, bodyLine, 0.85*em, max(1, em/12), lo, hi)
}

func (d *painter) hatchBody(mask []bool) bool {
	any := false
	shades := bodyShades(d.em, 0, d.w+d.h)
	edge := max(1, int(d.em/11+0.5))
	for j := range d.h {
		for i := range d.w {
			if !mask[j*d.w+i] {
				continue
			}
			any = true
			c := shades[i+j]
			// The edge runs inside the body where an element is near.
			for _, q := range [4][2]int{{-edge, 0}, {edge, 0}, {0, -edge}, {0, edge}} {
				x, y := i+q[0], j+q[1]
				if x >= 0 && x < d.w && y >= 0 && y < d.h && !mask[y*d.w+x] {
					c = bodyEdge
				}
			}
			d.img.SetRGBA(i, j, c)
		}
	}
	return any
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
	hatch(img, r, hatches(t.Paper, t.Faint, 0.6*float64(em), max(1, float64(em)/14), r.Min.X+r.Min.Y, r.Max.X+r.Max.Y))
	r.Max.Y = min(line, r.Max.Y)
	draw.Draw(img, r, image.NewUniform(t.Ink), image.Point{}, draw.Src)
}

// hatch gives a rectangle the shades by x + y, which begin at its upper left corner.
func hatch(img *image.RGBA, r image.Rectangle, shades []color.RGBA) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			img.SetRGBA(x, y, shades[x+y-r.Min.X-r.Min.Y])
		}
	}
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

// levelLines are the lines of level k of the scale, in pixels.
type levelLines struct {
	k     int
	lines []isoline.Line
}

// maxElements is the size from which level lines are taken from the sampled
// picture instead of the mesh: its elements are smaller than pixels then, and
// lines finer than pixels cannot be seen.
const maxElements = 250_000

func (d *painter) levelLines(s Scale, mesh *grid.Mesh, values []float64, smp *Sampler, px []float32) []levelLines {
	if mesh.Elements() > maxElements {
		mesh, values = pixelLattice(smp, px)
	}
	inner := s.Levels[1:max(len(s.Levels)-1, 1)]
	out := make([]levelLines, len(inner))
	for k, lines := range isoline.All(mesh, values, inner) {
		out[k] = levelLines{k: k + 1, lines: lines}
	}
	return out
}

// pixelLattice is the sampled field at every second pixel centre.
func pixelLattice(s *Sampler, px []float32) (*grid.Mesh, []float64) {
	nx, ny := (s.W+1)/2, (s.H+1)/2
	l := &grid.Lattice{X: make([]float64, nx), Y: make([]float64, ny), Index: make([]int32, nx*ny)}
	for i := range l.X {
		l.X[i] = s.Box.Min.X + (2*float64(i)+0.5)*s.Box.Width()/float64(s.W)
	}
	row := func(j int) int { return 2 * (ny - 1 - j) }
	for j := range l.Y {
		l.Y[j] = s.Box.Max.Y - (float64(row(j))+0.5)*s.Box.Height()/float64(s.H)
	}
	m := &grid.Mesh{Kind: grid.KindLattice, Lattice: l, Points: make([]grid.Point, nx*ny)}
	f := make([]float64, nx*ny)
	for j := range ny {
		for i := range nx {
			k := j*nx + i
			l.Index[k] = int32(k)
			m.Points[k] = grid.Point{X: l.X[i], Y: l.Y[j]}
			f[k] = float64(px[row(j)*s.W+2*i])
		}
	}
	return m, f
}

func (d *painter) pixels(l isoline.Line) []pt {
	out := make([]pt, len(l.Points))
	for i, p := range l.Points {
		out[i] = d.at(p)
	}
	return out
}

func (d *painter) drawLevels(s Scale, levels []levelLines) {
	for _, lv := range levels {
		// Dark lines on light colours and the other way round.
		k := ink{c: markInk, alpha: 0.5, width: max(1, d.em/15)}
		if Lightness(s.Color(s.Levels[lv.k])) < 48 {
			k.c, k.alpha = markHalo, 0.6
		}
		for _, l := range lv.lines {
			d.stroke(d.pixels(l), l.Closed, k)
		}
	}
}

// labelLevels writes values beside the longest lines of each level, where the
// line is straight and there is room.
func (d *painter) labelLevels(s Scale, levels []levelLines) {
	pad := 0.25 * d.em
	for _, lv := range levels {
		text := s.text(lv.k)
		w, h := float64(d.small.width(text)), float64(d.small.caps)
		count := 0
		for _, l := range longest(lv.lines, 4) {
			for _, part := range d.edges().clip(d.pixels(l), l.Closed) {
				length := pathLength(part)
				if count >= 1 || length < 7*w || length < 9*d.em {
					continue
				}
				for _, p := range straightest(part, w, 24) {
					f := frame{p.x - w/2 - pad, p.y - h/2 - pad, p.x + w/2 + pad, p.y + h/2 + pad}
					if !d.place.free(f) {
						continue
					}
					// Labels keep a distance from each other, not only out of touch.
					d.place.take(f.grown(0.5 * d.em))
					halo := s.Color(s.Levels[lv.k])
					c := markInk
					if Lightness(halo) < 55 {
						c = markHalo
					}
					d.texts = append(d.texts, f.rect())
					d.small.writeHalo(d.img, text, int(p.x-w/2+0.5), int(p.y+h/2+0.5), max(2, int(d.em/8)), c, halo)
					count++
					break
				}
			}
		}
	}
}

// longest returns the n longest lines, the longest first.
func longest(lines []isoline.Line, n int) []isoline.Line {
	order, length := make([]int, len(lines)), make([]float64, len(lines))
	for k := range lines {
		order[k], length[k] = k, lines[k].Length()
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(length[b], length[a]) })
	out := make([]isoline.Line, min(n, len(lines)))
	for k := range out {
		out[k] = lines[order[k]]
	}
	return out
}

// straightest returns n places along a line, ordered by how little the line bends
// within w of them.
func straightest(line []pt, w float64, n int) []pt {
	total := pathLength(line)
	at := func(s float64) pt {
		for i := 1; i < len(line); i++ {
			d := math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)
			if s <= d && d > 0 {
				return pt{line[i-1].x + s/d*(line[i].x-line[i-1].x), line[i-1].y + s/d*(line[i].y-line[i-1].y)}
			}
			s -= d
		}
		return line[len(line)-1]
	}
	type candidate struct {
		p    pt
		bend float64
	}
	var cs []candidate
	for k := range n {
		s := total * (float64(k) + 0.5) / float64(n)
		if s < w || s > total-w {
			continue
		}
		a, b := at(s-w), at(s+w)
		cs = append(cs, candidate{at(s), math.Round((1 - math.Hypot(b.x-a.x, b.y-a.y)/(2*w)) * 1e9)})
	}
	slices.SortStableFunc(cs, func(a, b candidate) int { return cmp.Compare(a.bend, b.bend) })
	out := make([]pt, len(cs))
	for i, c := range cs {
		out[i] = c.p
	}
	return out
}

func (d *painter) outline(o Outline) {
	for _, l := range o.Lines {
		d.stroke(d.pixels(l), l.Closed, o.ink(d.em))
	}
}

func (o Outline) ink(em float64) ink {
	k := ink{c: o.Color, halo: markHalo, alpha: 1, width: max(1.5, em/7), edge: max(1, em/14)}
	if k.c.A == 0 {
		k.c = markInk
	}
	if o.Dashed {
		k.dash = []float64{0.6 * em, 0.35 * em}
	}
	return k
}

func ellipseInk(em float64) ink {
	return ink{c: markInk, halo: markHalo, alpha: 1, width: max(1, em/11), edge: max(1, em/14), dash: []float64{0.15 * em, 0.25 * em}}
}

func (d *painter) ellipse(e Ellipse) {
	const n = 120
	line := make([]pt, n)
	st, ct := math.Sincos(e.Tilt * math.Pi / 180)
	for i := range line {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		u, v := e.Semi[0]*c, e.Semi[1]*s
		line[i] = d.at(grid.Point{X: e.Centre.X + u*ct - v*st, Y: e.Centre.Y + u*st + v*ct})
	}
	d.stroke(line, true, ellipseInk(d.em))
}

// shown is the part of a region that the picture shows, in pixels.
func (d *painter) shown(b NamedBox) (frame, bool) {
	c := b.Box.Intersect(d.box)
	if c.Empty() {
		return frame{}, false
	}
	lo, hi := d.at(grid.Point{X: c.Min.X, Y: c.Max.Y}), d.at(grid.Point{X: c.Max.X, Y: c.Min.Y})
	return frame{lo.x, lo.y, hi.x, hi.y}, true
}

func (d *painter) boxLines(b NamedBox) {
	f, ok := d.shown(b)
	if !ok {
		return
	}
	line := []pt{{f.x0, f.y0}, {f.x1, f.y0}, {f.x1, f.y1}, {f.x0, f.y1}}
	d.stroke(line, true, ink{c: markInk, halo: markHalo, alpha: 0.9, width: max(1, d.em/12), edge: max(1, d.em/12)})
}

// boxName writes the name on a plate: in a corner of the region if it fits there,
// else outside, as near as there is room.
func (d *painter) boxName(b NamedBox) {
	f, ok := d.shown(b)
	if !ok || strings.TrimSpace(b.Name) == "" {
		return
	}
	pad := math.Round(0.3 * d.em)
	w, h := float64(d.bold.width(b.Name))+2*pad, float64(d.bold.caps)+2*pad
	gap := max(2, d.em/6)
	inside := []pt{{f.x0 + gap, f.y0 + gap}, {f.x1 - w - gap, f.y0 + gap}, {f.x0 + gap, f.y1 - h - gap}, {f.x1 - w - gap, f.y1 - h - gap}}
	outside := []pt{{f.x0, f.y0 - h - gap}, {f.x1 - w, f.y0 - h - gap}, {f.x0, f.y1 + gap}, {f.x1 - w, f.y1 + gap}, {f.x1 + gap, f.y0}, {f.x0 - w - gap, f.y0}}
	want := append(inside, outside...)
	if w+2*gap > f.x1-f.x0 || h+2*gap > f.y1-f.y0 {
		want = outside
	}
	d.plate(b.Name, d.bold, w, h, pad, want)
}

// plate writes a text on a light ground, at the first free of the wanted places.
// When the whole panel is taken the text is left out: on a panel that small it
// would hide the field.
func (d *painter) plate(s string, f *face, w, h, pad float64, want []pt) {
	at, ok := d.place.put(w, h, want...)
	if !ok {
		return
	}
	x, y := int(at.x+0.5), int(at.y+0.5)
	for j := y; j < y+int(h); j++ {
		for i := x; i < x+int(w); i++ {
			if image.Pt(i, j).In(d.img.Rect) {
				d.img.SetRGBA(i, j, over(d.img.RGBAAt(i, j), markHalo, 0.82))
			}
		}
	}
	d.texts = append(d.texts, image.Rect(x, y, x+int(w), y+int(h)))
	f.write(d.img, s, x+int(pad), y+int(pad)+f.caps, markInk)
}

func (d *painter) markerRadius() float64 { return max(4, 0.36*d.em) }

func (d *painter) bookMarker(m Marker) {
	r := d.markerRadius()
	if p := d.at(m.At); d.edges().holds(p) {
		d.place.take(frame{p.x - r, p.y - r, p.x + r, p.y + r})
	}
}

// marker draws one; markers that stand together may cover each other, texts may not
// cover them.
func (d *painter) marker(m Marker) {
	if p := d.at(m.At); d.edges().holds(p) {
		drawMarker(d.gg, p, d.markerRadius(), m.Open)
	}
}

// drawMarker draws a disc or a ring with a cross through it.
func drawMarker(g *gg.Context, p pt, r float64, open bool) {
	disc(g, markHalo, p, r+max(1, r/4))
	if open {
		w := max(1.2, r/3.2)
		ring(g, markInk, w, p, r-w/2)
		return
	}
	disc(g, markInk, p, r)
	stroke(g, markHalo, max(1, r/4), nil, []pt{{p.x - r*0.72, p.y}, {p.x + r*0.72, p.y}})
	stroke(g, markHalo, max(1, r/4), nil, []pt{{p.x, p.y - r*0.72}, {p.x, p.y + r*0.72}})
}

// magnify finds the factor by which an arrow is drawn longer, and its two ends.
func (d *painter) magnify(a Arrow) (factor int, tail, head pt) {
	tail = d.at(a.From)
	end := d.at(a.To)
	dx, dy := end.x-tail.x, end.y-tail.y
	reach := func(m int) pt { return pt{tail.x + float64(m)*dx, tail.y + float64(m)*dy} }
	if a.Magnify > 0 {
		return a.Magnify, tail, reach(a.Magnify)
	}
	factor = 1
	for _, m := range []int{2, 5, 10, 20} {
		if math.Hypot(dx, dy)*float64(factor) >= 3.2*d.em || !d.edges().grown(-d.em).holds(reach(m)) {
			break
		}
		factor = m
	}
	return factor, tail, reach(factor)
}

func (d *painter) bookArrow(a Arrow) {
	_, p, q := d.magnify(a)
	if p, q, ok := d.edges().segment(p, q); ok {
		r := 0.4 * d.em
		d.place.take(frame{min(p.x, q.x) - r, min(p.y, q.y) - r, max(p.x, q.x) + r, max(p.y, q.y) + r})
	}
}

func (d *painter) arrow(a Arrow) {
	factor, p, q := d.magnify(a)
	length := math.Hypot(q.x-p.x, q.y-p.y)
	if d.edges().holds(p) && d.edges().holds(q) && length >= 1 {
		drawArrow(d.gg, p, q, d.em, a.Open)
	} else if factor > 1 {
		factor = 1 // nothing is drawn longer, so nothing must be said
	}
	text := a.text(factor)
	pad := math.Round(0.25 * d.em)
	w, h := float64(d.bold.width(text))+2*pad, float64(d.bold.caps)+2*pad
	m := pt{(p.x + q.x) / 2, (p.y + q.y) / 2}
	if !m.finite() {
		return
	}
	gap := 0.6 * d.em
	d.plate(text, d.bold, w, h, pad, []pt{
		{m.x - w/2, min(p.y, q.y) - h - gap}, {m.x - w/2, max(p.y, q.y) + gap},
		{max(p.x, q.x) + gap, m.y - h/2}, {min(p.x, q.x) - gap - w, m.y - h/2},
	})
}

// drawArrow draws a shaft and a head that never is longer than the shaft.
// With open the shaft is broken and the head hollow.
func drawArrow(g *gg.Context, p, q pt, em float64, open bool) {
	length := math.Hypot(q.x-p.x, q.y-p.y)
	ux, uy := (q.x-p.x)/length, (q.y-p.y)/length
	headLen := min(0.95*em, 0.6*length)
	half := 0.42 * headLen
	b := pt{q.x - ux*headLen, q.y - uy*headLen}
	shaft, head := []pt{p, b}, []pt{q, {b.x - uy*half, b.y + ux*half}, {b.x + uy*half, b.y - ux*half}}
	edge, width := max(1.5, em/8), max(1.5, em/6.5)
	stroke(g, markHalo, width+2*edge, nil, shaft)
	outline(g, markHalo, 2*edge, head)
	area(g, markHalo, head)
	if open {
		stroke(g, markInk, width, []float64{0.45 * em, 0.3 * em}, shaft)
		area(g, markHalo, head)
		outline(g, markInk, 0.7*width, head)
		return
	}
	stroke(g, markInk, width, nil, shaft)
	area(g, markInk, head)
}
