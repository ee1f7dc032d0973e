package compare

import (
	"math"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/structure"
	"wakeledger/wake/waketest"
)

// A difference of drag that cannot be divided, here since the samples are not the
// same, is a warning with its cure, and the moves stand.
func TestExchangeThatCannotBeHad(t *testing.T) {
	c := &comparing{opt: Options{Structures: &structure.Options{}}, out: &Comparison{}, whole: make([]bool, 2)}
	var ms []*measure.Measurement
	for k, n := range []int{81, 71} {
		s := waketest.Lattice(waketest.Gaussian(0.4, 0.2, 0.7-0.02*float64(k), 0.1), -2, 2, -1.5, 1.5, n, 61)
		s.File = []string{"base", "variant"}[k]
		p, err := wake.Planes(s, wake.PlaneOptions{})
		if err != nil {
			t.Fatal(err)
		}
		m, err := measure.Take(p[0], measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit})
		if err != nil {
			t.Fatal(err)
		}
		ms, c.own = append(ms, m), append(c.own, p[0])
	}
	c.base, c.all = ms[0], ms
	if err := c.find(ms); err != nil {
		t.Fatal(err)
	}
	v := Variant{Survey: ms[1].Result}
	if err := c.follow(1, &v); err != nil {
		t.Fatal(err)
	}
	if v.Exchange != nil || len(v.Structures.Shifts) != 1 || !(math.Abs(*v.Structures.Shifts[0].Headline.Inboard-0.02) < 0.002) {
		t.Fatalf("%+v", v.Structures)
	}
	w := v.Survey.Warnings[len(v.Survey.Warnings)-1]
	want := wake.Warning{
		Code: "no-exchange", Where: "variant", Text: "the difference of the drag cannot be divided among the parts of the plane: the two surveys do not have the same samples",
		Cure: "put them on common samples first",
	}
	if w != want {
		t.Errorf("%+v", w)
	}
}
