package report

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"testing"

	"wakeledger/wake/uncertainty"
)

// unpack reads a raster as the page's script does: RFC 1951, then low and high
// bytes, signs folded (2n and −2n−1), differences from left + below − both.
func unpack(t *testing.T, s string, nx int) []int16 {
	t.Helper()
	b, err := base64.StdEncoding.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	b, err = io.ReadAll(flate.NewReader(bytes.NewReader(b)))
	if err != nil {
		t.Fatal(err)
	}
	n := len(b) / 2
	out := make([]int16, n)
	at := func(i, j int) int {
		if i < 0 || j < 0 {
			return 0
		}
		return int(out[j*nx+i])
	}
	for k := range out {
		z := int(b[k]) + 256*int(b[n+k])
		d := z / 2
		if z%2 == 1 {
			d = -z/2 - 1
		}
		i, j := k%nx, k/nx
		out[k] = int16(at(i-1, j) + at(i, j-1) - at(i-1, j-1) + d)
	}
	return out
}

// TestRasterKeepsValues: to half a step, and what cannot be kept says so.
func TestRasterKeepsValues(t *testing.T) {
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	f := []float32{0, 1, -1, 0.12345, 5, -5, nan, 3.2765, 3.2766, 1e30, inf, -3.2765, -3.2766, -inf, nan, nan, 0.00004, -0.00006, 2, 2.00011}
	const step = 1e-4
	for _, nx := range []int{1, 4, 5, 20} {
		for k, c := range unpack(t, encodeRaster(f, nx, step), nx) {
			v := float64(f[k])
			switch c {
			case codeNone:
				if v == v {
					t.Errorf("%d columns: %g is lost", nx, v)
				}
			case codeOver, codeUnder:
				if !(math.Abs(v) > 3.2765+step/4) || (v > 0) != (c == codeOver) {
					t.Errorf("%d columns: %g is kept as %d", nx, v, c)
				}
			default:
				if !(math.Abs(v-step*float64(c)) <= step/2*(1+1e-3)) {
					t.Errorf("%d columns: %g is kept as %g", nx, v, step*float64(c))
				}
			}
		}
	}
}

// TestViewStep: the largest 1-2-5 step of which 4000 fit, by hand.
func TestViewStep(t *testing.T) {
	for _, tt := range []struct{ span, want float64 }{{1.6, 0.0002}, {2, 0.0005}, {1.9999, 0.0002}, {4, 0.001}, {8, 0.002}, {60, 0.01}, {0.02, 5e-6}} {
		got := viewStep(ViewScale{Levels: []float64{-tt.span / 4, 0, 0.75 * tt.span}})
		if math.Abs(got/tt.want-1) > 1e-9 {
			t.Errorf("span %g: step %g, want %g", tt.span, got, tt.want)
		}
	}
}

// TestViewerHoldsTheSamples: what the page carries is what was handed over.
func TestViewerHoldsTheSamples(t *testing.T) {
	page := samplePage(t)
	var d struct {
		Configurations []string
		Baseline       int
		Quantities     []struct {
			Step     float64
			Decimals int
		}
		Stations []struct {
			Surveys []struct {
				Outlines [][][2]float64
				Vectors  struct{ V []int }
				Words    string
			}
		}
	}
	m := regexp.MustCompile(`<script type="application/json" id="viewer-data">(.*?)</script>`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("no data")
	}
	if err := json.Unmarshal([]byte(m[1]), &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Stations) != 2 || len(d.Quantities) != 2 || d.Configurations[d.Baseline] != "bare" || d.Quantities[0].Decimals != 4 || d.Quantities[0].Step != 0.0005 {
		t.Errorf("index %+v", d)
	}
	if got := fmt.Sprint(d.Stations[0].Surveys[1].Outlines[0]); got != "[[-1 0] [0 1.0004] [1 0]]" {
		t.Errorf("outline %s", got)
	}
	if got := fmt.Sprint(d.Stations[0].Surveys[1].Vectors.V); got != "[100 32767]" {
		t.Errorf("vectors %s", got)
	}
	if w := d.Stations[1].Surveys[1].Words; w != "drag area 2.205 ± 0.033 m², change −0.087 ± 0.027 m² (resolved)" {
		t.Errorf("words %q", w)
	}
	for s := range 2 {
		for q := range 2 {
			for c := range 3 {
				r := regexp.MustCompile(fmt.Sprintf(`id="r-%d-%d-%d">([^<]*)<`, s, q, c)).FindStringSubmatch(page)
				if r == nil {
					t.Fatalf("no samples %d %d %d", s, q, c)
				}
				for k, code := range unpack(t, r[1], 9) {
					if s == 0 && k == 22 {
						if code != codeNone {
							t.Errorf("the hole has a sample")
						}
					} else if want := float64(sampleValue(s, q, c, k)); !(math.Abs(0.0005*float64(code)-want) <= 0.00026) {
						t.Errorf("sample %d: %g, want %g", k, 0.0005*float64(code), want)
					}
				}
			}
		}
	}
}

