package render

import (
	"flag"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// golden compares a picture with testdata/NAME.png, decoded. Single pixels may
// differ a little, since the compiler may fuse operations on other processors: up
// to 24 of 255 on at most one pixel in 500. On failure the picture is written to a
// folder that is named.
func golden(t *testing.T, name string, p Page, size image.Point) {
	t.Helper()
	img := must(Draw(p, size))
	file := filepath.Join("testdata", name+".png")
	if *update {
		w := must(os.Create(file))
		defer w.Close()
		// EncodePNG may move the colours of soft edges; the golden picture has all.
		if err := png.Encode(w, img); err != nil {
			t.Fatal(err)
		}
		return
	}
	r, err := os.Open(file)
	if err != nil {
		t.Fatalf("%v (run the test with -update after a look at what it writes)", err)
	}
	defer r.Close()
	want := must(png.Decode(r))
	if want.Bounds() != img.Bounds() {
		t.Fatalf("%s: the picture is %v, the golden one %v", name, img.Bounds(), want.Bounds())
	}
	off, worst := 0, 0
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			a, b := img.RGBAAt(x, y), color.RGBAModel.Convert(want.At(x, y)).(color.RGBA)
			d := max(gap(a.R, b.R), gap(a.G, b.G), gap(a.B, b.B))
			worst = max(worst, d)
			if d > 2 {
				off++
			}
		}
	}
	if worst <= 24 && off*500 <= img.Rect.Dx()*img.Rect.Dy() {
		return
	}
	dir := must(os.MkdirTemp("", "golden"))
	w := must(os.Create(filepath.Join(dir, name+".png")))
	defer w.Close()
	if err := EncodePNG(w, img, nil, 0); err != nil {
		t.Error(err)
	}
	t.Errorf("%s: %d pixels differ, by up to %d of 255: see %s", name, off, worst, dir)
}

func gap(a, b uint8) int {
	if a > b {
		return int(a - b)
	}
	return int(b - a)
}

// section is an invented plane behind a wheel: a body that is cut, a wake beside
// it that moves with shift and has the given strength.
func section(shift, strength float64) (*grid.Mesh, []float64) {
	full, f := latticeMesh(boxOf(0.2, 0.02, 2, 1.5), 73, 60, func(x, y float64) float64 {
		dx, dy := (x-1.05-shift)/0.28, (y-0.35)/0.3
		return strength*gauss2(dx, dy) + 0.9*gauss2((x-0.7)/0.12, (y-1.1)/0.5)
	})
	m := &grid.Mesh{Kind: grid.KindLattice, Lattice: &grid.Lattice{X: full.Lattice.X, Y: full.Lattice.Y}}
	var v []float64
	for k, p := range full.Points {
		if p.X < 0.66 && p.Y > 0.25 {
			m.Lattice.Index = append(m.Lattice.Index, -1)
			continue
		}
		m.Lattice.Index = append(m.Lattice.Index, int32(len(v)))
		m.Points, v = append(m.Points, p), append(v, f[k])
	}
	m.Gaps = m.Lattice.Gaps()
	return m, v
}

// gauss2 is a rational bump: the same bits on every processor, other than exp.
func gauss2(x, y float64) float64 {
	d := 1 + (x*x+y*y)/2
	return 1 / (d * d)
}

func sectionPanel(t *testing.T, shift, strength float64) Panel {
	m, v := section(shift, strength)
	s := limitsOf(t, "1-Cpt", Weighted{Values: []float64{0, 1.5}})
	return Panel{Mesh: m, Values: v, Scale: s, Lines: true, Boxes: []NamedBox{{Name: "right front wheel", Box: boxOf(0.66, 0, 1.8, 1)}}}
}

func TestGoldenMap(t *testing.T) {
	p := sectionPanel(t, 0, 1.4)
	p.Values[len(p.Values)-40] = -9
	p.Markers = []Marker{{At: grid.Point{X: 1.05, Y: 0.4}, Name: "centroid of the wake"}}
	p.Outlines = []Outline{Ellipse(grid.Point{X: 1.05, Y: 0.4}, [2]float64{0.2, 0.25}, 30, "spread, one standard deviation")}
	p.Quantity = "1 − Cpt"
	golden(t, "map", Page{
		Title: "Campus shuttle, bare: total-pressure loss", Subtitle: "invented plane x = 0.58 m", Footer: "q = 375 Pa; anchor none",
		View: PlaneView("x"), Panels: []*Panel{&p},
	}, image.Pt(720, 0))
}

func TestGoldenDark(t *testing.T) {
	m, v := latticeMesh(boxOf(-1, 0, 1, 1), 41, 21, func(x, y float64) float64 {
		return 30 * (gauss2((x-0.4)/0.2, (y-0.4)/0.2) - gauss2((x+0.4)/0.2, (y-0.4)/0.2))
	})
	tri := halved(m, 0, 0)
	v[430] = math.NaN()
	s := limitsOf(t, "vorticity", Weighted{Values: []float64{-25, 25}})
	golden(t, "dark", Page{
		Title: "Campus shuttle, flare: streamwise vorticity", View: PlaneView("x"), Theme: Dark,
		Panels: []*Panel{{Quantity: "streamwise vorticity, 1/s", Mesh: tri, Values: v, Scale: s, Lines: true}},
	}, image.Pt(720, 420))
}

func TestGoldenSheet(t *testing.T) {
	sheet := Page{
		Title: "Campus shuttle: fairing and flare against bare", Subtitle: "invented plane x = 0.58 m", Footer: "outline: 1 − Cpt = 0.2; differences are variant minus bare",
		View: PlaneView("x"), Columns: 3,
	}
	centroid := func(shift float64) grid.Point { return grid.Point{X: 1.05 + shift, Y: 0.4} }
	base := sectionPanel(t, 0, 1.4)
	base.Heading, base.Quantity = "bare", "1 − Cpt"
	from := Marker{At: centroid(0), Name: "centroid, baseline", Open: true}
	base.Markers = []Marker{from}
	for _, v := range []struct {
		name, word      string
		shift, strength float64
	}{{"fairing", "24 mm inboard", -0.024, 1.3}, {"flare", "45 mm outboard", 0.045, 1.5}} {
		variant := sectionPanel(t, v.shift, v.strength)
		variant.Heading, variant.Quantity = v.name, base.Quantity
		diff := variant
		diff.Heading, diff.Quantity = v.name+" − bare", "change of 1 − Cpt"
		diff.Values = make([]float64, len(base.Values))
		for i := range diff.Values {
			diff.Values[i] = variant.Values[i] - base.Values[i]
		}
		diff.Scale = must(Policy{Map: Change()}.Between(-0.2, 0.2, []float64{-0.15, -0.1, -0.05, 0.05, 0.1, 0.15}))
		variant.Outlines = []Outline{{Lines: isoline.Lines(base.Mesh, base.Values, 0.2), Name: "wake outline of the baseline", Style: Baseline}}
		variant.Markers = []Marker{from, {At: centroid(v.shift), Name: "centroid, variant"}}
		variant.Arrows = []Arrow{{From: centroid(0), To: centroid(v.shift), Text: v.word, Magnify: 5}}
		sheet.Panels = append(sheet.Panels, &base, &variant, &diff)
	}
	golden(t, "sheet", sheet, image.Pt(1100, 0))
}
