package report

import (
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// Width is the number of columns that text keeps to.
const Width = 100

// Clean makes a name from a file fit to print: control and formatting characters
// (which could move a terminal's cursor or turn the direction of the text) and
// bytes that are no UTF-8 are shown as escapes.
func Clean(s string) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "\ufffd") {
		switch {
		case r == '\t' || r == '\n':
			b.WriteByte(' ')
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func clean(s string) string { return Clean(s) }

// runeWidth is the number of columns that a terminal gives to r.
func runeWidth(r rune) int {
	if unicode.In(r, unicode.Mn, unicode.Me) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

func textWidth(s string) int {
	n := 0
	for _, r := range s {
		n += runeWidth(r)
	}
	return n
}

// Shorten cuts the middle out of s so that it keeps to n columns; the ends are
// what tells file names apart.
func Shorten(s string, n int) string {
	if textWidth(s) <= n {
		return s
	}
	r := []rune(s)
	head, tail := len(r)/2, len(r)-len(r)/2
	for textWidth(string(r[:head]))+1+textWidth(string(r[len(r)-tail:])) > n && head+tail > 0 {
		if tail >= head {
			tail--
		} else {
			head--
		}
	}
	return string(r[:head]) + "…" + string(r[len(r)-tail:])
}

// wrap breaks a paragraph at blanks into lines of at most Width columns, the first
// indented by first, the others by rest blanks. A word that is longer than a
// line stays whole, so that a name can be copied.
func wrap(s string, first, rest int) []string {
	lines, n := []string{strings.Repeat(" ", first)}, first
	for i, word := range words(s) {
		w := textWidth(word)
		if i > 0 && n+1+w > Width {
			lines, n = append(lines, strings.Repeat(" ", rest)), rest
		} else if i > 0 {
			word, w = " "+word, w+1
		}
		lines[len(lines)-1] += strings.ReplaceAll(word, "\u00a0", " ")
		n += w
	}
	return lines
}

// units are words that stay on the line of the number before them.
var units = map[string]bool{"m": true, "m²": true, "m2": true, "mm": true, "Pa": true, "m/s": true, "kg/m³": true, "%": true, "C_D": true}

// words splits a paragraph at blanks, but not between a number, its ± and its unit.
func words(s string) []string {
	var out []string
	s = strings.NewReplacer(" ± ", "\u00a0±\u00a0", " = ", "\u00a0=\u00a0").Replace(s)
	for word := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }) {
		if k := len(out) - 1; k >= 0 && units[strings.TrimRight(word, ".,;:)")] && strings.ContainsAny(out[k][len(out[k])-1:], "0123456789") {
			out[k] += "\u00a0" + word
			continue
		}
		out = append(out, word)
	}
	return out
}
