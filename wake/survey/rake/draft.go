package rake

import (
	"cmp"
	_ "embed" // the draft
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

//go:embed draft.tmpl
var draftText string

// called are the names that loggers give to columns (common practice, no source), without the marks
// between words, by the key of a layout. A column belongs to the first that it fits.
var called = []struct{ key, names string }{
	{"x", `(pos|position|trav|traverse)?x(pos|position|trav|traverse)?`},
	{"y", `(pos|position|trav|traverse)?y(pos|position|trav|traverse)?|pos|position|trav|traverse`},
	{"z", `(pos|position|trav|traverse)?z(pos|position|trav|traverse)?`},
	{"q", `q(ref|inf|∞)?|dyn.*`},
	{"total", `(pt|p0)(ref|inf|∞)|reftotal|totalref`},
	{"pressure", `(p|ps|pstatic)(ref|inf|∞)|refstatic|staticref`},
	{"time", `t|time|clock`},
	{"static tubes", `(s|ps|stat|static)[0-9]+`},
	{"total tubes", `(t|p|pt|ptot|tot|total|pitot|tube|h)[0-9]+`},
}

var betweenWords = regexp.MustCompile(`[ _.-]+`)

// Draft writes a layout with the columns of a log, each where its name puts it. What a log cannot
// tell, the places of the tubes above all, is a question mark that is refused until it is filled in.
func Draft(l *Log) []byte {
	columns := map[string][]string{} // by key
	for i, name := range l.Name {
		key := ""
		for _, c := range called {
			if regexp.MustCompile("(?i)^(" + c.names + ")$").MatchString(betweenWords.ReplaceAllString(name, "")) {
				key = c.key
				break
			}
		}
		if columns[key] != nil && !strings.HasSuffix(key, "tubes") {
			key = ""
		}
		columns[key] = append(columns[key], strconv.Quote(l.Heading[i]))
	}
	line := func(key, missing string) string {
		if columns[key] == nil {
			return missing
		}
		return key + " = " + columns[key][0] + "\n"
	}
	tubes := func(kind string) string { return cmp.Or(strings.Join(columns[kind+" tubes"], ", "), `"?"`) }
	total, left := line("total", ""), ""
	q := line("q", "")
	if total == "" {
		q = cmp.Or(q, "q = \"?\" # the dynamic pressure, or total in its place\n")
	}
	if columns[""] != nil {
		left = "# Not placed: " + strings.Join(columns[""], ", ") + "\n"
	}
	return fmt.Appendf(nil, draftText, strings.Trim(strconv.Quote(base(l.File)), `"`), left,
		cmp.Or(line("x", "")+line("y", "")+line("z", ""), "y = \"?\"\n"),
		q+total+line("pressure", "# pressure = \"?\"\n")+line("time", "# time = \"?\"\n"), tubes("total"), tubes("static"))
}
