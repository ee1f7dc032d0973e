package render

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

// single is a page of one panel.
type single struct {
	Page
	Panel
}

func (m single) page() Page {
	m.Panels = []*Panel{&m.Panel}
	return m.Page
}

// plainMap is a map of f on a square of nodes, without marks.
func plainMap(f func(x, y float64) float64, s Scale) single {
	m, v := latticeMesh(boxOf(0, 0, 2, 2), 41, 41, f)
	return single{Page{Title: "test"}, Panel{Quantity: "f", Mesh: m, Values: v, Scale: s}}
}

// drawn returns a map's picture and where its plot is.
func drawn(t *testing.T, m single, size image.Point) (*image.RGBA, *layout, grid.Box) {
	t.Helper()
	p := m.page()
	_, l, err := p.lay(size)
	if err != nil {
		t.Fatal(err)
	}
	return must(Draw(p, size)), l, l.box
}

// must gives a value whose error is none of a test's business.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// value is where pixel (i, j) of a plot lies in the plane.
func (l *layout) place(box grid.Box, i, j int) (x, y float64) {
	return box.Min.X + (float64(i-l.plots[0].Min.X)+0.5)*box.Width()/float64(l.plots[0].Dx()),
		box.Max.Y - (float64(j-l.plots[0].Min.Y)+0.5)*box.Height()/float64(l.plots[0].Dy())
}

// wakeLike is a field with a wake, a body-sized plateau and fine structure.
func wakeLike(x, y float64) float64 {
	r := math.Hypot(x, 1.3*(y-0.9))
	return 1.2/(1+math.Exp(9*(r-0.9))) + 0.03*math.Sin(7*x)*math.Cos(5*y)
}

func benchMap(n int, triangles bool) single {
	side := int(math.Sqrt(float64(n)))
	m, f := latticeMesh(boxOf(-3, 0, 3, 3), side, side, wakeLike)
	if triangles {
		m = halved(m, 0.4, 1)
		f = onMesh(m, wakeLike)
	}
	p, _ := Limits("1-Cpt")
	s := must(AutoScale(p, Weighted{Values: f}))
	return single{
		Page{Title: "Shuttle, bare: total-pressure loss", Subtitle: "plane x = 2.91 m", Footer: "q = 375 Pa", View: PlaneView("x")},
		Panel{Quantity: p.Label, Mesh: m, Values: f, Scale: s, Lines: true, Markers: []Marker{{At: grid.Point{X: 0.1, Y: 1}, Name: "centroid"}}},
	}
}

// Every pixel of the plot has the colour of the value there: of the field, which is
// linear and therefore known, not of anything the program computed.
func TestPixelsHaveTheColoursOfTheirValues(t *testing.T) {
	f := func(x, y float64) float64 { return x + y/3 - 0.4 }
	m := plainMap(f, must(Policy{Map: Speed()}.Between(0, 2, []float64{0.5, 1, 1.5})))
	img, l, box := drawn(t, m, image.Pt(700, 0))
	wrong := 0
	for j := l.plots[0].Min.Y; j < l.plots[0].Max.Y; j++ {
		for i := l.plots[0].Min.X; i < l.plots[0].Max.X; i++ {
			v := f(l.place(box, i, j))
			near := false
			for _, e := range []float64{-1e-6, 1e-6} { // float32 and the order of sums
				near = near || img.RGBAAt(i, j) == m.Scale.Band(v+e)
			}
			if !near {
				wrong++
			}
		}
	}
	if wrong > 0 {
		t.Errorf("%d of %d pixels have another colour", wrong, l.plots[0].Dx()*l.plots[0].Dy())
	}
	if under := img.RGBAAt(l.plots[0].Min.X, l.plots[0].Max.Y-1); under != m.Scale.Map.Under {
		t.Errorf("the lower left corner is below the scale but %v", under)
	}
}

