package survey

import (
	"strings"

	"wakeledger/wake"
)

// Fields cuts a line at a separator, or for ' ' at runs of blanks and tabs, outside of
// quotes. Blanks around fields and quotes are taken off.
func Fields(line string, sep byte) []string {
	var out []string
	for _, f := range split([]byte(line), sep) {
		s := string(f)
		if n := len(s); n >= 2 && s[0] == '"' && s[n-1] == '"' {
			s = s[1 : n-1]
		}
		out = append(out, s)
	}
	return out
}

// Number reads a cell of a table, NaN where it is empty or a word or dash for no value. comma
// says that a decimal comma may take the place of the point.
func Number(cell string, comma bool) (float64, error) {
	cell = strings.Replace(cell, "−", "-", 1)
	if comma && !strings.Contains(cell, ".") {
		return parseNumber([]byte(cell), ',')
	}
	if cell == "-" || cell == "--" {
		cell = ""
	}
	return parseNumber([]byte(cell), '.')
}

// NameUnit takes "T01 [Pa]" apart; unit is empty where there is none.
func NameUnit(s string) (name, unit string) {
	s = strings.TrimSpace(s)
	if base, inside, ok := trailingBracket(s); ok && inside != "" && isUnit(inside) {
		return base, inside
	}
	return s, ""
}

// Units takes the fields of a row as units, with or without brackets, "-" for none; nil
// where one is no unit or none has a dimension.
func Units(fields []string) []string {
	units := make([]string, len(fields))
	real := false
	for i, u := range fields {
		if base, inside, _ := trailingBracket(u); base == "" && inside != "" {
			u = inside
		}
		if units[i] = u; u == "" || u == "-" {
			continue
		}
		unit, err := wake.ParseUnit(u)
		if err != nil {
			return nil
		}
		real = real || !unit.Is(wake.Dimensionless)
	}
	if !real {
		return nil
	}
	return units
}
