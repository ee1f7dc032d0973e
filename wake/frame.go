package wake

import (
	"fmt"
	"slices"
	"strings"
)

// Frame says how a file's axes lie in the program's frame (x aft, y right, z
// up): a permutation of the axes with signs. The zero Frame is the program's
// own. Left-handed frames are accepted, since exports have them: a mirrored
// axis is undone like any other, for positions, velocities and normal stresses
// alike, and none of these depends on handedness. String says so.
type Frame struct {
	// turn[i] is added to i, modulo 3, to find the program's axis along which the
	// file's axis i lies; flip[i] is true when it points the other way.
	turn [3]uint8
	flip [3]bool
}

// directions has the words for the senses of the program's axes; the first of
// each list is the one that String uses.
var directions = [3][2][]string{
	{{"aft", "rearward", "rearwards", "rear", "back", "backward", "backwards", "downstream"}, {"forward", "forwards", "front", "ahead", "fore", "upstream"}},
	{{"right", "starboard"}, {"left", "port"}},
	{{"up", "upward", "upwards"}, {"down", "downward", "downwards"}},
}

// standards are vehicle axis systems that can be given by name. SAE J1594 (2010)
// is the program's own frame; its texts of 1987 and 1994 had x and z reversed,
// hence the year. ISO 8855: x forward, y left, z up. SAE J670: x forward, y
// right, z down.
var standards = map[string]string{
	"sae j1594:2010": "x aft, y right, z up",
	"iso 8855":       "x forward, y left, z up",
	"sae j670":       "x forward, y right, z down",
}

// ParseFrame reads a frame from the directions of its three axes, "x forward,
// y left, z up", in any order and case, or from the name of a standard: "SAE
// J1594:2010", "ISO 8855", "SAE J670". Each axis and each of the three lines
// (fore and aft, sideways, up and down) has to occur once.
func ParseFrame(s string) (Frame, error) {
	const want = "expected three axes such as \"x forward, y left, z up\""
	text := strings.ToLower(strings.TrimSpace(s))
	text = strings.TrimSpace(strings.TrimSuffix(text, "(left-handed)"))
	if full, ok := standards[text]; ok {
		text = full
	}
	var f Frame
	var haveFile, haveOur [3]bool
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' })
	if len(parts) != 3 {
		return Frame{}, fmt.Errorf("frame %q has %s; %s", s, Plural(len(parts), "part"), want)
	}
	for _, part := range parts {
		words := strings.FieldsFunc(part, func(r rune) bool { return r == ' ' || r == '\t' || r == '=' || r == ':' })
		if len(words) != 2 || len(words[0]) != 1 || !strings.Contains("xyz", words[0]) {
			return Frame{}, fmt.Errorf("frame %q: %q is not an axis and its direction; %s", s, strings.TrimSpace(part), want)
		}
		i := strings.Index("xyz", words[0])
		a, flip, ok := direction(words[1])
		switch {
		case !ok:
			return Frame{}, fmt.Errorf("frame %q: %q is not a direction; expected aft, forward, left, right, up or down", s, words[1])
		case haveFile[i]:
			return Frame{}, fmt.Errorf("frame %q gives axis %s twice; %s", s, words[0], want)
		case haveOur[a]:
			return Frame{}, fmt.Errorf("frame %q: two axes lie %s; %s", s, [3]string{"fore and aft", "sideways", "up and down"}[a], want)
		}
		haveFile[i], haveOur[a] = true, true
		f.turn[i] = uint8((int(a) - i + 3) % 3)
		f.flip[i] = flip
	}
	return f, nil
}

func direction(word string) (a Axis, flip, ok bool) {
	for i, line := range directions {
		for j, words := range line {
			if slices.Contains(words, word) {
				return Axis(i), j == 1, true
			}
		}
	}
	return 0, false, false
}

// Axis returns the program's axis along which the file's axis a lies, and +1 or
// −1 for its sense.
func (f Frame) Axis(a Axis) (ours Axis, sign float64) {
	sign = 1
	if f.flip[a%3] {
		sign = -1
	}
	return (a%3 + Axis(f.turn[a%3])) % 3, sign
}

// LeftHanded reports whether the file's axes are a left-handed set.
func (f Frame) LeftHanded() bool {
	a, s := f.Axis(AxisX)
	b, t := f.Axis(AxisY)
	_, r := f.Axis(AxisZ)
	odd := (b+3-a)%3 != 1 // (x,y) → (a,b) is cyclic when b follows a
	return (s*t*r < 0) != odd
}

// String gives the frame in the words that ParseFrame reads, with
// "(left-handed)" after one that is.
func (f Frame) String() string {
	var b strings.Builder
	for a := AxisX; a <= AxisZ; a++ {
		ours, sign := f.Axis(a)
		j := 0
		if sign < 0 {
			j = 1
		}
		if a > 0 {
			b.WriteString(", ")
		}
		b.WriteString(a.String() + " " + directions[ours][j][0])
	}
	if f.LeftHanded() {
		b.WriteString(" (left-handed)")
	}
	return b.String()
}

// Vector takes the components of a position or a velocity from the file's axes
// to the program's.
func (f Frame) Vector(v [3]float64) [3]float64 {
	var out [3]float64
	for a := AxisX; a <= AxisZ; a++ {
		ours, sign := f.Axis(a)
		out[ours] = sign*v[a] + 0 // no −0
	}
	return out
}

// Convert takes the columns of s from the file's axes to the program's, in
// place: positions, velocities and normal stresses, with their sources, whose
// Factor changes sign with the values, and the corners of elements.
func (f Frame) Convert(s *Samples) {
	if f == (Frame{}) {
		return
	}
	for _, group := range []struct {
		q      [3]Quantity
		signed bool
	}{{[3]Quantity{X, Y, Z}, true}, {[3]Quantity{U, V, W}, true}, {[3]Quantity{UU, VV, WW}, false}} {
		var col [3][]float64
		var src [3]Source
		for a := AxisX; a <= AxisZ; a++ {
			ours, sign := f.Axis(a)
			col[ours], src[ours] = s.Col[group.q[a]], s.Source[group.q[a]]
			if group.signed && sign < 0 {
				for i, x := range col[ours] {
					col[ours][i] = 0 - x // not −x: zero stays +0
				}
				src[ours].Factor = -src[ours].Factor
			}
		}
		for i, q := range group.q {
			s.Col[q], s.Source[q] = col[i], src[i]
		}
	}
	if s.Elements != nil {
		for i, c := range s.Elements.Corner {
			s.Elements.Corner[i] = f.Vector(c)
		}
	}
}