// The colour bar shows the same colours, at the places of their values.
func TestColourBar(t *testing.T) {
	s := must(Policy{Map: Loss()}.Between(-1, 3, []float64{0, 1, 2}))
	m := plainMap(func(x, y float64) float64 { return 4*x - 3 }, s) // −3 … 5
	img, l, _ := drawn(t, m, image.Pt(700, 0))
	c := newCanvas(Light, 700, 0, 0)
	body, _, _, _ := l.bars[0].body(c)
	if !l.bars[0].under || !l.bars[0].over || body == l.bars[0].box {
		t.Fatal("the bar has no tips")
	}
	x := (body.Min.X + body.Max.X) / 2
	for y := body.Min.Y; y < body.Max.Y; y++ {
		v := s.Lo + (float64(body.Max.Y-y)-0.5)/float64(body.Dy())*(s.Hi-s.Lo)
		if got := img.RGBAAt(x, y); got != s.Band(v) && got != s.Band(v-1e-9) { // a pixel's middle may be a level
			t.Fatalf("at %g the bar is %v, want %v", v, got, s.Band(v))
		}
	}
	// Just outside the body, past the gap, lie the tips.
	if got := img.RGBAAt(x, body.Min.Y-c.tip()/2+1); got != s.Map.Over {
		t.Errorf("upper tip is %v", got)
	}
	if got := img.RGBAAt(x, body.Max.Y+c.tip()/2-2); got != s.Map.Under {
		t.Errorf("lower tip is %v", got)
	}
	m = plainMap(func(x, y float64) float64 { return x }, s)
	if _, l, _ := drawn(t, m, image.Pt(700, 0)); l.bars[0].under || l.bars[0].over {
		t.Error("nothing lies beyond the scale but the bar has tips")
	}
}

// The level line of f = x at 1 runs up the middle of the plot and nowhere else.
func TestLevelLineIsWhereTheLevelIs(t *testing.T) {
	for _, fine := range []bool{false, true} {
		m := plainMap(func(x, y float64) float64 { return x }, must(Policy{Map: Change()}.Between(0, 2, []float64{1})))
		if fine {
			// Finer than the pixels: lines then come from the sampled picture.
			m.Mesh, m.Values = latticeMesh(boxOf(0, 0, 2, 2), 601, 501, func(x, y float64) float64 { return x })
			if m.Mesh.Elements() <= maxElements {
				t.Fatal("the mesh is not fine")
			}
		}
		plain, l, box := drawn(t, m, image.Pt(700, 0))
		m.Lines = true
		lined, _, _ := drawn(t, m, image.Pt(700, 0))
		rows := map[int]bool{}
		for j := l.plots[0].Min.Y; j < l.plots[0].Max.Y; j++ {
			for i := l.plots[0].Min.X; i < l.plots[0].Max.X; i++ {
				if plain.RGBAAt(i, j) == lined.RGBAAt(i, j) {
					continue
				}
				rows[j] = true
				// The label may spread; lines are within two pixels of x = 1.
				if x, _ := l.place(box, i, j); math.Abs(x-1) > 20*box.Width()/float64(l.plots[0].Dx()) {
					t.Fatalf("fine %v: ink at x = %g", fine, x)
				}
			}
		}
		if missing := l.plots[0].Dy() - len(rows); missing > 4 {
			t.Errorf("fine %v: no ink on %d of %d rows", fine, missing, l.plots[0].Dy())
		}
	}
}

// holed is a lattice over a square of the given side, of 21 lines each way or 41, without the samples in boxes.
func holed(side float64, boxes ...grid.Box) *grid.Mesh {
	lines := 21
	if side > 1 {
		lines = 41
	}
	m, _ := latticeMesh(boxOf(0, 0, side, side), lines, lines, linear)
	l, pts := m.Lattice, m.Points
	m.Points = nil
	for k, p := range pts {
		l.Index[k] = int32(len(m.Points))
		if slices.ContainsFunc(boxes, func(b grid.Box) bool { return b.Contains(p) }) {
			l.Index[k] = -1
		} else {
			m.Points = append(m.Points, p)
		}
	}
	m.Gaps = l.Gaps()
	return m
}

