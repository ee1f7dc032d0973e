package render

import (
	"image"
	"math"
	"testing"
)

// plain is a map of one value everywhere, 1, without lines.
func plain(t *testing.T) single {
	t.Helper()
	m, f := latticeMesh(boxOf(0, 0, 4, 2), 41, 21, func(x, y float64) float64 { return 1 })
	return single{Page{Title: "t", View: View{X: "x, m", Y: "y, m"}}, Panel{Mesh: m, Values: f, Scale: mustScale(t, -4, 4, []float64{-2, -0.5, 0.5, 2}, Change())}}
}

// TestVectorsPointAndKeepLength: a uniform field along +X draws every arrow level,
// as long as its part of Full, and none where the field is not known.
func TestVectorsPointAndKeepLength(t *testing.T) {
	m := plain(t)
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
	m := plain(t)
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
