package wake

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func mustFrame(t *testing.T, s string) Frame {
	t.Helper()
	f, err := ParseFrame(s)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The maps between vehicle axis systems: SAE J1594:2010 to ISO 8855 is
// (x,y,z) → (−x,−y,z), SAE J670 to ISO 8855 is (x,−y,−z).
func TestVehicleStandards(t *testing.T) {
	p := [3]float64{1, 2, 3}
	if got := mustFrame(t, "SAE J1594:2010"); got != (Frame{}) {
		t.Errorf("SAE J1594:2010 is %s, not the program's frame", got)
	}
	iso := mustFrame(t, "ISO 8855")
	if got, want := iso.Vector(p), [3]float64{-1, -2, 3}; got != want {
		t.Errorf("ISO 8855: %v, want %v", got, want)
	}
	// J670 → ISO → ours is J670 → ours.
	if got, want := mustFrame(t, "sae j670").Vector(p), iso.Vector([3]float64{1, -2, -3}); got != want {
		t.Errorf("SAE J670: %v, want %v", got, want)
	}
}

// allFrames are the 48 signed permutations.
func allFrames() []string {
	words := [3][2]string{{"aft", "forward"}, {"right", "left"}, {"up", "down"}}
	var out []string
	for _, p := range [][3]int{{0, 1, 2}, {1, 2, 0}, {2, 0, 1}, {0, 2, 1}, {2, 1, 0}, {1, 0, 2}} {
		for s := range 8 {
			out = append(out, "x "+words[p[0]][s&1]+", y "+words[p[1]][s>>1&1]+", z "+words[p[2]][s>>2])
		}
	}
	return out
}

func cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// For every frame: lengths stay, a right-handed frame keeps cross products and a
// left-handed one turns their sign, String reads back to the same frame, and
// normal stresses are permuted like the squares of components.
func TestAllFrames(t *testing.T) {
	a, b := [3]float64{1, 2, 4}, [3]float64{-3, 5, 7}
	seen := map[Frame]bool{}
	left := 0
	for _, text := range allFrames() {
		f := mustFrame(t, text)
		seen[f] = true
		fa, fb := f.Vector(a), f.Vector(b)
		if dot := fa[0]*fb[0] + fa[1]*fb[1] + fa[2]*fb[2]; dot != -3+10+28 {
			t.Errorf("%s: scalar product %v", text, dot)
		}
		want := f.Vector(cross(a, b))
		if f.LeftHanded() {
			left++
			want = [3]float64{-want[0], -want[1], -want[2]}
		}
		if got := cross(fa, fb); got != want {
			t.Errorf("%s: cross product %v, want %v", text, got, want)
		}
		if back := mustFrame(t, f.String()); back != f {
			t.Errorf("%s: %q reads back to another frame", text, f)
		}
	}
	if len(seen) != 48 || left != 24 {
		t.Errorf("%d frames, %d of them left-handed", len(seen), left)
	}
}

func TestFrameWords(t *testing.T) {
	for text, want := range map[string]string{
		"x aft, y right, z up":                   "x aft, y right, z up",
		"X Downstream; Y Starboard; Z Upward":    "x aft, y right, z up",
		"z=up, y=port, x=upstream":               "x forward, y left, z up",
		"x: rearward, y: left, z: down":          "x aft, y left, z down",
		"x right, y aft, z up":                   "x right, y aft, z up (left-handed)",
		"x right, y aft, z up (left-handed)":     "x right, y aft, z up (left-handed)",
		"x left, y up, z ahead":                  "x left, y up, z forward",
		"x forward, y left, z up":                "x forward, y left, z up",
		"x backward, y right, z up":              "x aft, y right, z up",
		"iso 8855":                               "x forward, y left, z up",
		" x  aft ,y\tright, z    upwards       ": "x aft, y right, z up",
	} {
		if f, err := ParseFrame(text); err != nil || f.String() != want {
			t.Errorf("%q: %s (%v), want %s", text, f, err, want)
		}
	}
	if (Frame{}).String() != "x aft, y right, z up" || (Frame{}).LeftHanded() {
		t.Errorf("the zero frame is %s", Frame{})
	}
}

func TestBadFrames(t *testing.T) {
	for text, want := range map[string]string{
		"":                        `frame "" has 0 parts; expected three axes such as "x forward, y left, z up"`,
		"x aft, y right":          `frame "x aft, y right" has 2 parts; expected three axes such as "x forward, y left, z up"`,
		"x aft, y right, z wards": `frame "x aft, y right, z wards": "wards" is not a direction; expected aft, forward, left, right, up or down`,
		"x aft, x right, z up":    `frame "x aft, x right, z up" gives axis x twice; expected three axes such as "x forward, y left, z up"`,
		"x aft, y forward, z up":  `frame "x aft, y forward, z up": two axes lie fore and aft; expected three axes such as "x forward, y left, z up"`,
		"x aft, y right, w up":    `frame "x aft, y right, w up": "w up" is not an axis and its direction; expected three axes such as "x forward, y left, z up"`,
	} {
		if _, err := ParseFrame(text); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// Columns go with their axes and signs; what a file lacks stays lacking, sources
// keep the relation of the written to the SI value, and zero stays +0.
func TestConvertColumns(t *testing.T) {
	f := mustFrame(t, "x left, y up, z forward")
	s := &Samples{N: 2}
	s.Col[X], s.Col[Y], s.Col[Z] = []float64{1, 0}, []float64{2, 5}, []float64{3, 6}
	s.Col[U], s.Col[W] = []float64{10, 11}, []float64{30, 31} // no v
	s.Col[UU], s.Col[VV], s.Col[WW] = []float64{7, 7}, []float64{8, 8}, []float64{9, 9}
	s.Col[P] = []float64{-1, -2}
	s.Source[X] = Source{Name: "left", Factor: 0.001}
	s.Elements = &Elements{Corner: [][3]float64{{1, 2, 3}}}
	f.Convert(s)
	want := map[Quantity][]float64{
		X: {-3, -6}, Y: {-1, 0}, Z: {2, 5}, U: {-30, -31}, V: {-10, -11}, P: {-1, -2},
		UU: {9, 9}, VV: {7, 7}, WW: {8, 8},
	}
	for q := Quantity(0); q < NumQuantities; q++ {
		if d := cmp.Diff(want[q], s.Col[q]); d != "" {
			t.Errorf("%s: %s", q, d)
		}
	}
	if 1/s.Col[Y][1] < 0 {
		t.Error("0 became −0")
	}
	if got, want := s.Source[Y], (Source{Name: "left", Factor: -0.001}); got != want {
		t.Errorf("source %+v, want %+v", got, want)
	}
	if got, want := s.Elements.Corner[0], [3]float64{-3, -1, 2}; got != want {
		t.Errorf("corner %v, want %v", got, want)
	}
}