// Samples that were left out have a hatch of their own, where they lie in a sliver too; a body
// beside them keeps its.
func TestLeftOut(t *testing.T) {
	body, left, sliver := boxOf(0.5, 0.5, 1.5, 1.5), boxOf(1.5, 2.5, 3.5, 3.5), boxOf(2.45, 0.5, 2.55, 1.5)
	mesh := holed(4, body, left, sliver)
	m := single{Panel: Panel{Mesh: mesh, Values: onMesh(mesh, linear), Scale: must(Policy{Map: Loss()}.Between(0, 30, nil)), Whole: []*grid.Mesh{holed(4, body)}}}
	img, l, box := drawn(t, m, image.Pt(800, 0))
	count := map[color.RGBA]map[string]int{bodyFill: {}, leftFill: {}}
	for j := l.plots[0].Min.Y; j < l.plots[0].Max.Y; j++ {
		for i := l.plots[0].Min.X; i < l.plots[0].Max.X; i++ {
			x, y := l.place(box, i, j)
			for name, b := range map[string]grid.Box{"body": body, "left": left, "sliver": sliver} {
				if n := count[img.RGBAAt(i, j)]; n != nil && b.Contains(grid.Point{X: x, Y: y}) {
					n[name]++
				}
			}
		}
	}
	if b, l := count[bodyFill], count[leftFill]; b["body"] < 1000 || l["body"] > 0 || l["left"] < 1000 || b["left"] > 0 || l["sliver"] < 50 || b["sliver"] > 0 {
		t.Errorf("pixels of the body's hatch %v, of that of samples left out %v", b, l)
	}
	names := func(seen shown) (out []string) {
		for _, e := range legendOf([]*Panel{&m.Panel}, seen) {
			out = append(out, e.text)
		}
		return out
	}
	if got := names(shown{body: true, left: true}); len(got) != 2 || len(names(shown{left: true})) != 1 {
		t.Errorf("the legend has %q", got)
	}
}

// A hole is a body, one missing sample too, with all that its samples' elements would cover; a small
// gap at the rim and what lies outside are not.
func TestBodyMask(t *testing.T) {
	hole, one, rim := boxOf(0.29, 0.29, 0.51, 0.51), boxOf(0.74, 0.74, 0.76, 0.76), boxOf(-0.01, 0.79, 0.06, 0.81)
	s := NewSampler(holed(1, hole, one, rim), boxOf(-0.5, -0.5, 1.5, 1.5), 200, 200)
	n := 0
	for k, b := range bodyMask(s) {
		if b {
			n++
		}
		if p := (grid.Point{X: s.x(k % 200), Y: s.y(k / 200)}); b && !boxOf(0.25, 0.25, 0.55, 0.55).Contains(p) && !boxOf(0.7, 0.7, 0.8, 0.8).Contains(p) {
			t.Errorf("%v is a body", p)
		}
	}
	if n != 30*30+10*10 {
		t.Errorf("%d pixels of a body, want 1000", n)
	}
}

// An arrow is as long as the shift times its factor, which the legend tells.
func TestArrow(t *testing.T) {
	d := &painter{w: 1000, h: 500, box: boxOf(0, 0, 10, 5), em: 16}
	a := Arrow{From: grid.Point{X: 5, Y: 2}, To: grid.Point{X: 4.9, Y: 2}}
	for factor, want := range map[int]float64{0: 10, 1: 10, 20: 200} {
		a.Magnify = factor
		tail, head := d.ends(a)
		if l := math.Hypot(head.x-tail.x, head.y-tail.y); math.Abs(l-want) > 1e-9 {
			t.Errorf("×%d: %g pixels long, want %g", factor, l, want)
		}
		if a.Open = factor == 20; (a.name() != "") != a.Open || a.Open && a.name() != "shift not resolved (arrow ×20)" {
			t.Errorf("×%d: the legend says %q", factor, a.name())
		}
	}
}

func TestDrawIsDeterministic(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	// So many triangles are found under the pixels in several runs.
	for name, p := range map[string]Page{"map": fullMap(3, 2).page(), "triangles": benchMap(20_000, true).page(), "sheet": fullSheet(3, 2, 1)} {
		var want []byte
		for _, procs := range []int{1, 2, 7} {
			runtime.GOMAXPROCS(procs)
			img := must(Draw(p, image.Pt(600, 0)))
			if want == nil {
				want = img.Pix
			} else if !bytes.Equal(want, img.Pix) {
				t.Errorf("%s: GOMAXPROCS %d draws another picture", name, procs)
			}
		}
	}
}

