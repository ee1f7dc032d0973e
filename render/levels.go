package render

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

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
	row := func(j int) int { return 2 * (ny - 1 - j) }
	l := &grid.Lattice{Index: make([]int32, nx*ny)}
	l.X = grid.Fill(nx, func(i int) float64 { return s.x(2 * i) })
	l.Y = grid.Fill(ny, func(j int) float64 { return s.y(row(j)) })
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
	return grid.Fill(len(l.Points), func(i int) pt { return d.at(l.Points[i]) })
}

func (d *painter) strokes(lines []isoline.Line, k ink) {
	for _, l := range lines {
		d.stroke(d.pixels(l), l.Closed, k)
	}
}

func (d *painter) drawLevels(s Scale, levels []levelLines) {
	for _, lv := range levels {
		// Dark lines on light colours and the other way round.
		k := ink{c: markInk, alpha: 0.5, width: max(1, d.em/15)}
		if Lightness(s.Color(s.Levels[lv.k])) < 48 {
			k.c, k.alpha = markHalo, 0.6
		}
		d.strokes(lv.lines, k)
	}
}

// labelLevels writes values beside the longest lines of each level, where the
// line is straight and there is room.
func (d *painter) labelLevels(s Scale, levels []levelLines) {
	pad := 0.25 * d.em
	for _, lv := range levels {
		text := s.text(lv.k)
		w, h := float64(d.small.width(text)), float64(d.small.caps)
	line:
		for _, l := range longest(lv.lines, 4) {
			for _, part := range d.edges().clip(d.pixels(l.Line), l.Closed) {
				length := pathLength(part)
				if length < 7*w || length < 9*d.em {
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
					break line
				}
			}
		}
	}
}

type long struct {
	isoline.Line
	length float64
}

// longest returns the n longest lines, the longest first.
func longest(lines []isoline.Line, n int) []long {
	all := make([]long, len(lines))
	for k, l := range lines {
		all[k] = long{l, l.Length()}
	}
	slices.SortStableFunc(all, func(a, b long) int { return cmp.Compare(b.length, a.length) })
	return all[:min(n, len(all))]
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
	var out []pt
	bend := map[pt]float64{}
	for k := range n {
		s := total * (float64(k) + 0.5) / float64(n)
		if s < w || s > total-w {
			continue
		}
		p, a, b := at(s), at(s-w), at(s+w)
		out, bend[p] = append(out, p), math.Round((1-math.Hypot(b.x-a.x, b.y-a.y)/(2*w))*1e9)
	}
	slices.SortStableFunc(out, func(a, b pt) int { return cmp.Compare(bend[a], bend[b]) })
	return out
}
