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
// images of each other, and a warning says so. Divided from 4 % on, or without a neighbour,
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
	// What the right one has more is the neighbour, the ellipse of 2πσyσz ln(0.46/0.1) or
	// so, cut off where the right wake begins.
	var area float64
	_, rest, _ := strings.Cut(set.Warnings[0].Text, "takes in ")
	if _, err := fmt.Sscanf(rest, "%g m2", &area); err != nil {
		t.Fatal(err)
	}
	near(t, "what it takes in", area, 2*math.Pi*0.2*0.4*math.Log(4.6), 0.15)
	// Another prominence settles it.
	if n := len(find(t, fieldOf(p, between...), parts.Options{Prominence: 0.04}).Structures); n != 3 {
		t.Errorf("with a prominence of 0.04 there are %d parts, want 3", n)
	}
	if s := find(t, fieldOf(p, sides...), parts.Options{}); len(s.Warnings) != 0 {
		t.Errorf("%+v", s.Warnings)
	}
}
