package rake

import (
	"bytes"
	_ "embed" // the draft
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/template"

	"wakeledger/wake"
)

// Names that loggers give to columns, for drafts alone.
var (
	draftTotal  = regexp.MustCompile(`(?i)^(t|pt|ptot|tot|total|pitot|tube|p0|h)[ _-]?\d+$`)
	draftStatic = regexp.MustCompile(`(?i)^(s|ps|stat|static)[ _-]?\d+$`)
	draftQ      = regexp.MustCompile(`(?i)^(q|qref|q_ref|q_inf|dynamic.*|dyn.*)$`)
	draftP      = regexp.MustCompile(`(?i)^(p_ref|pref|ps_ref|p_inf|p_static_ref|ref_static)$`)
	draftPt     = regexp.MustCompile(`(?i)^(pt_ref|ptref|p0_ref|ref_total|pt_inf)$`)
	draftTime   = regexp.MustCompile(`(?i)^(t|time|clock)$`)
	draftAxis   = regexp.MustCompile(`(?i)^(traverse|trav|pos|position|y|z|x)([ _-]?(x|y|z|pos|position))?$`)
)

//go:embed draft.tmpl
var draftText string

var draftTemplate = template.Must(template.New("draft").Parse(draftText))

// Draft writes a layout for a log from the names of its columns. What a log cannot
// tell, the places of the tubes above all, is a question mark that is refused until it
// is filled in.
func Draft(l *Log) []byte {
	pick := func(re *regexp.Regexp) (out []int) {
		for i, n := range l.Name {
			if re.MatchString(n) {
				out = append(out, i)
			}
		}
		return out
	}
	line := func(key string, list []int, missing string) string {
		if len(list) == 0 {
			return missing
		}
		return fmt.Sprintf("%s = %q%s\n", key, l.Heading[list[0]], l.extent(list[0]))
	}
	names := func(list []int) string {
		var out []string
		for _, i := range list {
			out = append(out, strconv.Quote(l.Heading[i]))
		}
		return strings.Join(out, ", ")
	}
	totals, statics, traverse, pt := pick(draftTotal), pick(draftStatic), pick(draftAxis), pick(draftPt)
	axis := "y"
	for _, a := range []string{"x", "z"} {
		if len(traverse) == 0 {
			break
		}
		if n := strings.ToLower(l.Name[traverse[0]]); n == a || strings.HasSuffix(n, "_"+a) || strings.HasPrefix(n, a+"_") {
			axis = a
		}
	}
	clock := slices.DeleteFunc(pick(draftTime), func(i int) bool {
		u, err := wake.ParseUnit(l.Unit[i])
		return l.Unit[i] != "" && (err != nil || !u.Is(wake.Time))
	})
	needQ := "q = \"?\"\n"
	if len(pt) > 0 {
		needQ = ""
	}
	type group struct{ Kind, Tubes string }
	groups := []group{{"total", names(totals)}}
	if len(totals) == 0 {
		groups[0].Tubes = `"?"`
	}
	if len(statics) > 0 {
		groups = append(groups, group{"static", names(statics)})
	}
	var b bytes.Buffer
	// A template of our own, with all that it names, into memory: it does not fail.
	_ = draftTemplate.Execute(&b, map[string]any{
		"File": strings.Trim(strconv.Quote(base(l.File)), `"`), "Columns": len(l.Name), "Rows": l.Rows(),
		"Traverse":  line(axis, traverse, "y = \"?\"   # the column of the traverse\n"),
		"Reference": line("q", pick(draftQ), needQ) + line("pressure", pick(draftP), "") + line("total", pt, "") + line("time", clock, ""),
		"Readings":  l.readings(totals), "Groups": groups,
	})
	return b.Bytes()
}

func (l *Log) extent(i int) string {
	var v []float64
	if wake.Attempt(func() { v = known(l.numbers(column{field: i}, wake.Dimensionless, true)) }) != nil || len(v) == 0 {
		return ""
	}
	return fmt.Sprintf("   # %.6g to %.6g", slices.Min(v), slices.Max(v))
}

// readings guesses from the tubes' size whether they read against p_ref: a tunnel's
// pressures are within some kPa of it, an atmosphere is 100 kPa.
func (l *Log) readings(totals []int) string {
	var all []float64
	for _, i := range totals {
		// A tube that cannot be read tells nothing.
		_ = wake.Attempt(func() {
			for _, x := range l.numbers(column{field: i, unit: l.Unit[i]}, wake.Pressure, true) {
				all = append(all, math.Abs(x))
			}
		})
	}
	if median(all) > 5e4 {
		return "absolute"
	}
	return "differential"
}
