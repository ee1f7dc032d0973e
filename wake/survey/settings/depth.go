package settings

import (
	"bytes"
	"fmt"

	"wakeledger/wake"
)

// mostTOMLDepth is how many parts a key may have, and how deep brackets may be nested:
// several times what any file of ours needs. A parser keeps a table for each part, and
// its path: 100,000 parts took 4 GB.
const mostTOMLDepth = 32

// checkDepth refuses a text of TOML whose keys have more parts, or whose brackets are
// nested deeper, than mostTOMLDepth. It looks at brackets and dots outside of strings and
// comments and leaves all else to the parser.
func checkDepth(name string, data []byte) error {
	depth, parts := 0, 1
	for i := 0; i < len(data); i++ {
		switch c := data[i]; c {
		case '#':
			if n := bytes.IndexByte(data[i:], '\n'); n >= 0 {
				i += n - 1
			} else {
				i = len(data)
			}
		case '"', '\'':
			i = endOfString(data, i)
		case '.':
			parts++
		case '[', '{':
			depth++
			parts = 1
		case ']', '}':
			depth--
			parts = 1
		case ',', '=':
			parts = 1
		case '\n':
			parts = 1
		}
		if depth > mostTOMLDepth || parts > mostTOMLDepth {
			start := bytes.LastIndexByte(data[:i], '\n') + 1
			what := "brackets are nested"
			if parts > mostTOMLDepth {
				what = "a key has parts"
			}
			return &wake.InputError{
				File: name, Line: bytes.Count(data[:i], []byte("\n")) + 1, Column: i - start + 1,
				Text: fmt.Sprintf("%s more than %d deep", what, mostTOMLDepth), Cure: "write the tables that the manual shows; none is as deep",
			}
		}
	}
	return nil
}

// endOfString is the place of the last quote of the string that begins at i, or the end
// of the data, or of the line for a string of one line.
func endOfString(data []byte, i int) int {
	quote := data[i]
	long := i+2 < len(data) && data[i+1] == quote && data[i+2] == quote
	if long {
		i += 2
	}
	for i++; i < len(data); i++ {
		switch c := data[i]; {
		case c == '\\' && quote == '"':
			i++
		case c == '\n' && !long:
			return i - 1
		case c == quote && !long:
			return i
		case c == quote && i+2 < len(data) && data[i+1] == quote && data[i+2] == quote:
			return i + 2
		}
	}
	return len(data)
}
