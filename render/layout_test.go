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
func fullMap(w, h float64) Map {
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
	m.Points, f = pts, vals
	f[0], f[1], f[45] = -3, 7, math.NaN()
	s, err := NewScale(-0.2, 1.2, []float64{0, 0.2, 0.4, 0.6, 0.8, 1}, Loss())
	if err != nil {
		panic(err)
	}
	at := func(x, y float64) grid.Point { return grid.Point{X: x * w, Y: y * h} }
	return Map{
		Title:    "Campus shuttle, bare",
		Subtitle: "total-pressure loss in the plane x = 2.91 m, time mean",
		Footer:   "U = 25 m/s, ρ = 1.20 kg/m³, p∞ = 0 Pa; momentum integral, anchor none",
		Quantity: Quantity{Label: "total-pressure loss 1 − Cpt"}, View: PlaneView("x"),
		Panel: Panel{
			Mesh: m, Values: f, Scale: s, Lines: true,
			Boxes:    []NamedBox{{Name: "right wheel", Box: grid.Box{Min: at(0.1, 0), Max: at(0.4, 0.5)}}},
			Markers:  []Marker{{At: at(0.1, 0.3), Name: "centroid", Open: true}},
			Ellipses: []Ellipse{{Centre: at(0.1, 0.3), Semi: [2]float64{w / 10, h / 8}, Tilt: 20, Name: "spread"}},
			Arrows:   []Arrow{{From: at(0.1, 0.3), To: at(0.098, 0.3), Label: "inboard"}},
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

func TestMapTextsKeepApart(t *testing.T) {
	for _, width := range []int{800, 1600, 4000} {
		for _, sh := range shapes {
			for _, wordy := range []bool{false, true} {
				for _, height := range []int{0, width * 9 / 16} {
					// Large pages cost time and have room: the small one is the hard case.
					if width == 1600 && wordy && height == 0 || width == 4000 && (wordy || sh.w != 9) {
						continue
					}
					m := fullMap(sh.w, sh.h)
					if wordy {
						m.Title = strings.Repeat("a long title that has to be wrapped ", 5)
						m.Subtitle = strings.Repeat("Anunbrokenword", 20)
						m.Quantity = Quantity{Label: "a quantity whose label is rather long", Unit: "kg/m³"}
						m.Footer = strings.Repeat("the state of the stream and the method; ", 8)
						if height != 0 && width == 800 {
							continue // refused, see TestRefusesWhatCannotBeDrawn
						}
					}
					name := fmt.Sprintf("%d × %d, data %g × %g, wordy %v", width, height, sh.w, sh.h, wordy)
					l, p, c := laid(t, m.page(), image.Pt(width, height))
					box, plot := p.box, l.plots[0]
					c.paper(l.size.X, l.size.Y)
					p.around(c, l, true)
					solid := plot
					solid.Max.Y += l.strip
					checkTexts(t, name, c.img.Rect, c.said, []image.Rectangle{solid, l.bars[0].box})
					// Labels that are longer than the plot is high stay below the title's lines,
					// beside a short one too.
					for _, r := range c.said {
						if below := c.margin() + heightOf(l.head); r.Min.X >= l.bars[0].labelX && r.Max.Y > plot.Min.Y && r.Min.Y < below {
							t.Errorf("%s: the bar's label at %v reaches into the title above %d", name, r, below)
						}
					}
					got := float64(plot.Dy()) / float64(plot.Dx())
					// A very thin plane is widened to two ems, see lay.
					if min(plot.Dx(), plot.Dy()) <= 2*c.em {
						continue
					}
					// Whole pixels change the ratio by up to half a pixel in the shorter side.
					if tol := 1.0 / float64(min(plot.Dx(), plot.Dy())); math.Abs(got/(box.Height()/box.Width())-1) > tol {
						t.Errorf("%s: plot %v has the ratio %g, the data %g", name, plot, got, box.Height()/box.Width())
					}
				}
			}
		}
	}
}

func fullSheet(w, h float64, rows int) Sheet {
	base := fullMap(w, h).Panel
	diff := base
	s, err := NewScale(-0.5, 0.5, nil, Change())
	if err != nil {
		panic(err)
	}
	diff.Scale = s
	out := Sheet{
		Title: "Campus shuttle: fairing and flare against bare", Subtitle: "plane x = 2.91 m", Footer: "q = 375 Pa; variant minus baseline",
		Quantity: Quantity{Label: "total-pressure loss 1 − Cpt"}, Difference: Quantity{Label: "change of total-pressure loss 1 − Cpt"}, View: PlaneView("x"),
	}
	for k := range rows {
		r := Row{Baseline: base, Variant: base, Difference: diff}
		r.Baseline.Heading, r.Variant.Heading, r.Difference.Heading = "bare", fmt.Sprintf("variant %d", k+1), fmt.Sprintf("variant %d − bare", k+1)
		out.Rows = append(out.Rows, r)
	}
	return out
}

func TestSheetTextsKeepApart(t *testing.T) {
	for _, width := range []int{800, 1800} {
		for _, sh := range shapes {
			for _, rows := range []int{1, 3} {
				if width == 1800 && rows == 3 && sh.w < sh.h {
					continue // a page of 20 million pixels
				}
				s := fullSheet(sh.w, sh.h, rows)
				name := fmt.Sprintf("%d, data %g × %g, %d rows", width, sh.w, sh.h, rows)
				l, p, c := laid(t, s.page(), image.Pt(width, 0))
				c.paper(l.size.X, l.size.Y)
				p.around(c, l, true)
				solid := []image.Rectangle{l.bars[0].box, l.bars[1].box}
				for _, p := range l.plots {
					p.Max.Y += l.strip
					solid = append(solid, p)
				}
				checkTexts(t, name, c.img.Rect, c.said, solid)
			}
		}
	}
}

// TestPagesOfAllShapes draws whole maps and sheets on pages from 800 to 4000 pixels
// wide and of aspect 3:1 to 1:3, for the screen and with texts for print: no text
// touches another or leaves the page, and none on the map hides a mark or leaves
// the map.
func TestPagesOfAllShapes(t *testing.T) {
	onMap := func(name string, plot image.Rectangle, texts []image.Rectangle) int {
		for i, a := range texts {
			if !a.In(image.Rect(0, 0, plot.Dx(), plot.Dy())) {
				t.Errorf("%s: text at %v leaves the map of %d × %d", name, a, plot.Dx(), plot.Dy())
			}
			for _, b := range texts[:i] {
				if a.Overlaps(b) {
					t.Errorf("%s: texts on the map at %v and %v overlap", name, a, b)
				}
			}
		}
		return len(texts)
	}
	for _, size := range []image.Point{{800, 2400}, {800, 800}, {900, 300}, {1600, 4800}, {1600, 900}, {2400, 800}, {4000, 1334}, {4000, 2250}} {
		for _, sh := range []shape{{1, 3}, {6, 3}, {3, 1}} {
			for _, text := range []float64{0, 29} {
				if size.X >= 4000 && sh.w != 6 || text > 0 && size.X < 1600 {
					continue // large pages cost time; text of 7 points at 300 dpi needs a page of 130 mm
				}
				name := fmt.Sprintf("%v, data %g × %g, text %g", size, sh.w, sh.h, text)
				m := fullMap(sh.w, sh.h)
				m.Text = text
				m.Vectors = &Vectors{X: make([]float64, len(m.Values)), Y: make([]float64, len(m.Values)), Full: 1, Name: "cross-flow, 1 U"}
				sheet := fullSheet(sh.w, sh.h, 1)
				sheet.Text = text
				for kind, p := range map[string]*page{"map": m.page(), "sheet": sheet.page()} {
					name := name + ", " + kind
					if kind == "sheet" && size.Y < size.X/2 {
						continue // a row of three panels needs half as much height
					}
					c, err := p.canvas(size)
					if err != nil {
						t.Fatal(err)
					}
					l, err := p.lay(c, size)
					if err != nil {
						if text == 0 {
							t.Errorf("%s: %v", name, err)
						}
						continue
					}
					c.paper(l.size.X, l.size.Y)
					var solid []image.Rectangle
					for _, b := range l.bars {
						solid = append(solid, b.box)
					}
					for k, q := range p.panels {
						plot := l.plots[k]
						if _, err := paintPanel(q, p.View, p.box, c.part(plot), c); err != nil {
							t.Fatal(err)
						}
						if n := onMap(name, plot, c.onMap[k]); kind == "map" && n < 2 && plot.Dx() > 20*c.em && plot.Dy() > 10*c.em {
							t.Errorf("%s: %d texts on the map", name, n)
						}
						plot.Max.Y += l.strip
						solid = append(solid, plot)
					}
					p.around(c, l, true)
					checkTexts(t, name, c.img.Rect, c.said, solid)
				}
			}
		}
	}
}
