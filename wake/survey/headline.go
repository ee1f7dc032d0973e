package survey

import (
	"regexp"
	"strings"
)

// headerNames reads a line as a header: names, of which none is a number; known
// counts those that are known. The header may be separated
// otherwise than the rows are: the way that makes most sense is taken.
func headerNames(text []byte, sep byte, by naming) (best []heading, bestKnown int) {
	seps := []byte{',', ';', '\t', ' '}
	if sep != 0 {
		seps = append([]byte{sep}, seps...)
	}
	bestKnown = -1
	s := decode(text)
	for _, c := range seps {
		var fields []string
		if c == ' ' {
			fields = blankNames(s)
		} else {
			fields = cells(s, c)
		}
		if n := len(fields); n > 0 && fields[n-1] == "" && c != ' ' {
			fields = fields[:n-1] // a separator at the end
		}
		if len(fields) < 2 || len(fields) > maxFields {
			continue
		}
		hs := make([]heading, len(fields))
		known := 0
		for i, f := range fields {
			if _, err := parseNumber([]byte(f), '.'); err == nil && f != "" {
				known = -1
				break
			}
			if len(f) >= 2 && f[0] == '"' && f[len(f)-1] == '"' {
				f = f[1 : len(f)-1]
			}
			hs[i] = parseHeading(f)
			if by.known(hs[i]) {
				known++
			}
		}
		if known > bestKnown {
			best, bestKnown = hs, known
		}
	}
	return best, bestKnown
}

var (
	wideBlank  = regexp.MustCompile(`\s{2,}|\t`)
	headerWord = regexp.MustCompile(`"[^"]*"\S*|(?:\[[^\]]*\]|\([^)]*\)|\{[^}]*\}|\S)+`)
)

// blankNames cuts a header at blanks. Units in brackets belong to the name before
// them, whether a blank stands between or within; quotes hold names together.
// Where two blanks or more separate all names, one blank belongs to a name.
func blankNames(s string) []string {
	if wide := wideBlank.Split(strings.TrimSpace(s), -1); len(wide) > 2 && strings.Contains(strings.Join(wide, ""), " ") {
		return wide
	}
	var out []string
	for _, word := range headerWord.FindAllString(s, -1) {
		word = strings.TrimRight(word, ",;")
		switch n := len(out); {
		case word == "":
		case n > 0 && strings.IndexByte("[({", word[0]) >= 0:
			out[n-1] += " " + word
		default:
			out = append(out, word)
		}
	}
	return out
}

// unitRow reads a line as a row of units, one a field; nil when it is none.
func unitRow(text []byte, r row) []string {
	fields := cells(decode(text), r.st.sep)
	if r.endsOpen(len(fields)) {
		fields = append(fields, "")
	}
	if len(fields) != len(r.fields) {
		return nil
	}
	return units(fields)
}
