package render

import (
	"fmt"
	"image"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
)

// fullMap is a map that has one of everything, over a window of the given shape.
func fullMap(w, h float64) single {
	m, f := latticeMesh(boxOf(-w/2, 0, w/2, h), 41, 31, func(x, y float64) float64 {
		return 1.4 * math.Exp(-8*(x*x/w/w+(y-h/3)*(y-h/3)/h/h))
	})
	for j := 12; j < 18; j++ {
		for i := 18; i < 24; i++ {
			m.Lattice.Index[j*41+i] = -1
		}
	}
	// The lattice drops those nodes altogether.
	var pts []grid.Point
	var vals []float64
	for k, i := range m.Lattice.Index {
		if i >= 0 {
			m.Lattice.Index[k] = int32(len(pts))
			pts, vals = append(pts, m.Points[i]), append(vals, f[i])
		}
	}
	m.Points, m.Gaps, f = pts, m.Lattice.Gaps(), vals
	f[0], f[1], f[45] = -3, 7, math.NaN()
	s := must(Policy{Map: Loss()}.Between(-0.2, 1.2, []float64{0, 0.2, 0.4, 0.6, 0.8, 1}))
	at := func(x, y float64) grid.Point { return grid.Point{X: x * w, Y: y * h} }
	return single{
		Page{
			Title: "Campus shuttle, bare", Subtitle: "total-pressure loss in the plane x = 2.91 m, time mean",
			Footer: "U = 25 m/s, ρ = 1.20 kg/m³, p∞ = 0 Pa; momentum integral, anchor none", View: PlaneView("x"),
		},
		Panel{
			Quantity: "total-pressure loss 1 − Cpt", Mesh: m, Values: f, Scale: s, Lines: true,
			Boxes:    []NamedBox{{Name: "right wheel", Box: grid.Box{Min: at(0.1, 0), Max: at(0.4, 0.5)}}},
			Markers:  []Marker{{At: at(0.1, 0.3), Name: "centroid", Open: true}},
			Outlines: []Outline{Ellipse(at(0.1, 0.3), [2]float64{w / 10, h / 8}, 20, "spread")},
			Arrows:   []Arrow{{From: at(0.1, 0.3), To: at(0.098, 0.3), Text: "3 mm inboard"}},
		},
	}
}

// checkTexts reports texts that leave the page, touch each other, or touch what
// must stay free of them.
func checkTexts(t *testing.T, name string, page image.Rectangle, said, solid []image.Rectangle) {
	t.Helper()
	if len(said) < 10 {
		t.Errorf("%s: only %d texts", name, len(said))
	}
	for i, a := range said {
		if !a.In(page) {
			t.Errorf("%s: text at %v leaves the page %v", name, a, page)
		}
		for _, b := range said[:i] {
			if a.Overlaps(b) {
				t.Errorf("%s: texts at %v and %v overlap", name, a, b)
			}
		}
		for _, b := range solid {
			if a.Overlaps(b) {
				t.Errorf("%s: text at %v covers %v", name, a, b)
			}
		}
	}
	for i, b := range solid {
		if !b.In(page) {
			t.Errorf("%s: plot or bar %v leaves the page %v", name, b, page)
		}
		for _, d := range solid[:i] {
			if b.Overlaps(d) {
				t.Errorf("%s: %v covers %v", name, b, d)
			}
		}
	}
}

type shape struct{ w, h float64 }

var shapes = []shape{{1, 3}, {2, 3}, {1, 1}, {6, 3}, {9, 3}, {0.3, 0.1}, {1000, 400}, {30, 1}}

// fullSheet has rows of baseline, variant and change, fullTable the baseline once, with the
// variants beside it and their changes below these.
func fullSheet(w, h float64, rows int) Page {
	m := fullMap(w, h)
	m.Title, m.Subtitle, m.Footer, m.Columns = "Campus shuttle: fairing and flare against bare", "plane x = 2.91 m", "q = 375 Pa; variant minus baseline", 3
	s := must(Policy{Map: Change()}.Between(-0.5, 0.5, nil))
	for k := range rows {
		base, variant, diff := m.Panel, m.Panel, m.Panel
		diff.Scale, diff.Quantity = s, "change of total-pressure loss 1 − Cpt"
		base.Heading, variant.Heading, diff.Heading = "bare", fmt.Sprintf("variant %d", k+1), fmt.Sprintf("variant %d − bare", k+1)
		m.Panels = append(m.Panels, &base, &variant, &diff)
	}
	return m.Page
}

func fullTable(w, h float64, variants int) Page {
	s := fullSheet(w, h, variants)
	above, below := []*Panel{s.Panels[0]}, []*Panel{nil}
	for k := range variants {
		above, below = append(above, s.Panels[3*k+1]), append(below, s.Panels[3*k+2])
	}
	s.Panels, s.Columns = append(above, below...), variants+1
	return s
}

