package rake

import (
	"bytes"
	_ "embed" // the draft
	"regexp"
	"strconv"
	"strings"
	"text/template"
)

//go:embed draft.tmpl
var draftText string

var draftTemplate = template.Must(template.New("draft").Parse(draftText))

// Draft writes a layout for a log from the names that loggers give to columns. What a log cannot
// tell, the places of the tubes above all, is a question mark that is refused until it
// is filled in.
func Draft(l *Log) []byte {
	pick := func(names string) (out []string) {
		known := regexp.MustCompile("(?i)^(" + names + ")$")
		for i, n := range l.Name {
			if known.MatchString(n) {
				out = append(out, strconv.Quote(l.Heading[i]))
			}
		}
		return out
	}
	one := func(key, names, missing string) string {
		if list := pick(names); list != nil {
			return key + " = " + list[0] + "\n"
		}
		return missing
	}
	total := one("total", "pt_ref|ptref|p0_ref|ref_total|pt_inf", "")
	needQ := "q = \"?\"\n"
	if total != "" {
		needQ = ""
	}
	type group struct{ Kind, Tubes string }
	groups := []group{{"total", `"?"`}}
	if list := pick(`(t|pt|ptot|tot|total|pitot|tube|p0|h)[ _-]?\d+`); list != nil {
		groups[0].Tubes = strings.Join(list, ", ")
	}
	if list := pick(`(s|ps|stat|static)[ _-]?\d+`); list != nil {
		groups = append(groups, group{"static", strings.Join(list, ", ")})
	}
	var b bytes.Buffer
	// A template of our own, with all that it names, into memory: it does not fail.
	_ = draftTemplate.Execute(&b, map[string]any{
		"File": strings.Trim(strconv.Quote(base(l.File)), `"`), "Columns": len(l.Name), "Rows": l.Rows(), "Groups": groups,
		"Traverse": one("y", "(traverse|trav|pos|position|y|z|x)([ _-]?(x|y|z|pos|position))?", "y = \"?\"\n"),
		"Reference": one("q", "q|qref|q_ref|q_inf|dynamic.*|dyn.*", needQ) +
			one("pressure", "p_ref|pref|ps_ref|p_inf|p_static_ref|ref_static", "") + total + one("time", "t|time|clock", ""),
	})
	return b.Bytes()
}
