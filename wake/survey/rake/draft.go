package rake

import (
	_ "embed" // the draft
	"fmt"
	"strconv"
	"strings"
)

//go:embed draft.tmpl
var draftText string

// Draft writes a layout with the columns of a log. What a log cannot tell, which column is what
// and the places of the tubes, is a question mark that is refused until it is filled in.
func Draft(l *Log) []byte {
	var columns []string
	for _, h := range l.Heading {
		columns = append(columns, strconv.Quote(h))
	}
	return fmt.Appendf(nil, draftText, strings.Trim(strconv.Quote(base(l.File)), `"`), strings.Join(columns, ", "))
}
