package survey

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"wakeledger/wake"
)

// Whole numbers with marks between thousands are refused, where decimals are read.
func TestMarksBetweenThousands(t *testing.T) {
	// group writes a whole number with a mark between thousands.
	group := func(mark string) func(v float64) string {
		return func(v float64) string {
			n := int(math.Abs(v))
			text := fmt.Sprint(n)
			if n >= 1000 {
				text = fmt.Sprintf("%d%s%03d", n/1000, mark, n%1000)
			}
			if v < 0 {
				return "-" + text
			}
			return text
		}
	}
	trimmed := func(v float64) string { return strings.TrimSuffix(fmt.Sprint(math.Round(v)/1000), "e+06") }
	for _, c := range []struct {
		name, sep string
		write     func(v float64) string
		refused   bool
	}{
		{"commas between semicolons", ";", group(","), true},
		{"points between semicolons", ";", group("."), true},
		{"points between commas", ",", group("."), true},
		{"commas between tabs", "\t", group(","), true},
		{"points between blanks", " ", group("."), true},
		{"whole numbers", ";", group(""), false},
		{"three places", ",", func(v float64) string { return fmt.Sprintf("%.3f", v/1000) }, false},
		{"places trimmed", ",", trimmed, false},
		{"a decimal comma, trimmed", ";", func(v float64) string { return strings.Replace(trimmed(v), ".", ",", 1) }, false},
	} {
		var b strings.Builder
		b.WriteString(strings.Join([]string{"x", "y", "z", "u", "p"}, c.sep) + "\n")
		for k := range 12 {
			for j := range 12 {
				v := -1500 + 190*float64(j) + 17*float64(k*k)
				b.WriteString(strings.Join([]string{"2", fmt.Sprint(j), fmt.Sprint(k), fmt.Sprint(20 + j + k), c.write(v)}, c.sep) + "\n")
			}
		}
		s, err := readBytes(context.Background(), "s.csv", []byte(b.String()), Options{})
		if refused := err != nil && strings.HasPrefix(err.Error(), "s.csv:2:5: ") && strings.Contains(err.Error(), "thousands"); refused != c.refused {
			t.Errorf("%s: %v", c.name, err)
		}
		if !c.refused && err == nil && !(math.Abs(s.Col[wake.P][0]) == 1500 || math.Abs(s.Col[wake.P][0]) == 1.5) {
			t.Errorf("%s: p = %g", c.name, s.Col[wake.P][0])
		}
	}
}
