package parts_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"wakeledger/wake/parts"
)

// Two wakes that are mirror images, with a neighbour between them whose peak rises 4 %
// above the saddle to the right one: it is joined to that, the two are then no longer
// images of each other, and both say why. Divided from 4 % on, or without a neighbour,
// nothing is in doubt.
func TestPairInDoubt(t *testing.T) {
	p := plane(t, "nodes")
	sides := []blob{{0.6, 0.2, 0.4, 0.7, 0.2}, {0.6, 0.2, 0.4, -0.7, 0.2}}
	// Between them, nearer to the right one.
	between := append([]blob{{0.46, 0.2, 0.4, 0.2, 0.2}}, sides...)
	set := find(t, fieldOf(p, between...), parts.Options{})
	if len(set.Structures) != 2 {
		t.Fatalf("%d structures: %+v", len(set.Structures), set.Structures)
	}
	if len(set.Warnings) != 1 || set.Warnings[0].Code != "mirror-in-doubt" {
		t.Fatalf("%+v", set.Warnings)
	}
	w := set.Warnings[0]
	t.Log(w.Text, "--", w.Cure)
	for _, word := range []string{`parts "right`, `and "left`, "that the second does not on its side", "rises most above its saddle, by", "divided from 5 % on"} {
		if !strings.Contains(w.Text, word) {
			t.Errorf("%q lacks %q", w.Text, word)
		}
	}
	// What the right one has more is the neighbour, the ellipse of 2πσyσz ln(0.46/0.1) or
	// so, cut off where the right wake begins, about its own middle.
	var area, y float64
	_, rest, _ := strings.Cut(w.Text, "takes in ")
	if _, err := fmt.Sscanf(rest, "%g m2 about y = %g m", &area, &y); err != nil {
		t.Fatal(err)
	}
	near(t, "what it takes in", area, 2*math.Pi*0.2*0.4*math.Log(4.6), 0.15)
	near(t, "where that is", y, 0.2, 0.06)
	for _, s := range set.Structures {
		if s.Doubt != w.Text {
			t.Errorf("%s: doubt %q", s.Name, s.Doubt)
		}
	}
	// The cure holds.
	_, rest, _ = strings.Cut(w.Cure, "--prominence ")
	var part float64
	if _, err := fmt.Sscan(rest, &part); err != nil {
		t.Fatal(err)
	}
	if n := len(find(t, fieldOf(p, between...), parts.Options{Prominence: part}).Structures); n != 3 {
		t.Errorf("with a prominence of %g there are %d parts, want 3", part, n)
	}
	if s := find(t, fieldOf(p, sides...), parts.Options{}); len(s.Warnings) != 0 || s.Structures[0].Doubt != "" {
		t.Errorf("%+v", s.Warnings)
	}
}