// Whatever a data file can hold is drawn or refused; nothing hangs or panics.
func TestDrawSurvives(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	far := func(x, y float64) isoline.Line {
		return isoline.Line{Points: []grid.Point{{X: 0, Y: 0}, {X: x, Y: y}, {X: 1, Y: 1}}, Closed: true}
	}
	for name, change := range map[string]func(m *single){
		"all NaN":       func(m *single) { m.Values = slices.Repeat([]float64{nan}, len(m.Values)) },
		"all infinite":  func(m *single) { m.Values = slices.Repeat([]float64{inf}, len(m.Values)) },
		"all one value": func(m *single) { m.Values = slices.Repeat([]float64{0.5}, len(m.Values)) },
		"at a level":    func(m *single) { m.Values = slices.Repeat([]float64{m.Scale.Levels[2]}, len(m.Values)) },
		"huge values":   func(m *single) { m.Values = slices.Repeat([]float64{1e308}, len(m.Values)); m.Values[7] = -1e308 },
		"outlines far": func(m *single) {
			m.Outlines = []Outline{{Lines: []isoline.Line{far(1e300, 1), far(nan, 2), far(inf, -inf), far(1e9, 1e9)}}}
		},
		"arrow far":       func(m *single) { m.Arrows = []Arrow{{To: grid.Point{X: 1e300, Y: -1e300}}} },
		"marker far":      func(m *single) { m.Markers = []Marker{{At: grid.Point{X: 1e300}}} },
		"marker NaN":      func(m *single) { m.Markers = []Marker{{At: grid.Point{X: nan}}} },
		"arrow NaN":       func(m *single) { m.Arrows = []Arrow{{To: grid.Point{Y: nan}}} },
		"box NaN":         func(m *single) { m.Boxes[0].Box.Min.X = nan },
		"ellipse huge":    func(m *single) { m.Outlines = []Outline{Ellipse(grid.Point{}, [2]float64{1e300, 1e-300}, 1e9, "")} },
		"ellipse NaN":     func(m *single) { m.Outlines = []Outline{Ellipse(grid.Point{X: nan}, [2]float64{1, nan}, 0, "")} },
		"ellipse nothing": func(m *single) { m.Outlines = []Outline{Ellipse(grid.Point{}, [2]float64{}, 0, "")} },
		"box infinite":    func(m *single) { m.Boxes = []NamedBox{{Name: "all", Box: boxOf(-inf, -inf, inf, inf)}} },
		"box flat":        func(m *single) { m.Boxes = []NamedBox{{Name: "line", Box: boxOf(0, 0.2, 0.3, 0.2)}} },
		"box elsewhere":   func(m *single) { m.Boxes = []NamedBox{{Name: "away", Box: boxOf(90, 90, 91, 91)}} },
		"many names": func(m *single) {
			m.Boxes = nil
			for range 80 {
				m.Boxes = append(m.Boxes, NamedBox{Name: "the same place", Box: boxOf(0, 0, 0.5, 0.5)})
			}
		},
		"no texts":  func(m *single) { m.Title, m.Subtitle, m.Footer, m.Quantity = "", "", "", "" },
		"view off":  func(m *single) { m.View.Box = boxOf(50, 50, 60, 60) },
		"view tiny": func(m *single) { m.View.Box = boxOf(0.1, 0.4, 0.1+1e-9, 0.4+1e-9) },
		"view huge": func(m *single) { m.View.Box = boxOf(-1e6, -1e6, 1e6, 1e6) },
		"view thin": func(m *single) { m.View.Box = boxOf(0, 0, 2, 1e-5) },
		"triangles": func(m *single) {
			tm, _ := latticeMesh(boxOf(0, 0, 2, 2), 9, 9, linear)
			m.Mesh = halved(tm, 0.3, 1)
			m.Values = onMesh(m.Mesh, linear)
		},
		"cells": func(m *single) {
			m.Mesh = &grid.Mesh{Kind: m.Mesh.Kind, Support: grid.Cells, Points: m.Mesh.Points, Lattice: m.Mesh.Lattice}
		},
	} {
		m := fullMap(2, 2)
		change(&m)
		for _, size := range []image.Point{{480, 0}, {640, 480}} {
			img, err := Draw(m.page(), size)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			} else if img.Rect.Dx() != size.X || size.Y > 0 && img.Rect.Dy() != size.Y {
				t.Errorf("%s: the picture is %v, want %v", name, img.Rect, size)
			}
		}
	}
	for _, scale := range []float64{1e-6, 1e6} {
		tm, f := latticeMesh(boxOf(0, 0, 2*scale, scale), 21, 21, func(x, y float64) float64 { return x / scale })
		m := single{Page{Title: "window", View: PlaneView("y")}, Panel{Mesh: tm, Values: f, Scale: must(Policy{Map: Loss()}.Between(0, 2, nil)), Lines: true}}
		must(Draw(m.page(), image.Pt(600, 0)))
	}
}

