package rake

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

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

// Draft writes a layout for a log from the names of its columns. What a log cannot
// tell, the places of the tubes above all, stands as a question mark that is refused
// until it is filled in.
func Draft(l *Log) []byte {
	var b strings.Builder
	ref := func(i int) string { return fmt.Sprintf("%q", l.Heading[i]) }
	pick := func(re *regexp.Regexp) []int {
		var out []int
		for i, n := range l.Name {
			if re.MatchString(n) {
				out = append(out, i)
			}
		}
		return out
	}
	totals, statics := pick(draftTotal), pick(draftStatic)
	fmt.Fprintf(&b, "# Drafted from the header of %s: %d columns, %d rows.\n", strings.Trim(strconv.Quote(base(l.File)), `"`), len(l.Name), l.Rows())
	b.WriteString("# Fill in every \"?\" and check the rest; a layout with a question mark is refused.\n\n")
	b.WriteString("title = \"rake survey\"\nframe = \"x aft, y right, z up\"\nattitude = \"vertical\"   # or \"horizontal\", or an angle from y toward z\n\n")
	b.WriteString("[datum]   # where the rake's foot is when the traverse reads 0\nx = \"? m\"\ny = \"0 mm\"\nz = \"0 mm\"\n\n[traverse]\n")
	if list := pick(draftAxis); len(list) > 0 {
		i, axis := list[0], "y"
		for _, a := range []string{"x", "z"} {
			if n := strings.ToLower(l.Name[i]); n == a || strings.HasSuffix(n, "_"+a) || strings.HasPrefix(n, a+"_") {
				axis = a
			}
		}
		fmt.Fprintf(&b, "%s = %s%s\n", axis, ref(i), l.extent(i))
	} else {
		b.WriteString("y = \"?\"   # the column of the traverse\n")
	}
	b.WriteString("\n[reference]\n")
	one := func(key string, re *regexp.Regexp, must bool) {
		for _, i := range pick(re) {
			if key == "time" && l.Unit[i] != "" {
				if u, err := wake.ParseUnit(l.Unit[i]); err != nil || !u.Is(wake.Time) {
					continue
				}
			}
			fmt.Fprintf(&b, "%s = %s%s\n", key, ref(i), l.extent(i))
			return
		}
		if must {
			fmt.Fprintf(&b, "%s = \"?\"\n", key)
		}
	}
	one("q", draftQ, len(pick(draftPt)) == 0)
	one("pressure", draftP, false)
	one("total", draftPt, false)
	one("time", draftTime, false)
	fmt.Fprintf(&b, "readings = %q   # differential: against p_ref; absolute: on its scale\n", l.readings(totals))
	b.WriteString("speed = \"? m/s\"\ndensity = \"? kg/m3\"\n\n")
	b.WriteString("[wind_off]\n# q_below = \"5 Pa\", or rows = [1, 2, 3], or column and value; without them: q below 5 % of its largest\n")
	group := func(kind string, index []int, more string) {
		fmt.Fprintf(&b, "\n[[tubes]]\nkind = %q\ncolumns = [", kind)
		for k, i := range index {
			if k > 0 {
				b.WriteString(", ")
			}
			b.WriteString(ref(i))
		}
		b.WriteString("]\nfirst = \"? mm\"   # place of the first tube along the rake, or a list: along = [\"60 mm\", …]\nstep = \"? mm\"\nacross = \"0 mm\"\n" + more)
	}
	if len(totals) > 0 {
		group("total", totals, "diameter = \"? mm\"\nbore = \"? mm\"\n")
	} else {
		b.WriteString("\n[[tubes]]\nkind = \"total\"\ncolumns = [\"?\"]\nfirst = \"? mm\"\nstep = \"? mm\"\n")
	}
	if len(statics) > 0 {
		group("static", statics, "")
	}
	return []byte(b.String())
}

// extent tells the range of a column, as a comment.
func (l *Log) extent(i int) string {
	v, err := l.numbers(column{field: i}, wake.Dimensionless, true)
	if err != nil {
		return ""
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, x := range v {
		if !math.IsNaN(x) {
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	if lo > hi {
		return ""
	}
	return fmt.Sprintf("   # %.6g to %.6g", lo, hi)
}

// readings guesses from the tubes' size whether they read against p_ref: a tunnel's
// pressures are within some kPa of it, an atmosphere is 100 kPa.
func (l *Log) readings(totals []int) string {
	var all []float64
	for _, i := range totals {
		v, err := l.numbers(column{field: i, unit: l.Unit[i]}, wake.Pressure, true)
		if err != nil {
			continue
		}
		for _, x := range v {
			if !math.IsNaN(x) {
				all = append(all, math.Abs(x))
			}
		}
	}
	if m := median(all); m > 5e4 {
		return "absolute"
	}
	return "differential"
}