// TestTextsKeepApart lays out maps and sheets on pages from 800 to 4000 pixels wide and of
// aspect 3:1 to 1:3, for the screen and with texts for print: no text touches another or leaves
// the page, and none on the map hides a mark or leaves the map.
func TestTextsKeepApart(t *testing.T) {
	check := func(name string, p Page, size image.Point, paint bool) {
		c, l, err := p.lay(size)
		if err != nil {
			if p.Text == 0 {
				t.Errorf("%s: %v", name, err)
			}
			return
		}
		c.begin(l.size, l.surround)
		var solid []image.Rectangle
		for _, b := range l.bars {
			solid = append(solid, b.box)
		}
		for k, q := range p.Panels {
			if q == nil {
				continue
			}
			plot := l.plots[k]
			if paint {
				paintPanel(q, p.View, l.box, c.part(plot), c)
				texts, room := c.onMap[len(c.onMap)-1], image.Rectangle{Max: plot.Size()}
				for i, a := range texts {
					if !a.In(room) {
						t.Errorf("%s: text at %v leaves the map %v", name, a, room)
					}
					for _, b := range texts[:i] {
						if a.Overlaps(b) {
							t.Errorf("%s: texts on the map at %v and %v overlap", name, a, b)
						}
					}
				}
				if len(p.Panels) == 1 && len(texts) < 2 && plot.Dx() > 20*c.em && plot.Dy() > 10*c.em {
					t.Errorf("%s: %d texts on the map", name, len(texts))
				}
			}
			plot.Max.Y += l.strip
			solid = append(solid, plot)
		}
		p.around(c, l, shown{body: true, missing: l.missing})
		checkTexts(t, name, c.img.Rect, c.said, solid)
		plot := l.plots[0]
		// Labels that are longer than the plot is high stay below the title's lines,
		// beside a short one too.
		for _, r := range c.said {
			if below := l.top(c) - c.em; l.bars[0].upright && r.Min.X >= l.bars[0].labelX && r.Max.Y > plot.Min.Y && r.Min.Y < below {
				t.Errorf("%s: the bar's label at %v reaches into the title above %d", name, r, below)
			}
		}
		// A very thin plane is widened to two ems, see place. Whole pixels change the ratio
		// by up to half a pixel in the shorter side.
		short, got, want := min(plot.Dx(), plot.Dy()), float64(plot.Dy())/float64(plot.Dx()), l.box.Height()/l.box.Width()
		if short > 2*c.em && math.Abs(got/want-1) > 1/float64(short) {
			t.Errorf("%s: plot %v has the ratio %g, the data %g", name, plot, got, want)
		}
	}
	for _, sh := range shapes {
		for _, size := range []image.Point{{800, 0}, {800, 450}, {1600, 0}, {1600, 900}, {4000, 0}, {4000, 2250}} {
			// Large pages cost time and have room: the small one is the hard case.
			if size.X == 4000 && sh.w != 9 {
				continue
			}
			name := fmt.Sprintf("%v, data %g × %g", size, sh.w, sh.h)
			m := fullMap(sh.w, sh.h)
			check(name, m.page(), size, false)
			for rows := 1; rows < 4 && size.Y == 0 && size.X < 2000 && (size.X == 800 || rows == 1 || sh.w >= sh.h); rows += 2 {
				check(fmt.Sprintf("%s, %d rows", name, rows), fullSheet(sh.w, sh.h, rows), size, false)
				check(fmt.Sprintf("%s, %d variants", name, rows+1), fullTable(sh.w, sh.h, (rows+3)/2), size, false)
			}
			m.Title = strings.Repeat("a long title that has to be wrapped ", 5)
			m.Subtitle = strings.Repeat("Anunbrokenword", 20)
			m.Quantity = "a quantity whose label is rather long, kg/m³"
			m.Footer = strings.Repeat("the state of the stream and the method; ", 8)
			if size != image.Pt(800, 450) && size.X < 2000 { // refused, see TestRefusesWhatCannotBeDrawn
				check(name+", wordy", m.page(), size, false)
			}
		}
	}
	for _, size := range []image.Point{{800, 2400}, {800, 800}, {900, 300}, {1600, 4800}, {1600, 900}, {2400, 800}, {4000, 1334}, {4000, 2250}} {
		for _, sh := range []shape{{1, 3}, {6, 3}, {3, 1}} {
			for _, text := range []float64{0, 29} {
				if size.X >= 4000 && sh.w != 6 || text > 0 && size.X < 1600 {
					continue // large pages cost time; text of 7 points at 300 dpi needs a page of 130 mm
				}
				name := fmt.Sprintf("%v, data %g × %g, text %g", size, sh.w, sh.h, text)
				m, sheet := fullMap(sh.w, sh.h), fullSheet(sh.w, sh.h, 1)
				m.Text, sheet.Text = text, text
				m.Vectors = &Vectors{X: make([]float64, len(m.Values)), Y: make([]float64, len(m.Values)), Full: 1, Name: "cross-flow, 1 U"}
				check(name, m.page(), size, true)
				if size.Y >= size.X/2 { // a row of three panels needs half as much height
					check(name+", sheet", sheet, size, true)
				}
			}
		}
	}
}
