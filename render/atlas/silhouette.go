package atlas

import (
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

var (
	valueOfLine = regexp.MustCompile(`[^\s,;]+`)
	heading     = regexp.MustCompile(`(?i)^\s*"?y"?\s*(?:[\[(](.*?)[\])])?"?[\s,;]+"?z"?\s*(?:[\[(](.*?)[\])])?"?\s*$`)
)

// ReadSilhouette reads the vehicle's outline as it is seen along x: lines of y and
// z, parted by a comma, a semicolon, a tab or blanks, with an empty line between one
// polyline and the next. A first line that is no number names the columns and may
// give their unit, "y [mm], z [mm]"; without one metres are meant. What follows # is
// a remark. A polyline that ends where it begins is closed.
//
// Errors name file, line and column.
func ReadSilhouette(file string, r io.Reader) (out []isoline.Line, err error) {
	bad := func(line, column int, text, cure string) error {
		return &wake.InputError{File: file, Line: line, Column: column, Text: text, Cure: cure}
	}
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, bad(0, 0, err.Error(), "check the file")
	}
	var cur []grid.Point
	last, first, factor := 0, true, [2]float64{1, 1}
	// The empty line in the end closes the last polyline.
	for i, text := range strings.Split(strings.TrimPrefix(string(data), "\ufeff")+"\n\n", "\n") {
		plain, _, remark := strings.Cut(text, "#")
		at := valueOfLine.FindAllStringIndex(plain, -1)
		if len(at) == 0 && (remark || len(cur) == 0) {
			continue
		}
		if len(at) == 0 {
			n := len(cur)
			switch {
			case n == 1:
				return nil, bad(last, 1, "a polyline of one point", "give it two or more, or take it out")
			case n > 3 && cur[0] == cur[n-1]:
				out = append(out, isoline.Line{Points: cur[:n-1], Closed: true})
			default:
				out = append(out, isoline.Line{Points: cur})
			}
			cur = nil
			continue
		}
		word := func(k int) string { return plain[at[k][0]:at[k][1]] }
		_, noNumber := strconv.ParseFloat(word(0), 64)
		if last = i + 1; first && noNumber != nil {
			if factor, err = columnUnits(plain); err != nil {
				return nil, bad(last, at[0][0]+1, err.Error(), `write "y [mm], z [mm]", or no heading at all for metres`)
			}
			first = false
			continue
		}
		first = false
		if len(at) != 2 || strings.Count(plain, ",")+strings.Count(plain, ";") > 1 {
			return nil, bad(last, at[0][0]+1, fmt.Sprintf("%d values on a line", len(at)), "give y and z, and an empty line between polylines")
		}
		var v [2]float64
		for k := range v {
			x, err := strconv.ParseFloat(word(k), 64)
			if err != nil || !(math.Abs(x*factor[k]) <= 1e6) {
				return nil, bad(last, at[k][0]+1, fmt.Sprintf("%q is no place", word(k)), "give a number, with a point for decimals")
			}
			v[k] = x * factor[k]
		}
		cur = append(cur, point(v))
	}
	if len(out) == 0 {
		return nil, bad(0, 0, "no polyline", "give lines of y and z")
	}
	return out, nil
}

// columnUnits reads a heading: y and z in this order, each with a unit of length in
// brackets or none.
func columnUnits(line string) (factor [2]float64, err error) {
	m := heading.FindStringSubmatch(line)
	if m == nil {
		return factor, fmt.Errorf("a heading %q, of y and z one is expected", strings.TrimSpace(line))
	}
	for i, text := range m[1:] {
		if factor[i] = 1; text == "" {
			continue
		}
		u, err := wake.ParseUnit(text)
		if err == nil {
			factor[i], _, err = u.To(wake.Length)
		}
		if err != nil {
			return factor, err
		}
	}
	return factor, nil
}
