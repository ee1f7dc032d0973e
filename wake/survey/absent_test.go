package survey

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"wakeledger/wake"
)

// absentPlane is a wake on 21 × 21 samples; change may rewrite the four values of a row.
func absentPlane(head string, change func(j, k int, v []float64)) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for k := range 21 {
		for j := range 21 {
			y, z := -1+0.1*float64(j), 0.1*float64(k)
			d := math.Exp(-(y*y + (z-1)*(z-1)) / 0.18)
			v := []float64{25 - 20*d, 3 * y * d, 3 * (z - 1) * d, -40*d - 0.5*y}
			if change != nil {
				change(j, k, v)
			}
			fmt.Fprintf(&b, "2,%.2f,%.2f", y, z)
			for c := range strings.Count(head, ",") - 2 {
				fmt.Fprintf(&b, ",%.9g", v[c])
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// Numbers that mean no value are left out with their count and their first line, and
// what a flow can hold is not.
func TestNumbersForNoValue(t *testing.T) {
	const all, velocity = "x,y,z,u,v,w,p", "x,y,z,u,v,w"
	at := func(js, ks []int, set ...float64) func(j, k int, v []float64) {
		return func(j, k int, v []float64) {
			if js[0] <= j && j <= js[1] && ks[0] <= k && k <= ks[1] {
				for c, x := range set {
					if x == x {
						v[c] = x
					}
				}
			}
		}
	}
	nan := math.NaN()
	for _, c := range []struct {
		name, head string
		change     func(j, k int, v []float64)
		dropped    int
		line       int // of the first
		code       string
	}{
		{"sound", all, nil, 0, 0, ""},
		{"-999 in all", all, at([]int{9, 10}, []int{10, 10}, -999, -999, -999, -999), 2, 221, "missing-value"},
		{"-999 in the pressure alone", all, at([]int{10, 10}, []int{10, 10}, nan, nan, nan, -999), 1, 222, "missing-value"},
		{"9999 in u", all, at([]int{3, 5}, []int{2, 2}, 9999), 3, 47, "missing-value"},
		{"-999.9 and 1e15", all, func(j, k int, v []float64) {
			if k == 4 && j < 4 {
				v[0] = []float64{-999.9, 1e15}[j%2]
			}
		}, 4, 86, "missing-value"},
		{"a number of the house, repeated", all, at([]int{3, 5}, []int{2, 2}, -7777.5), 3, 47, "missing-value"},
		{"zero in all, inside", all, at([]int{8, 12}, []int{0, 6}, 0, 0, 0, 0), 35, 10, "no-flow"},
		{"one zero in all", all, at([]int{2, 2}, []int{5, 5}, 0, 0, 0, 0), 1, 109, "no-flow"},
		{"zero velocities without pressure", velocity, at([]int{8, 12}, []int{3, 6}, 0, 0, 0), 20, 73, "no-flow"},
		{"a wall with pressure", all, at([]int{0, 20}, []int{0, 0}, 0, 0, 0), 0, 0, ""},
		{"a wall without pressure", velocity, at([]int{0, 20}, []int{0, 0}, 0, 0, 0), 0, 0, ""},
		{"a body's wall with pressure", all, at([]int{8, 12}, []int{0, 6}, 0, 0, 0), 0, 0, ""},
		{"reversed flow", all, at([]int{8, 12}, []int{8, 12}, -9, 9), 0, 0, ""},
		{"an imposed stream", all, at([]int{0, 20}, []int{17, 20}, 25, 0, 0), 0, 0, ""},
		{"one spike", all, at([]int{5, 5}, []int{5, 5}, 400), 0, 0, ""},
	} {
		s, err := readBytes(context.Background(), "s.csv", []byte(absentPlane(c.head, c.change)), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		count, where := 0, ""
		for _, w := range s.Warnings {
			var n, of int
			if _, err := fmt.Sscanf(w.Text, "%d of %d samples left out", &n, &of); err != nil || of != 441 || w.Code != c.code {
				t.Errorf("%s: %v", c.name, w)
			}
			if count == 0 || w.Where < where {
				where = w.Where
			}
			count += n
		}
		if count != c.dropped || s.Dropped != c.dropped || s.N+s.Dropped != 441 {
			t.Errorf("%s: %d left out, %d counted, %d samples remain; want %d left out", c.name, count, s.Dropped, s.N, c.dropped)
		}
		if c.dropped > 0 && where != fmt.Sprintf("s.csv:%d", c.line) {
			t.Errorf("%s: the first is told at %s, not at line %d", c.name, where, c.line)
		}
		for i := range s.N {
			if s.LineOf(i) != 2+int(math.Round(10*(s.Col[wake.Y][i]+1)))+21*int(math.Round(10*s.Col[wake.Z][i])) {
				t.Fatalf("%s: sample %d is told to be of line %d", c.name, i, s.LineOf(i))
			}
		}
	}
}
