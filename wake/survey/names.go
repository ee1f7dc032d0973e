package survey

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"wakeledger/wake"
)

// meaning is what a column's name says. A name that ends in a number, such as
// velocity:0, is the component of a vector whose first index (0 or 1) only its
// sisters tell: vector is then its group and index the number.
type meaning struct {
	q      wake.Quantity // NumQuantities when the name is not understood or is indexed
	vector string
	index  int
	// kinematic is true for a pressure that its name says is over density.
	kinematic bool
}

var unknown = meaning{q: wake.NumQuantities}

func (m meaning) known() bool { return m.q < wake.NumQuantities || m.vector != "" }

// The letters of what a word says in a name: position, velocity, and of pressures: pressure,
// total, static, coefficient, kinematic. A filler does not change what a column of time means
// holds.
const (
	filler   = "-"
	position = "x"
	velocity = "v"
)

var wordClass = func() map[string]string {
	m := map[string]string{}
	for class, list := range map[string]string{
		filler:   "mean avg ave average averaged time component comp cell face node nodal",
		position: "position positions pos coordinate coordinates coord coords point points location center centre centers centres centroid",
		velocity: "velocity velocities vel",
		"p":      "pressure press pres p",
		"t":      "total tot stagnation stag",
		"s":      "static stat gauge relative absolute abs",
		"c":      "coefficient coefficients coeff coef",
		"k":      "kinematic",
		"cp":     "cp",
	} {
		for _, w := range strings.Fields(list) {
			m[w] = class
		}
	}
	return m
}()

// pressures are what words of pressure mean together, by their letters in order.
var pressures = map[string]meaning{
	"p": {q: wake.P}, "ps": {q: wake.P}, "pt": {q: wake.Pt}, "cp": {q: wake.Cp}, "cps": {q: wake.Cp}, "cpt": {q: wake.Cpt},
	"kp": {q: wake.P, kinematic: true}, "kps": {q: wake.P, kinematic: true}, "kpt": {q: wake.Pt, kinematic: true},
}

// whole are names that stand by themselves once blanks and marks are gone.
var whole = map[string]wake.Quantity{
	"x": wake.X, "y": wake.Y, "z": wake.Z, "u": wake.U, "v": wake.V, "w": wake.W,
	"p": wake.P, "ps": wake.P, "pstat": wake.P, "pstatic": wake.P,
	"pt": wake.Pt, "ptot": wake.Pt, "ptotal": wake.Pt,
	"cp": wake.Cp, "cpt": wake.Cpt, "cptot": wake.Cpt, "cptotal": wake.Cpt,
	"rho": wake.Rho, "ρ": wake.Rho, "density": wake.Rho,
	"k": wake.K, "tke": wake.K, "turbulentkineticenergy": wake.K, "turbulencekineticenergy": wake.K,
	"uu": wake.UU, "vv": wake.VV, "ww": wake.WW,
	"upup": wake.UU, "vpvp": wake.VV, "wpwp": wake.WW,
	"uprimeuprime": wake.UU, "vprimevprime": wake.VV, "wprimewprime": wake.WW,
	"area": wake.Area, "areas": wake.Area,
}

// diagonal are the normal components of a tensor.
var diagonal = map[string]wake.Quantity{
	"xx": wake.UU, "yy": wake.VV, "zz": wake.WW, "uu": wake.UU, "vv": wake.VV, "ww": wake.WW,
	"11": wake.UU, "22": wake.VV, "33": wake.WW,
}

// joints are where words begin without a mark: between letters and digits, and before an
// upper-case letter (VelocityX). The last capital of a run begins the next word (UMean), but
// not in pairs such as UUx or Ux, as there is no word of one letter.
var joints = []*regexp.Regexp{
	regexp.MustCompile(`(\pL)([0-9])`), regexp.MustCompile(`([0-9])(\pL)`), regexp.MustCompile(`(\p{Ll})(\p{Lu})`), regexp.MustCompile(`(\p{Lu})(\p{Lu}\p{Ll}\p{Ll})`),
}

// tokens cuts a name into lower-case words.
func tokens(name string) []string {
	for _, j := range joints {
		name = j.ReplaceAllString(name, "$1 $2")
	}
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !('0' <= r && r <= '9') })
}

// foreign reports whether r is neither a letter nor a digit nor one of the marks
// that names are put together with.
func foreign(r rune) bool {
	return !unicode.IsLetter(r) && !(r >= '0' && r <= '9') && !strings.ContainsRune(" _-:.,|[](){}<>'′’^²\"", r)
}

// runTogether is a name with a filler at its side: umean, meanu.
var runTogether = regexp.MustCompile(`^(?:mean|avg)(.+)$|^(.+?)(?:mean|avg)$`)

