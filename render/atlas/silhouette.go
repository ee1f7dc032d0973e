package atlas

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/wake"
)

// maxSilhouette bounds the points of a silhouette: more are no outline.
const maxSilhouette = 1_000_000

// ReadSilhouette reads the vehicle's outline as it is seen along x: lines of y and
// z, parted by a comma, a semicolon, a tab or blanks, with an empty line between one
// polyline and the next. A first line that is no number names the columns and may
// give their unit, "y [mm], z [mm]"; without one metres are meant. What follows # is
// a remark. A polyline that ends where it begins is closed.
//
// Errors name file, line and column.
func ReadSilhouette(file string, r io.Reader) ([]isoline.Line, error) {
	var out []isoline.Line
	var cur []grid.Point
	factor := [2]float64{1, 1}
	points, first := 0, true
	flush := func(line int) error {
		switch n := len(cur); {
		case n == 1:
			return &wake.InputError{File: file, Line: line, Column: 1, Text: "a polyline of one point", Cure: "give it two or more, or take it out"}
		case n > 3 && cur[0] == cur[n-1]:
			out = append(out, isoline.Line{Points: cur[:n-1], Closed: true})
		case n > 1:
			out = append(out, isoline.Line{Points: cur})
		}
		cur = nil
		return nil
	}
	sc := bufio.NewScanner(r)
	sc.Buffer(nil, 1<<16)
	line := 0
	for sc.Scan() {
		line++
		text := sc.Text()
		if line == 1 {
			text = strings.TrimPrefix(text, "\ufeff")
		}
		plain, _, remark := strings.Cut(text, "#")
		if strings.TrimSpace(plain) == "" {
			if !remark {
				if err := flush(line - 1); err != nil {
					return nil, err
				}
			}
			continue
		}
		words := fields(plain)
		if first {
			first = false
			if _, err := strconv.ParseFloat(words[0].text, 64); err != nil {
				u, err := columnUnits(words)
				if err != nil {
					return nil, &wake.InputError{File: file, Line: line, Column: words[0].at, Text: err.Error(), Cure: `write "y [mm], z [mm]", or no heading at all for metres`}
				}
				factor = u
				continue
			}
		}
		if len(words) != 2 {
			return nil, &wake.InputError{File: file, Line: line, Column: words[0].at, Text: fmt.Sprintf("%d values on a line", len(words)), Cure: "give y and z, and an empty line between polylines"}
		}
		var v [2]float64
		for i, w := range words {
			x, err := strconv.ParseFloat(w.text, 64)
			if err != nil || !(math.Abs(x*factor[i]) <= 1e6) {
				return nil, &wake.InputError{File: file, Line: line, Column: w.at, Text: fmt.Sprintf("%q is no place", w.text), Cure: "give a number, with a point for decimals"}
			}
			v[i] = x * factor[i]
		}
		if points++; points > maxSilhouette {
			return nil, &wake.InputError{File: file, Line: line, Column: 1, Text: fmt.Sprintf("more than %d points", maxSilhouette), Cure: "thin the silhouette"}
		}
		cur = append(cur, grid.Point{X: v[0], Y: v[1]})
	}
	if err := sc.Err(); err != nil {
		return nil, &wake.InputError{File: file, Line: line + 1, Column: 1, Text: "the line is longer than 65536 bytes or cannot be read", Cure: "give y and z on each line"}
	}
	if err := flush(line); err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, &wake.InputError{File: file, Text: "no polyline", Cure: "give lines of y and z"}
	}
	return out, nil
}

// word is a value of a line and the column where it begins, counted from 1.
type word struct {
	text string
	at   int
}

// separators part the values of a line: the first that occurs in it, else blanks.
var separators = []struct {
	sign   string
	values *regexp.Regexp
}{{";", regexp.MustCompile(`[^;]*`)}, {"\t", regexp.MustCompile(`[^\t]*`)}, {",", regexp.MustCompile(`[^,]*`)}, {"", regexp.MustCompile(`[^ \r]+`)}}

func fields(s string) []word {
	var out []word
	for _, sep := range separators {
		if !strings.Contains(s, sep.sign) {
			continue
		}
		for _, at := range sep.values.FindAllStringIndex(s, -1) {
			part := s[at[0]:at[1]]
			out = append(out, word{strings.TrimSpace(part), at[1] - len(strings.TrimLeft(part, " \t\r")) + 1})
		}
		break
	}
	return out
}

// columnUnits reads a heading: y and z in this order, each with a unit of length in
// brackets or none.
func columnUnits(words []word) (factor [2]float64, err error) {
	factor = [2]float64{1, 1}
	var joined []string
	for _, w := range words {
		// A unit that stands apart from its name, as blanks part it.
		if n := len(joined); n > 0 && (strings.HasPrefix(w.text, "[") || strings.HasPrefix(w.text, "(")) {
			joined[n-1] += " " + w.text
		} else {
			joined = append(joined, w.text)
		}
	}
	if len(joined) != 2 {
		return factor, fmt.Errorf("a heading of %d columns", len(joined))
	}
	for i, s := range joined {
		name, rest := strings.TrimSpace(s), ""
		if k := strings.IndexAny(s, "[("); k >= 0 {
			name, rest = strings.TrimSpace(s[:k]), strings.Trim(s[k:], " []()")
		}
		if !strings.EqualFold(strings.Trim(name, `"`), []string{"y", "z"}[i]) {
			return factor, fmt.Errorf("column %d is called %q, %q is expected", i+1, name, []string{"y", "z"}[i])
		}
		if rest == "" {
			continue
		}
		u, err := wake.ParseUnit(rest)
		if err == nil {
			factor[i], _, err = u.To(wake.Length)
		}
		if err != nil {
			return factor, err
		}
	}
	return factor, nil
}
