package render

import (
	"bytes"
	"image"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

// plainMap is a map of f on a square of nodes, without marks.
func plainMap(f func(x, y float64) float64, s Scale) Map {
	m, v := latticeMesh(boxOf(0, 0, 2, 2), 41, 41, f)
	return Map{Title: "test", Quantity: Quantity{Label: "f"}, Panel: Panel{Mesh: m, Values: v, Scale: s}}
}

func mustScale(t *testing.T, lo, hi float64, levels []float64, m *ColorMap) Scale {
	t.Helper()
	s, err := NewScale(lo, hi, levels, m)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// drawn returns a map's picture and where its plot is.
func drawn(t *testing.T, m Map, size image.Point) (*image.RGBA, *layout, grid.Box) {
	t.Helper()
	img, err := Draw(m, size)
	if err != nil {
		t.Fatal(err)
	}
	l, p, _ := laid(t, m.page(), size)
	return img, l, p.box
}

// laid lays a page out.
func laid(t *testing.T, p *page, size image.Point) (*layout, *page, *canvas) {
	t.Helper()
	c, err := p.canvas(size)
	if err != nil {
		t.Fatal(err)
	}
	l, err := p.lay(c, size)
	if err != nil {
		t.Fatal(err)
	}
	return l, p, c
}

// value is where pixel (i, j) of a plot lies in the plane.
func (l *layout) place(box grid.Box, i, j int) (x, y float64) {
	return box.Min.X + (float64(i-l.plots[0].Min.X)+0.5)*box.Width()/float64(l.plots[0].Dx()),
		box.Max.Y - (float64(j-l.plots[0].Min.Y)+0.5)*box.Height()/float64(l.plots[0].Dy())
}

// Every pixel of the plot has the colour of the value there: of the field, which is
// linear and therefore known, not of anything the program computed.
func TestPixelsHaveTheColoursOfTheirValues(t *testing.T) {
	f := func(x, y float64) float64 { return x + y/3 - 0.4 }
	m := plainMap(f, mustScale(t, 0, 2, []float64{0.5, 1, 1.5}, Speed()))
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
	s := mustScale(t, -1, 3, []float64{0, 1, 2}, Loss())
	m := plainMap(func(x, y float64) float64 { return 4*x - 3 }, s) // −3 … 5
	img, l, _ := drawn(t, m, image.Pt(700, 0))
	body := l.bars[0].body(newCanvas(Light, 700, 0, 0))
	if !l.bars[0].under || !l.bars[0].over || body == l.bars[0].box {
		t.Fatal("the bar has no tips")
	}
	x := (body.Min.X + body.Max.X) / 2
	for y := body.Min.Y; y < body.Max.Y; y++ {
		v := s.Lo + (float64(body.Max.Y-y)-0.5)/float64(body.Dy())*(s.Hi-s.Lo)
		if got, want := img.RGBAAt(x, y), s.Band(v); got != want {
			t.Fatalf("at %g the bar is %v, want %v", v, got, want)
		}
	}
	// Just outside the body, past the gap, lie the tips.
	c := newCanvas(Light, 700, 0, 0)
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
		m := plainMap(func(x, y float64) float64 { return x }, mustScale(t, 0, 2, []float64{1}, Change()))
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

func TestHoleIsHatched(t *testing.T) {
	m := fullMap(2, 2)
	m.Boxes, m.Markers, m.Ellipses, m.Arrows, m.Lines = nil, nil, nil, nil, false
	count := func(m Map) (body, paper int) {
		img, l, box := drawn(t, m, image.Pt(800, 0))
		for j := l.plots[0].Min.Y; j < l.plots[0].Max.Y; j++ {
			for i := l.plots[0].Min.X; i < l.plots[0].Max.X; i++ {
				x, y := l.place(box, i, j)
				// The nodes left out take the elements beside them along: x from −0.15 to
				// 0.2, y from 11/15 to 18/15.
				inside := x > -0.15 && x < 0.2 && y > 11.0/15 && y < 18.0/15
				grey := false
				switch c := img.RGBAAt(i, j); {
				case c == Light.Paper:
					paper++
				case c == bodyEdge || c == bodyFill || c.R >= bodyLine.R && c.R <= bodyFill.R && int(c.R)-int(c.B) < 7 && int(c.R) > int(c.B):
					grey = true
				}
				if inside && grey {
					body++
				}
				if inside && !grey && m.View.Body {
					t.Fatalf("(%g, %g) lies in the hole but is %v", x, y, img.RGBAAt(i, j))
				}
			}
		}
		return body, paper
	}
	if body, _ := count(m); body < 1000 {
		t.Errorf("%d pixels are hatched", body)
	}
	m.View.Body = false
	if body, paper := count(m); body > 0 || paper < 1000 {
		t.Errorf("without hatching %d pixels are hatched, %d are paper", body, paper)
	}
}

// Slivers of an open rim are no body; neither is what lies outside the hull.
func TestBodyMask(t *testing.T) {
	m, _ := latticeMesh(boxOf(0, 0, 1, 1), 21, 21, linear)
	s, err := NewSampler(m, boxOf(-0.5, -0.5, 1.5, 1.5), 200, 200)
	if err != nil {
		t.Fatal(err)
	}
	for k, b := range bodyMask(s) {
		if b {
			t.Fatalf("pixel %d of a full square is a body", k)
		}
	}
	mask := make([]bool, 30*30)
	for i := range 30 {
		for j := range 3 {
			mask[j*30+i] = true // 3 high: a sliver
		}
	}
	for j := 10; j < 15; j++ {
		for i := 10; i < 15; i++ {
			mask[j*30+i] = true // 5 × 5: stays
		}
	}
	mask[15*30+14] = true // and what is joined to it
	dropSlivers(mask, 30, 30)
	n := 0
	for _, b := range mask {
		if b {
			n++
		}
	}
	if n != 26 || !mask[15*30+14] || mask[0] {
		t.Errorf("%d pixels are left, want 26", n)
	}
}

func TestConvexHull(t *testing.T) {
	got := convexHull([]grid.Point{{X: 1, Y: 1}, {}, {X: 2}, {X: 2, Y: 2}, {Y: 2}, {X: 1}, {}})
	area := 0.0
	for k := 1; k+1 < len(got); k++ {
		area += grid.TriangleArea(got[0], got[k], got[k+1])
	}
	if len(got) != 4 || area != 4 {
		t.Errorf("hull %v with area %g, want the square of 2", got, area)
	}
	if x0, x1, ok := chord(got, 0.5); !ok || x0 != 0 || x1 != 2 {
		t.Errorf("chord from %g to %g, %v", x0, x1, ok)
	}
	if _, _, ok := chord(got, 2.5); ok {
		t.Error("chord outside")
	}
}

func TestArrowText(t *testing.T) {
	p := func(x, y float64) grid.Point { return grid.Point{X: x, Y: y} }
	for _, c := range []struct {
		a      Arrow
		factor int
		want   string
	}{
		{Arrow{From: p(1, 0.4), To: p(0.976, 0.4), Label: "inboard"}, 1, "24 mm inboard"},
		{Arrow{From: p(1, 0.4), To: p(0.976, 0.4), Label: "inboard"}, 10, "24 mm inboard (arrow ×10)"},
		{Arrow{From: p(0, 0), To: p(0.03, 0.04)}, 1, "50 mm"},
		{Arrow{From: p(0, 0), To: p(3, 4)}, 1, "5.00 m"},
		{Arrow{From: p(0, 0), To: p(0, 0), Label: "inboard"}, 1, "0 mm inboard"},
	} {
		if got := c.a.text(c.factor); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A small shift is drawn longer by a factor, as far as the picture reaches; a given
// factor stands.
func TestMagnify(t *testing.T) {
	d := &painter{w: 1000, h: 500, box: boxOf(0, 0, 10, 5), em: 16}
	p := func(x, y float64) grid.Point { return grid.Point{X: x, Y: y} }
	for _, c := range []struct {
		a    Arrow
		want int
	}{
		{Arrow{From: p(5, 2), To: p(4, 2)}, 1},       // 100 pixels
		{Arrow{From: p(5, 2), To: p(4.8, 2)}, 5},     // 20: 2 × gives 40 < 51.2
		{Arrow{From: p(5, 2), To: p(4.976, 2)}, 20},  // 2.4, as far as it goes
		{Arrow{From: p(0.3, 2), To: p(0.276, 2)}, 5}, // at the edge
		{Arrow{From: p(5, 2), To: p(5, 2)}, 20},      // nothing to draw
		{Arrow{From: p(5, 2), To: p(4, 2), Magnify: 3}, 3},
	} {
		got, tail, head := d.magnify(c.a)
		if got != c.want {
			t.Errorf("%v: ×%d, want ×%d", c.a, got, c.want)
		}
		want := float64(c.want) * math.Hypot(c.a.To.X-c.a.From.X, c.a.To.Y-c.a.From.Y) * 100
		if l := math.Hypot(head.x-tail.x, head.y-tail.y); math.Abs(l-want) > 1e-9 {
			t.Errorf("%v: %g pixels long, want %g", c.a, l, want)
		}
	}
}

func TestDrawIsDeterministic(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var want, wantSheet []byte
	for _, procs := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(procs)
		img, err := Draw(fullMap(3, 2), image.Pt(600, 0))
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := DrawSheet(fullSheet(3, 2, 1), image.Pt(600, 0))
		if err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want, wantSheet = img.Pix, sheet.Pix
		} else if !bytes.Equal(want, img.Pix) || !bytes.Equal(wantSheet, sheet.Pix) {
			t.Errorf("GOMAXPROCS %d draws another picture", procs)
		}
	}
}

// A panel that another sheet has painted is taken from there only where all of it looks
// the same: what the second sheet of a pair shows does not depend on the first.
func TestPaintedPanels(t *testing.T) {
	moved := func(s *Sheet, panel func(r *Row) *Panel) {
		p := panel(&s.Rows[0])
		p.Markers = append(slices.Clone(p.Markers), Marker{At: grid.Point{X: 1, Y: 0.5}, Name: "moved"})
	}
	for name, change := range map[string]func(s *Sheet){
		"the same": func(s *Sheet) {},
		"baseline": func(s *Sheet) { moved(s, func(r *Row) *Panel { return &r.Baseline }) },
		"change":   func(s *Sheet) { moved(s, func(r *Row) *Panel { return &r.Difference }) },
		"view":     func(s *Sheet) { s.View.Box = boxOf(0.1, 0, 2, 1) },
		"theme":    func(s *Sheet) { s.Theme = Dark },
	} {
		first := fullSheet(3, 2, 2)
		second := first
		second.Rows = slices.Clone(first.Rows)
		change(&second)
		want, err := DrawSheet(second, image.Pt(600, 0))
		if err != nil {
			t.Fatal(err)
		}
		shared := &Painted{}
		first.Painted, second.Painted = shared, shared
		if _, err := DrawSheet(first, image.Pt(600, 0)); err != nil {
			t.Fatal(err)
		}
		held := len(shared.held)
		got, err := DrawSheet(second, image.Pt(600, 0))
		if err != nil || !bytes.Equal(got.Pix, want.Pix) {
			t.Errorf("%s: the sheet depends on the one before it: %v", name, err)
		}
		if again := len(shared.held) - held; (again == 0) != (name == "the same") {
			t.Errorf("%s: %d of %d panels are painted anew", name, again, held)
		}
	}
}

// Whatever a data file can hold is drawn or refused; nothing hangs or panics.
func TestDrawSurvives(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	far := func(x, y float64) isoline.Line {
		return isoline.Line{Points: []grid.Point{{X: 0, Y: 0}, {X: x, Y: y}, {X: 1, Y: 1}}, Closed: true}
	}
	for name, change := range map[string]func(m *Map){
		"all NaN":       func(m *Map) { fill(m, nan) },
		"all infinite":  func(m *Map) { fill(m, inf) },
		"all one value": func(m *Map) { fill(m, 0.5) },
		"at a level":    func(m *Map) { fill(m, m.Scale.Levels[2]) },
		"huge values":   func(m *Map) { fill(m, 1e308); m.Values[7] = -1e308 },
		"outlines far": func(m *Map) {
			m.Outlines = []Outline{{Lines: []isoline.Line{far(1e300, 1), far(nan, 2), far(inf, -inf), far(1e9, 1e9)}}}
		},
		"arrow far":       func(m *Map) { m.Arrows = []Arrow{{To: grid.Point{X: 1e300, Y: -1e300}}} },
		"marker far":      func(m *Map) { m.Markers = []Marker{{At: grid.Point{X: 1e300}}} },
		"ellipse huge":    func(m *Map) { m.Ellipses = []Ellipse{{Semi: [2]float64{1e300, 1e-300}, Tilt: 1e9}} },
		"ellipse nothing": func(m *Map) { m.Ellipses = []Ellipse{{}} },
		"box infinite":    func(m *Map) { m.Boxes = []NamedBox{{Name: "all", Box: boxOf(-inf, -inf, inf, inf)}} },
		"box flat":        func(m *Map) { m.Boxes = []NamedBox{{Name: "line", Box: boxOf(0, 0.2, 0.3, 0.2)}} },
		"box elsewhere":   func(m *Map) { m.Boxes = []NamedBox{{Name: "away", Box: boxOf(90, 90, 91, 91)}} },
		"many names": func(m *Map) {
			m.Boxes = nil
			for range 80 {
				m.Boxes = append(m.Boxes, NamedBox{Name: "the same place", Box: boxOf(0, 0, 0.5, 0.5)})
			}
		},
		"no texts":  func(m *Map) { m.Title, m.Subtitle, m.Footer, m.Quantity = "", "", "", Quantity{} },
		"view off":  func(m *Map) { m.View.Box = boxOf(50, 50, 60, 60) },
		"view tiny": func(m *Map) { m.View.Box = boxOf(0.1, 0.4, 0.1+1e-9, 0.4+1e-9) },
		"view huge": func(m *Map) { m.View.Box = boxOf(-1e6, -1e6, 1e6, 1e6) },
		"view thin": func(m *Map) { m.View.Box = boxOf(0, 0, 2, 1e-5) },
		"triangles": func(m *Map) {
			tm, _ := latticeMesh(boxOf(0, 0, 2, 2), 9, 9, linear)
			m.Mesh = halved(tm, 0.3, 1)
			m.Values = onMesh(m.Mesh, linear)
		},
		"cells": func(m *Map) {
			m.Mesh = &grid.Mesh{Kind: m.Mesh.Kind, Support: grid.Cells, Points: m.Mesh.Points, Lattice: m.Mesh.Lattice}
		},
	} {
		m := fullMap(2, 2)
		change(&m)
		for _, size := range []image.Point{{480, 0}, {640, 480}} {
			img, err := Draw(m, size)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			} else if img.Rect.Dx() != size.X || size.Y > 0 && img.Rect.Dy() != size.Y {
				t.Errorf("%s: the picture is %v, want %v", name, img.Rect, size)
			}
		}
	}
	for _, scale := range []float64{1e-6, 1e6} {
		tm, f := latticeMesh(boxOf(0, 0, 2*scale, scale), 21, 21, func(x, y float64) float64 { return x / scale })
		m := Map{Title: "window", View: PlaneView("y"), Panel: Panel{Mesh: tm, Values: f, Scale: mustScale(t, 0, 2, nil, Loss()), Lines: true}}
		if _, err := Draw(m, image.Pt(600, 0)); err != nil {
			t.Errorf("window of %g m: %v", scale, err)
		}
	}
}

func fill(m *Map, v float64) {
	for i := range m.Values {
		m.Values[i] = v
	}
}

func TestRefusesWhatCannotBeDrawn(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		change func(m *Map)
		says   string
	}{
		"no mesh":        {func(m *Map) { m.Mesh = nil }, "without samples"},
		"values":         {func(m *Map) { m.Values = m.Values[1:] }, "one value a sample"},
		"no scale":       {func(m *Map) { m.Scale = Scale{} }, "choose a colour map"},
		"scale":          {func(m *Map) { m.Scale.Hi = nan }, "finite limits"},
		"levels":         {func(m *Map) { m.Scale.Levels = []float64{0, 1} }, "begin and end"},
		"marker":         {func(m *Map) { m.Markers[0].At.X = nan }, `marker "centroid" at (NaN`},
		"ellipse":        {func(m *Map) { m.Ellipses[0].Semi[1] = nan }, `ellipse "spread"`},
		"arrow":          {func(m *Map) { m.Arrows[0].To.Y = nan }, `arrow "inboard"`},
		"magnify":        {func(m *Map) { m.Arrows[0].Magnify = -2 }, "factor"},
		"box":            {func(m *Map) { m.Boxes[0].Box.Min.X = nan }, `region "right wheel"`},
		"view":           {func(m *Map) { m.View.Box = boxOf(1, 1, 1, 2) }, "width and height"},
		"too many words": {func(m *Map) { m.Title = strings.Repeat("word ", 4000) }, "make the picture larger"},
	} {
		m := fullMap(2, 2)
		c.change(&m)
		if _, err := Draw(m, image.Pt(640, 480)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
	for _, size := range []image.Point{{0, 0}, {100, 100}, {640, 10}, {640, -1}, {1 << 20, 0}} {
		if _, err := Draw(fullMap(2, 2), size); err == nil {
			t.Errorf("size %v: no error", size)
		}
		if _, err := DrawSheet(fullSheet(2, 2, 1), size); err == nil {
			t.Errorf("sheet of size %v: no error", size)
		}
	}
	s := fullSheet(2, 2, 2)
	s.Rows[1].Variant.Scale = mustScale(t, 0, 1, nil, Loss())
	if _, err := DrawSheet(s, image.Pt(800, 0)); err == nil || !strings.Contains(err.Error(), "row 2, column 2") {
		t.Errorf("two scales on one bar: error %v", err)
	}
	if _, err := DrawSheet(Sheet{}, image.Pt(800, 0)); err == nil {
		t.Error("sheet without rows: no error")
	}
}

func TestCompareMarksTheChange(t *testing.T) {
	r := fullSheet(2, 2, 1).Rows[0]
	before := len(r.Baseline.Markers)
	from, to := grid.Point{X: 1, Y: 0.4}, grid.Point{X: 0.976, Y: 0.4}
	r.Compare([]isoline.Line{{Points: []grid.Point{{}, {X: 1}}}}, &Arrow{From: from, To: to, Label: "inboard"}, false)
	v := r.Variant
	if len(v.Outlines) != 1 || !v.Outlines[0].Dashed || len(r.Baseline.Outlines) != 0 {
		t.Errorf("outlines %v", v.Outlines)
	}
	if a := v.Arrows[len(v.Arrows)-1]; a.From != from || a.To != to || a.text(1) != "24 mm inboard" {
		t.Errorf("arrow %v", a)
	}
	if len(r.Baseline.Markers) != before+1 || len(v.Markers) != before+2 || len(r.Difference.Arrows) != 1 {
		t.Errorf("markers %d and %d", len(r.Baseline.Markers), len(v.Markers))
	}
}

// The ground line is drawn at 0 inside a window that reaches below it, and a window
// that begins just above it is extended down to it.
func TestGround(t *testing.T) {
	f := func(x, y float64) float64 { return 0.5 }
	mesh, v := latticeMesh(boxOf(0, -1, 2, 1), 11, 11, f)
	m := Map{View: View{Ground: true}, Panel: Panel{Mesh: mesh, Values: v, Scale: mustScale(t, 0, 1, nil, Loss())}}
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

func TestThemesDiffer(t *testing.T) {
	m := plainMap(func(x, y float64) float64 { return x }, mustScale(t, 0, 2, nil, Loss()))
	for _, th := range []Theme{Light, Dark} {
		m.Theme = th
		img, _, _ := drawn(t, m, image.Pt(600, 0))
		if got := img.RGBAAt(0, 0); got != th.Paper {
			t.Errorf("corner %v, want %v", got, th.Paper)
		}
		if d := math.Abs(Lightness(th.Ink) - Lightness(th.Paper)); d < 70 {
			t.Errorf("ink and paper differ by %g in lightness", d)
		}
		if d := math.Abs(Lightness(th.Faint) - Lightness(th.Paper)); d < 45 {
			t.Errorf("faint ink and paper differ by %g in lightness", d)
		}
	}
}
