package survey

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"wakeledger/wake"
)

// parseOne sends one field through the block parser.
func parseOne(t *testing.T, text string) (float64, error) {
	t.Helper()
	d := &dialect{sep: ',', dec: '.', fields: 2}
	p := &layout{name: "one", d: d, slot: []int8{0, -1}, quantity: []wake.Quantity{wake.U}}
	dst := [][]float64{make([]float64, 2)}
	_, err := p.parseBlock([]byte(text+",\n"), 1, dst)
	return dst[0][0], err
}

// decimal makes a random decimal number of up to 21 digits.
func decimal(r *rand.Rand) string {
	var b strings.Builder
	if r.IntN(2) == 0 {
		b.WriteByte("-+"[r.IntN(2)])
	}
	digits := 1 + r.IntN(21)
	point := r.IntN(digits + 1)
	for i := range digits {
		if i == point {
			b.WriteByte('.')
		}
		b.WriteByte(byte('0' + r.IntN(10)))
	}
	switch r.IntN(4) {
	case 0:
		fmt.Fprintf(&b, "e%+03d", r.IntN(60)-30)
	case 1:
		fmt.Fprintf(&b, "E%d", r.IntN(640)-330)
	}
	return b.String()
}

// The number path against strconv.ParseFloat, which is correctly rounded.
func TestNumbersEqualStrconv(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, seed))
	for range 200000 {
		s := decimal(r)
		want, rangeErr := strconv.ParseFloat(s, 64)
		got, err := parseOne(t, s)
		if rangeErr != nil {
			if err == nil {
				t.Fatalf("seed %d: %s read as %g, out of range", seed, s, got)
			}
			continue
		}
		if err != nil || math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("seed %d: %s read as %v (%v), want %v", seed, s, got, err, want)
		}
	}
}

func TestNumberForms(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64 // NaN for missing
		err  error
	}{
		{"1.0D+03", 1000, nil}, {"-1.5d-2", -0.015, nil}, {"1.0-103", 1e-103, nil}, {"1.25+100", 1.25e100, nil},
		{"2024-05", 0, errNotNumber}, {"1-2", 0, errNotNumber}, {"1.5-10", 0, errNotNumber}, {"1.5-1030", 0, errNotNumber}, {`"1.5"`, 1.5, nil}, {"  2 ", 2, nil},
		{"", math.NaN(), nil}, {"nan", math.NaN(), nil}, {"NaN", math.NaN(), nil}, {"-nan", math.NaN(), nil},
		{"NULL", math.NaN(), nil}, {"NA", math.NaN(), nil}, {"n/a", math.NaN(), nil}, {`""`, math.NaN(), nil},
		{"inf", 0, errInfinite}, {"-Infinity", 0, errInfinite}, {"1e999", 0, errRange},
		{"1,5", 0, errComma}, {"1 5", 0, errNotNumber}, {"0x10", 0, errNotNumber}, {"1_000", 0, errNotNumber},
		{"1e", 0, errNotNumber}, {"e5", 0, errNotNumber}, {".", 0, errNotNumber}, {"-", 0, errNotNumber},
		{"1.2.3", 0, errNotNumber}, {"****", 0, errNotNumber}, {"1e+-5", 0, errNotNumber}, {"+.5", 0.5, nil}, {"5.", 5, nil},
	} {
		got, err := parseNumber([]byte(c.text), '.')
		if err != c.err {
			t.Errorf("%q: error %v, want %v", c.text, err, c.err)
			continue
		}
		if err == nil && !(got == c.want || math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%q read as %v, want %v", c.text, got, c.want)
		}
	}
	if got, err := parseNumber([]byte("-1,5e3"), ','); got != -1500 || err != nil {
		t.Errorf("-1,5e3 with a decimal comma read as %v (%v)", got, err)
	}
	if _, err := parseNumber([]byte("1.5"), ','); err != errPoint {
		t.Errorf("1.5 in a file with decimal commas: %v", err)
	}
}
