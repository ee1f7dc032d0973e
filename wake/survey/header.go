package survey

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"wakeledger/wake"
)

// heading is one column's header, taken apart.
type heading struct {
	raw string // as written, without quotes
	meaning
	name string // without the unit
	unit string // as written; empty where there is none
	// odd is a text in brackets that should be a unit and is not understood.
	odd string
}

// decode makes text of the bytes of a header: UTF-8, or else Windows-1252, which
// older loggers write for ° and ².
func decode(b []byte) string {
	if !utf8.Valid(b) {
		b, _ = charmap.Windows1252.NewDecoder().Bytes(b) // which knows all bytes
	}
	return string(b)
}

func isUnit(s string) bool {
	_, err := wake.ParseUnit(s)
	return err == nil
}

func unitFits(s string, q wake.Quantity) bool {
	u, err := wake.ParseUnit(s)
	if err != nil {
		return false
	}
	_, _, err = u.To(q.Dimension())
	return err == nil
}

// quantityOf is the quantity of a meaning for judging its unit; the components of
// a vector have one dimension.
func quantityOf(m meaning) wake.Quantity {
	switch m.vector {
	case "":
		return m.q
	case "position":
		return wake.X
	}
	return wake.U
}

// parseHeading takes a header apart. The unit may stand in brackets, after a
// comma or a slash (u/(m/s), the way ISO 80000 writes table heads), after " in ",
// after a blank, or after an underscore (x_mm, u_m_s).
func parseHeading(raw string) heading {
	raw = strings.TrimSpace(raw)
	h := heading{raw: raw, name: raw, meaning: unknown}
	if raw == "" || len(raw) > 200 {
		return h
	}
	if base, inside, ok := trailingBracket(raw); ok {
		return bracketHeading(h, base, inside)
	}
	if m := classify(raw); m.known() {
		h.meaning = m
		return h
	}
	// A comma, a slash, a blank or an underscore before a unit of the right kind;
	// the first place where both halves make sense is taken.
	for _, cut := range []string{",", "/", " in ", " ", "_"} {
		for at := 0; ; {
			i := strings.Index(raw[at:], cut)
			if i < 0 {
				break
			}
			at += i + len(cut)
			base, unit := strings.TrimSpace(raw[:at-len(cut)]), strings.TrimSpace(raw[at:])
			m := classify(base)
			if !m.known() {
				continue
			}
			q := quantityOf(m)
			if cut == "_" {
				unit = suffixUnit(unit)
			}
			if cut == "/" && strings.HasPrefix(unit, "(") && strings.HasSuffix(unit, ")") {
				unit = unit[1 : len(unit)-1]
			}
			if unitFits(unit, q) {
				h.name, h.unit, h.meaning = base, unit, m
				return h
			}
		}
	}
	return h
}

// trailingBracket splits "u [m/s]" into "u" and "m/s"; any of the three kinds of
// brackets will do, and they may be nested.
func trailingBracket(s string) (base, inside string, ok bool) {
	if s == "" {
		return "", "", false
	}
	end := s[len(s)-1]
	i := strings.IndexByte(")]}", end)
	if i < 0 {
		return "", "", false
	}
	open := "([{"[i]
	depth := 0
	for j := len(s) - 1; j >= 0; j-- {
		switch s[j] {
		case end:
			depth++
		case open:
			if depth--; depth == 0 {
				return strings.TrimSpace(s[:j]), strings.TrimSpace(s[j+1 : len(s)-1]), j > 0
			}
		}
	}
	return "", "", false
}

// bracketHeading decides what the bracket at the end of a header is: a unit, a
// component (vel[1], Velocity (x)), or a word (p (static)).
func bracketHeading(h heading, base, inside string) heading {
	if cut, ok := strings.CutSuffix(base, "/"); ok { // u/(m/s)
		h.name, h.unit, h.meaning = strings.TrimSpace(cut), inside, classify(cut)
		if !isUnit(inside) {
			h.odd = inside
		}
		return h
	}
	named, full := classify(base), classify(h.raw)
	switch {
	case full.known() && (full.vector != "" || len(inside) == 1 && strings.Contains("xyzijk", strings.ToLower(inside))) && !(named.known() && unitFits(inside, quantityOf(named))):
		h.meaning = full // vel[1], Velocity[j]; a velocity cannot have the unit 1 or J
	case isUnit(inside):
		h.name, h.unit, h.meaning = base, inside, named
	case inside == "":
		h.name, h.meaning = base, named
	case full.known():
		h.meaning = full // Velocity (x), p (static)
	default:
		h.name, h.meaning, h.odd = base, named, inside
	}
	return h
}

// suffixUnits spells out the short forms that names carry after an underscore, where "/"
// and "^" cannot stand: m_s, ms, m2_s2, kg_m3; marks are left out.
var suffixUnits = map[string]string{
	"ms": "m/s", "ms1": "m/s", "kmh": "km/h", "kmh1": "km/h", "fts": "ft/s", "fts1": "ft/s", "mms": "mm/s", "cms": "cm/s",
	"m2s2": "m2/s2", "nm2": "N/m2", "kgm3": "kg/m3",
}

func suffixUnit(s string) string {
	if u, ok := suffixUnits[strings.ToLower(strings.NewReplacer("_", "", "-", "", "^", "", "/", "").Replace(s))]; ok {
		return u
	}
	return s
}
