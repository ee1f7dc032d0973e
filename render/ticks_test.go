package render

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func texts(ts []Tick) string {
	var s []string
	for _, t := range ts {
		s = append(s, t.Text)
	}
	return strings.Join(s, " ")
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		most   int
		want   string
	}{
		{0, 1, 6, "0.0 0.2 0.4 0.6 0.8 1.0"},
		{0, 1, 5, "0.0 0.5 1.0"},
		{0, 1, 11, "0.0 0.1 0.2 0.3 0.4 0.5 0.6 0.7 0.8 0.9 1.0"},
		{-3, 3, 7, "−3 −2 −1 0 1 2 3"},
		{-0.3, 0.3, 3, "−0.2 0.0 0.2"},
		{0.66, 1.8, 4, "1.0 1.5"},
		{0, 6e6, 4, "0 2000000 4000000 6000000"},
		{0, 3e9, 4, "0 1e9 2e9 3e9"},
		{0, 3e-9, 4, "0 1e−9 2e−9 3e−9"},
		{0, 1.5e-8, 4, "0 5e−9 1e−8 1.5e−8"},
		{1e6, 1e6 + 2, 5, "1000000.0 1000000.5 1000001.0 1000001.5 1000002.0"},
		{0.1, 0.19, 1, "0.1"},
		{-0.04, -0.01, 4, "−0.04 −0.03 −0.02 −0.01"},
		{1, 1, 5, ""}, {2, 1, 5, ""}, {0, 1, 0, ""}, {math.NaN(), 1, 5, ""}, {0, math.Inf(1), 5, ""},
		{-math.MaxFloat64, math.MaxFloat64, 5, ""}, {1, 1 + 1e-14, 5, ""},
	} {
		if d := cmp.Diff(c.want, texts(Ticks(c.lo, c.hi, c.most))); d != "" {
			t.Errorf("Ticks(%g, %g, %d): %s", c.lo, c.hi, c.most, d)
		}
	}
}

// Ticks lie in the limits, at equal distances of 1, 2 or 5 times a power of ten;
// there are no more than asked for and, from four on, not absurdly few; and the
// texts are the numbers.
func TestTicksLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e3, 1e3).Draw(t, "lo")
		width := math.Pow(10, rapid.Float64Range(-4, 6).Draw(t, "log width"))
		most := rapid.IntRange(1, 20).Draw(t, "most")
		hi := lo + width
		// The limits are rounded to their own digits, and so are the ticks.
		tol := 1e-9*width + 0x1p-50*max(math.Abs(lo), math.Abs(hi))
		ts := Ticks(lo, hi, most)
		if len(ts) > most {
			t.Fatalf("%d ticks", len(ts))
		}
		// The step grows by 2.5 at most, so at least most/2.5 − 2 remain.
		if float64(len(ts)) < float64(most)/2.5-2 {
			t.Fatalf("%d ticks of %d", len(ts), most)
		}
		for i, k := range ts {
			if !(k.At >= lo-tol && k.At <= hi+tol) {
				t.Fatalf("tick at %g", k.At)
			}
			v, err := strconv.ParseFloat(strings.ReplaceAll(k.Text, minus, "-"), 64)
			if err != nil || v != k.At {
				t.Fatalf("text %q for %v", k.Text, k.At)
			}
			if i > 1 && math.Abs((k.At-ts[i-1].At)-(ts[1].At-ts[0].At)) > tol {
				t.Fatalf("uneven ticks %v", ts)
			}
		}
		if len(ts) > 1 {
			step := ts[1].At - ts[0].At
			m := step / math.Pow(10, math.Floor(math.Log10(step*(1+1e-6))))
			if r := math.Round(m); math.Abs(m-r) > 1e-4 || r != 1 && r != 2 && r != 5 {
				t.Fatalf("step %g", step)
			}
		}
	})
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{0, 3, "0"}, {math.Copysign(0, -1), 3, "0"}, {-1.5, 3, "−1.5"}, {0.25, 3, "0.25"}, {1.0 / 3, 3, "0.333"}, {100, 3, "100"},
		{1200, 2, "1200"}, {1.5e-7, 3, "1.5e−7"}, {2e9, 3, "2e9"},
	} {
		if got := number(c.v, c.digits); got != c.want {
			t.Errorf("number(%g, %d) = %q, want %q", c.v, c.digits, got, c.want)
		}
	}
}

func TestLength(t *testing.T) {
	for v, want := range map[float64]string{0: "0 mm", 0.0243: "24 mm", -0.045: "−45 mm", 0.9994: "999 mm", 0.9996: "1.00 m", 1.234: "1.23 m"} {
		if got := Length(v); got != want {
			t.Errorf("Length(%g) = %q, want %q", v, got, want)
		}
	}
}