// stress is a tensor's name and two components: Reynolds stresses.
var stress = regexp.MustCompile(`^(?:reynolds(?:normal)?stress(?:es)?|uprime2|upup|r)(..)$`)

// classify finds the quantity that a name, without its unit, means, by the
// rules of the trade: one-letter symbols, words with the component before or
// after them, vectors with letters or numbers as suffix, primes for stresses.
// What has a word too many, such as "velocity magnitude", is not understood.
func classify(name string) meaning {
	// Signs and other marks make another thing of a name: y+, -w, u/U, p∞.
	if len(name) > 200 || strings.HasPrefix(name, "-") || strings.ContainsFunc(name, foreign) {
		return unknown
	}
	var toks, rest []string // without fillers; without what says position or velocity
	var classes []byte
	for _, t := range tokens(name) {
		c := wordClass[t]
		if c == filler {
			continue
		}
		toks, classes = append(toks, t), append(classes, cmp.Or(c, "?")...)
		if c != position && c != velocity {
			rest = append(rest, t)
		}
	}
	if len(toks) == 0 || len(toks) > 6 {
		return unknown
	}
	joined := strings.Join(toks, "")
	if strings.ContainsAny(name, "'′’") {
		// u'u', <u'^2>, u'². One prime alone is a fluctuation, not its square.
		if strings.Contains(name, "²") {
			joined = strings.TrimSuffix(joined, "2") + "2"
		}
		if len(joined) == 2 && joined[1] == '2' {
			joined = joined[:1] + joined[:1]
		}
		return known(diagonal, joined)
	}
	slices.Sort(classes)
	if m := vectorName(rest, string(slices.Compact(slices.Clone(classes)))); m.known() {
		return m
	}
	if m := known(whole, joined); m.known() && !(len(joined) == 2 && strings.Contains(name, "-")) {
		return m // but u-u is a difference
	}
	if m, ok := pressures[string(classes)]; ok {
		return m
	}
	if m := stress.FindStringSubmatch(joined); m != nil {
		return known(diagonal, m[1])
	}
	if m := runTogether.FindStringSubmatch(joined); m != nil && len(toks) == 1 {
		return known(whole, m[1]+m[2])
	}
	return unknown
}

func known(names map[string]wake.Quantity, name string) meaning {
	if q, ok := names[name]; ok {
		return meaning{q: q}
	}
	return unknown
}

// vectorName understands a position or velocity word with a component on either
// side, and the letters u and v with a component after them.
func vectorName(rest []string, classes string) meaning {
	words := strings.Join(rest, " ")
	switch {
	case len(rest) == 1 && strings.Trim(classes, "?p") == velocity:
		if i := strings.Index("uvw", words); i >= 0 && len(words) == 1 {
			return meaning{q: wake.U + wake.Quantity(i)}
		}
		return component(wake.U, "velocity", words)
	case len(rest) == 1 && strings.Trim(classes, "?p") == position:
		return component(wake.X, "position", words)
	case strings.Trim(classes, "?p") != "":
	case len(rest) == 2 && (rest[0] == "u" || rest[0] == "v"):
		return component(wake.U, "the vector "+rest[0], rest[1])
	case len(words) == 2 && (words[0] == 'u' || words[0] == 'v') && strings.IndexByte("xyz", words[1]) >= 0:
		return component(wake.U, "", words[1:])
	}
	return unknown
}

// component returns the quantity first+i of a component word: x, y, z or i, j, k;
// a number is left for the sisters to settle.
func component(first wake.Quantity, group, word string) meaning {
	if len(word) == 1 {
		for _, letters := range []string{"xyz", "ijk"} {
			if i := strings.Index(letters, word); i >= 0 {
				return meaning{q: first + wake.Quantity(i)}
			}
		}
		if word[0] >= '0' && word[0] <= '3' {
			return meaning{q: wake.NumQuantities, vector: group, index: int(word[0] - '0')}
		}
	}
	return unknown
}

// settleIndices turns indexed names into components, in place, once all are
// known: the numbers of a group have to run 0, 1 (, 2) or 1, 2, 3. Others stay
// unknown.
func settleIndices(ms []meaning) {
	seen := map[string]int{} // a bit for each number
	for _, m := range ms {
		if m.vector != "" {
			seen[m.vector] |= 1 << m.index
		}
	}
	for i, m := range ms {
		if m.vector == "" {
			continue
		}
		ms[i] = unknown
		switch s := seen[m.vector]; {
		case s&0b1011 == 0b0011:
			ms[i].q = quantityOf(m) + wake.Quantity(m.index)
		case s == 0b1110:
			ms[i].q = quantityOf(m) + wake.Quantity(m.index-1)
		}
	}
}