// TestViewClear: the veil leaves the regions free whose drag or move is resolved; there is none where nothing is judged.
func TestViewClear(t *testing.T) {
	o := sampleOutcome()
	st := &o.Stations[0]
	v := &st.Comparison.Variants[0]
	r := &v.Regions[0]
	check := func(what, want string) {
		t.Helper()
		got := "none"
		if c := viewClear(st, st.Variants[0]); c != nil {
			got = fmt.Sprint(c)
		}
		if got != want {
			t.Errorf("%s: %s, want %s", what, got, want)
		}
	}
	box := v.Survey.Regions[0].Box
	free := fmt.Sprint([]viewBox{{r.Name, box.Y, box.Z}})
	r.Delta.Verdict, r.Shift.Verdict = uncertainty.NotResolved, uncertainty.Resolved
	check("a resolved move", free)
	r.Delta.Verdict, r.Shift.Verdict = uncertainty.Resolved, uncertainty.NotJudged
	check("a resolved drag", free)
	r.Delta.Verdict = uncertainty.NotResolved
	check("nothing resolved", "[]")
	r.Delta, r.Shift = nil, nil
	check("nothing judged", "none")
	if c := viewClear(st, o.Baseline); c != nil {
		t.Errorf("the baseline has %v", c)
	}
}

// TestViewShifts: the page says of a shift what the ledger says, outboard where the
// move inboard is negative, and nothing of the baseline.
func TestViewShifts(t *testing.T) {
	o := sampleOutcome()
	st := &o.Stations[0]
	c := st.Comparison
	v := &c.Variants[0]
	in, e := *v.Regions[0].Shift.Inboard, v.Regions[0].Shift.Expanded
	for _, sign := range []float64{1, -1} {
		move := sign * math.Abs(in)
		s := *v.Regions[0].Shift
		s.Inboard = &move
		v.Regions[0].Shift = &s
		got := viewShifts(st, st.Variants[0])
		if len(got) == 0 {
			t.Fatal("no shift")
		}
		want := fmt.Sprintf("%.1f ± %.1f mm %s", 1000*math.Abs(in), 1000*e, map[float64]string{1: "inboard", -1: "outboard"}[sign])
		if got[0].Text != want || got[0].From != *c.Baseline.Regions[0].Centroid || got[0].To != *v.Survey.Regions[0].Centroid {
			t.Errorf("%+v, want %q", got[0], want)
		}
	}
	if got := viewShifts(st, o.Baseline); got != nil {
		t.Errorf("the baseline moves: %v", got)
	}
}

// TestPageStaysSmall: 3 configurations at 6 stations with 4 quantities of 100 000
// samples, the most that the page takes of a field, with a scatter of 1 % of the
// scale, stay below 12 MB.
func TestPageStaysSmall(t *testing.T) {
	const nx, ny = 400, 250
	r := rand.New(rand.NewPCG(9, 9))
	f := make([]float32, nx*ny)
	for k := range f {
		x, y := float64(k%nx)/nx-0.5, float64(k/nx)/ny-0.3
		f[k] = float32(1 - 0.8*math.Exp(-12*(x*x+y*y)) + 0.01*r.NormFloat64())
	}
	s := encodeRaster(f, nx, viewStep(ViewScale{Levels: []float64{-0.4, 1.2}}))
	if all := 3 * 6 * 4 * len(s); all > 12e6 {
		t.Errorf("one raster has %d bytes, all of them %.1f MB", len(s), float64(all)/1e6)
	}
}