func TestRefusesWhatCannotBeDrawn(t *testing.T) {
	for name, c := range map[string]struct {
		change func(m *single)
		says   string
	}{
		"no mesh":        {func(m *single) { m.Mesh = nil }, "without samples"},
		"values":         {func(m *single) { m.Values = m.Values[1:] }, "one value a sample"},
		"no scale":       {func(m *single) { m.Scale = Scale{} }, "choose a colour map"},
		"view":           {func(m *single) { m.View.Box = boxOf(1, 1, 1, 2) }, "width and height"},
		"too many words": {func(m *single) { m.Title = strings.Repeat("word ", 4000) }, "make the picture larger"},
	} {
		m := fullMap(2, 2)
		c.change(&m)
		if _, err := Draw(m.page(), image.Pt(640, 480)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
	for _, size := range []image.Point{{0, 0}, {100, 100}, {640, 10}, {640, -1}, {1 << 20, 0}} {
		if _, err := Draw(fullMap(2, 2).page(), size); err == nil {
			t.Errorf("size %v: no error", size)
		}
		if _, err := Draw(fullSheet(2, 2, 1), size); err == nil {
			t.Errorf("sheet of size %v: no error", size)
		}
	}
	s := fullSheet(2, 2, 2)
	other := *s.Panels[4]
	other.Scale = must(Policy{Map: Loss()}.Between(0, 1, nil))
	s.Panels[4] = &other
	if _, err := Draw(s, image.Pt(800, 0)); err == nil || !strings.Contains(err.Error(), "row 2, column 2") {
		t.Errorf("two scales on one bar: error %v", err)
	}
	s.Panels = s.Panels[:4]
	for _, s := range []Page{s, {}} {
		if _, err := Draw(s, image.Pt(800, 0)); err == nil {
			t.Errorf("%d panels in %d columns: no error", len(s.Panels), s.Columns)
		}
	}
}

// The ground line is drawn at 0 inside a window that reaches below it, and a window
// that begins just above it is extended down to it.
func TestGround(t *testing.T) {
	f := func(x, y float64) float64 { return 0.5 }
	mesh, v := latticeMesh(boxOf(0, -1, 2, 1), 11, 11, f)
	m := single{Page{View: View{Ground: true}}, Panel{Mesh: mesh, Values: v, Scale: must(Policy{Map: Loss()}.Between(0, 1, nil))}}
	img, l, box := drawn(t, m, image.Pt(600, 0))
	field := m.Scale.Band(0.5)
	x := l.plots[0].Min.X + l.plots[0].Dx()/3
	for j := l.plots[0].Min.Y; j < l.plots[0].Max.Y; j++ {
		_, y := l.place(box, x, j)
		if got := img.RGBAAt(x, j); (y > 0) != (got == field) {
			t.Fatalf("at height %g the picture is %v", y, got)
		}
	}
	if c := img.RGBAAt(x, l.plots[0].Min.Y+l.plots[0].Dy()/2); c != Light.Ink {
		t.Errorf("no ground line at 0 but %v", c)
	}
	if l.strip != 0 {
		t.Error("ground inside and below the plot")
	}
	mesh, v = latticeMesh(boxOf(0, 0.1, 2, 2), 11, 11, f)
	m.Mesh, m.Values = mesh, v
	if _, l, box := drawn(t, m, image.Pt(600, 0)); box.Min.Y != 0 || l.strip == 0 {
		t.Errorf("window from %g: strip of %d", box.Min.Y, l.strip)
	}
	mesh, v = latticeMesh(boxOf(0, 1, 2, 2), 11, 11, f)
	m.Mesh, m.Values = mesh, v
	if _, l, box := drawn(t, m, image.Pt(600, 0)); box.Min.Y != 1 || l.strip != 0 {
		t.Errorf("window high above the ground: from %g, strip of %d", box.Min.Y, l.strip)
	}
}

// plain is a map of one value everywhere, 1, without lines.
func plain() single {
	m, f := latticeMesh(boxOf(0, 0, 4, 2), 41, 21, func(x, y float64) float64 { return 1 })
	return single{Page{Title: "t", View: View{X: "x, m", Y: "y, m"}}, Panel{Mesh: m, Values: f, Scale: must(Policy{Map: Change()}.Between(-4, 4, []float64{-2, -0.5, 0.5, 2}))}}
}

// TestVectorsPointAndKeepLength: a uniform field along +X draws every arrow level,
// as long as its part of Full, and none where the field is not known.
func TestVectorsPointAndKeepLength(t *testing.T) {
	m := plain()
	x, y := make([]float64, len(m.Values)), make([]float64, len(m.Values))
	for i := range x {
		x[i] = 0.25
		if m.Mesh.Points[i].X > 2 {
			x[i] = math.NaN()
		}
	}
	const em = 20
	bare := image.NewRGBA(image.Rect(0, 0, 800, 400))
	paintPanel(&m.Panel, m.View, boxOf(0, 0, 4, 2), bare, newCanvas(Light, 96*em, 0, 0))
	m.Vectors = &Vectors{X: x, Y: y, Full: 0.5, Name: "cross-flow"}
	img := image.NewRGBA(image.Rect(0, 0, 800, 400))
	paintPanel(&m.Panel, m.View, boxOf(0, 0, 4, 2), img, newCanvas(Light, 96*em, 0, 0))
	// Rows of ink on the left: each arrow's shaft is one run of dark pixels, of
	// length 0.25/0.5 · 2 em = 20 pixels.
	runs := map[int]int{}
	for j := range 400 {
		run := 0
		for i := range 800 {
			if img.RGBAAt(i, j) != bare.RGBAAt(i, j) && i > 402 {
				t.Fatalf("pixel (%d, %d) is inked where there is no vector", i, j)
			}
			if c := img.RGBAAt(i, j); int(c.R)+int(c.G)+int(c.B) < 200 {
				run++
				continue
			}
			if run > 8 {
				runs[run]++
			}
			run = 0
		}
	}
	shafts := 0
	for n, count := range runs {
		if n < 17 || n > 22 {
			t.Errorf("%d runs of %d dark pixels: 20 are expected", count, n)
		}
		shafts += count
	}
	// 800 × 400 pixels at a pitch of 44: 18 × 9 places, half of them known; a shaft
	// may fill two rows.
	if shafts < 60 || shafts > 170 {
		t.Errorf("%d shafts", shafts)
	}
	m.Vectors.Full = 0
	if _, err := Draw(m.page(), image.Pt(800, 400)); err == nil {
		t.Error("vectors without a full length are drawn")
	}
	m.Vectors.Full, m.Vectors.X = 1, x[1:]
	if _, err := Draw(m.page(), image.Pt(800, 400)); err == nil {
		t.Error("vectors of another number are drawn")
	}
}

// TestDeadBandIsNeutral: a change of 1 is neutral where its doubt is larger, and
// coloured where the doubt is smaller or not known.
func TestDeadBandIsNeutral(t *testing.T) {
	m := plain()
	m.Doubt = make([]float64, len(m.Values))
	for i, p := range m.Mesh.Points {
		switch {
		case p.X < 1.3:
			m.Doubt[i] = 1.5
		case p.X > 2.7:
			m.Doubt[i] = math.NaN()
		default:
			m.Doubt[i] = 0.5
		}
	}
	img := image.NewRGBA(image.Rect(0, 0, 400, 200))
	paintPanel(&m.Panel, m.View, boxOf(0, 0, 4, 2), img, newCanvas(Light, 1600, 0, 0))
	neutral := m.Scale.Band(0)
	if r, g, b := neutral.R, neutral.G, neutral.B; max(r, g, b)-min(r, g, b) > 6 || Lightness(neutral) < 90 {
		t.Errorf("the colour of no change is %v, a pale grey is expected", neutral)
	}
	for x, want := range map[int]float64{50: 0, 200: 1, 350: 1} {
		if got := img.RGBAAt(x, 100); got != m.Scale.Band(want) {
			t.Errorf("at %d the colour is %v, that of %g is %v", x, got, want, m.Scale.Band(want))
		}
	}
	m.Doubt = m.Doubt[1:]
	if _, err := Draw(m.page(), image.Pt(800, 400)); err == nil {
		t.Error("doubts of another number are taken")
	}
}
