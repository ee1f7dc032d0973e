package report

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/width"
)

// Width is the number of columns that text keeps to.
const Width = 100

// Clean makes a name from a file fit to print: control and formatting characters
// (which could move a terminal's cursor or turn the direction of the text) and
// bytes that are no UTF-8 are shown as escapes.
func Clean(s string) string {
	drives := func(r rune) bool {
		return !(' ' <= r && r <= '~') && unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp)
	}
	if utf8.ValidString(s) && !strings.ContainsFunc(s, drives) {
		return s
	}
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "\ufffd") {
		switch {
		case r == '\t' || r == '\n':
			b.WriteByte(' ')
		case drives(r):
			for _, u := range utf16.Encode([]rune{r}) {
				fmt.Fprintf(&b, `\u%04x`, u)
			}
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
	head, tail := 0, len(r)
	used := 1
	for head < tail {
		w := runeWidth(r[head])
		if used+w > n {
			break
		}
		used += w
		head++
		if head < tail {
			if w = runeWidth(r[tail-1]); used+w > n {
				break
			}
			used += w
			tail--
		}
	}
	return string(r[:head]) + "…" + string(r[tail:])
}

// wrap breaks a paragraph at blanks into lines of at most Width columns, the first
// indented by first, the others by rest blanks. A word that is longer than a
// line stays whole, so that a name can be copied.
func wrap(s string, first, rest int) []string {
	var lines []string
	line, n := strings.Repeat(" ", first), first
	empty := true
	for _, word := range words(s) {
		w := textWidth(word)
		if !empty && n+1+w > Width {
			lines = append(lines, line)
			line, n, empty = strings.Repeat(" ", rest), rest, true
		}
		if !empty {
			line += " "
			n++
		}
		line += strings.ReplaceAll(word, "\u00a0", " ")
		n += w
		empty = false
	}
	return append(lines, line)
}

// units are words that stay on the line of the number before them.
var units = map[string]bool{"m": true, "m²": true, "m2": true, "mm": true, "Pa": true, "m/s": true, "kg/m³": true, "%": true, "C_D": true}

// words splits a paragraph at blanks, but not between a number and its unit.
func words(s string) []string {
	var out []string
	for word := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }) {
		if k := len(out) - 1; k >= 0 && units[strings.TrimRight(word, ".,;:)")] && strings.ContainsAny(out[k][len(out[k])-1:], "0123456789") {
			out[k] += "\u00a0" + word
			continue
		}
		out = append(out, word)
	}
	return out
}

// grid is a table of text: a heading, rows, and which columns are numbers.
type grid struct {
	indent int
	head   []string
	right  []bool
	rows   [][]string
}

// table begins a grid; a column whose heading begins with ">" is set flush
// right.
func table(indent int, head ...string) *grid {
	g := &grid{indent: indent}
	for _, h := range head {
		s, right := strings.CutPrefix(h, ">")
		g.head = append(g.head, s)
		g.right = append(g.right, right)
	}
	return g
}

func (g *grid) add(cells ...string) {
	for len(cells) < len(g.head) {
		cells = append(cells, "")
	}
	g.rows = append(g.rows, cells)
}

// dropEmpty removes the columns that say nothing in any row; the first stays, and
// a table of which nothing else is left is not worth showing.
func (g *grid) dropEmpty() {
	for c := len(g.head) - 1; c > 0; c-- {
		used := false
		for _, r := range g.rows {
			used = used || r[c] != ""
		}
		if used {
			continue
		}
		g.head = append(g.head[:c:c], g.head[c+1:]...)
		g.right = append(g.right[:c:c], g.right[c+1:]...)
		for i, r := range g.rows {
			g.rows[i] = append(r[:c:c], r[c+1:]...)
		}
	}
}

// lines lays the table out. Where it would be wider than Width, the widest
// columns of words are cut in the middle; numbers are never cut.
func (g *grid) lines() []string {
	if len(g.rows) == 0 {
		return nil
	}
	if g.dropEmpty(); len(g.head) < 2 {
		return nil
	}
	w := make([]int, len(g.head))
	for c := range w {
		w[c] = textWidth(g.head[c])
		for _, r := range g.rows {
			w[c] = max(w[c], textWidth(r[c]))
		}
	}
	const narrowest = 8
	for {
		total, widest := g.indent-2, -1
		for c := range w {
			total += w[c] + 2
			if !g.right[c] && w[c] > narrowest && (widest < 0 || w[c] > w[widest]) {
				widest = c
			}
		}
		if total <= Width || widest < 0 {
			break
		}
		w[widest] -= min(total-Width, w[widest]-narrowest)
	}
	out := []string{g.line(g.head, w)}
	for _, r := range g.rows {
		out = append(out, g.line(r, w))
	}
	return out
}

func (g *grid) line(cells []string, w []int) string {
	var b strings.Builder
	b.WriteString(strings.Repeat(" ", g.indent))
	for c, s := range cells {
		if c > 0 {
			b.WriteString("  ")
		}
		s = Shorten(s, w[c])
		pad := strings.Repeat(" ", w[c]-textWidth(s))
		if g.right[c] {
			b.WriteString(pad + s)
		} else {
			b.WriteString(s + pad)
		}
	}
	return strings.TrimRight(b.String(), " ")
}

// sheet gathers lines of text and the notes that they refer to.
type sheet struct {
	b     strings.Builder
	notes notes
}

func (s *sheet) line(text string)               { s.b.WriteString(text); s.b.WriteByte('\n') }
func (s *sheet) blank()                         { s.b.WriteByte('\n') }
func (s *sheet) lines(ls []string)              { s.each(ls) }
func (s *sheet) para(text string, indent int)   { s.each(wrap(text, indent, indent)) }
func (s *sheet) hang(text string, first, r int) { s.each(wrap(text, first, r)) }

func (s *sheet) each(ls []string) {
	for _, l := range ls {
		s.line(l)
	}
}

// heading is a line of its own with a rule below it.
func (s *sheet) heading(text, rule string) {
	for _, l := range wrap(text, 0, 0) {
		s.line(l)
	}
	s.line(strings.Repeat(rule, min(Width, max(8, textWidth(text)))))
}

// table prints a titled table; an empty one is left out with its title.
func (s *sheet) table(title string, g *grid) {
	ls := g.lines()
	if len(ls) == 0 {
		return
	}
	s.blank()
	if title != "" {
		s.para(title, g.indent)
	}
	s.lines(ls)
}

func (s *sheet) writeTo(w io.Writer) error {
	_, err := io.WriteString(w, s.b.String())
	return err
}
