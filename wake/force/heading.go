package force

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/settings"
)

// columns says where a record has what, and what takes it to s and m².
type columns struct {
	time       int
	timeFactor float64
	drag       []column // the total, if there is one, then the parts
	total      bool
}

// column is one of drag. Dim is that of its values: a force, a surface or none.
type column struct {
	at      int
	name    string // without unit
	heading string
	dim     wake.Dimension
	factor  float64
}

// across are names of what is no drag although it is a force.
var across = []string{"lift", "side", "down", "fy", "fz", "cl", "cs", "cy", "cz", "cm", "moment", "pitch", "roll", "yaw", "torque", "time", "weight"}

// bare is a name without what divides its words.
var bare = strings.NewReplacer(" ", "", "_", "", "-", "", `"`, "", ".", "")

// How a column counts: as the drag of all, as that of a part, as that of a part if its unit
// says so, or not at all.
type role int

const (
	none role = iota
	total
	part
	byUnit
)

func isTime(name string) bool {
	n := bare.Replace(strings.ToLower(name))
	return n == "time" || n == "t"
}

// names reports whether a heading is one of a record: a time or a drag.
func names(heading string) bool {
	name, _ := survey.NameUnit(heading)
	how, _ := roleOf(name)
	return isTime(name) || how == total || how == part
}

// roleOf says how a column of a name counts, and what its values are without a unit.
func roleOf(name string) (role, wake.Dimension) {
	switch bare.Replace(strings.ToLower(name)) {
	case "drag", "force", "fx", "dragforce":
		return total, wake.Force
	case "dragarea", "cda":
		return total, wake.Surface
	case "cd", "dragcoefficient":
		return total, wake.Dimensionless
	}
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" _-.:", r) })
	if len(words) == 0 || slices.ContainsFunc(words, func(w string) bool { return slices.Contains(across, w) }) {
		return none, 0
	}
	for _, w := range []string{words[0], words[len(words)-1]} {
		switch w {
		case "drag", "fx":
			return part, wake.Force
		case "cda":
			return part, wake.Surface
		case "cd":
			return part, wake.Dimensionless
		}
	}
	return byUnit, 0
}

const headingCure = "name the columns as in: time [s],drag [N]"

// heading reads the header; what is wrong with it is text, with what would fix it.
//
// The total is a column of drag, drag_area or a drag coefficient, the first kind of these
// where there are several. Parts are the other columns of the same kind: those with a unit
// of it, and those whose name begins or ends with drag, CdA or Cd. Without a total it is the
// sum of the parts.
func heading(fields []string, opt *Options) (c columns, text, cure string) {
	c.time = -1
	cure = headingCure
	var totals, parts []column
	for k, f := range fields {
		name, unit := survey.NameUnit(f)
		if isTime(name) {
			if c.time >= 0 {
				return c, fmt.Sprintf("columns %d and %d are both the time", c.time+1, k+1), cure
			}
			factor, err := factorOf(unit, wake.Time)
			if err != nil {
				return c, fmt.Sprintf("column %d: %v", k+1, err), cure
			}
			c.time, c.timeFactor = k, factor
			continue
		}
		how, dim := roleOf(name)
		if how == part || how == byUnit {
			for _, d := range []wake.Dimension{wake.Force, wake.Surface} {
				if _, err := factorOf(unit, d); unit != "" && err == nil {
					how, dim = part, d
				}
			}
		}
		if how == none || how == byUnit {
			continue
		}
		factor, err := factorOf(unit, dim)
		if err != nil {
			return c, fmt.Sprintf("column %d: %v", k+1, err), cure
		}
		switch dim {
		case wake.Force:
			factor /= opt.Dynamic
		case wake.Dimensionless:
			factor *= opt.Area
		}
		col := column{at: k, name: name, heading: strings.TrimSpace(f), dim: dim, factor: factor}
		if how == total {
			totals = append(totals, col)
		} else {
			parts = append(parts, col)
		}
	}
	if text := c.choose(totals, parts); text != "" {
		return c, text, cure
	}
	if c.time < 0 || len(c.drag) == 0 {
		return c, fmt.Sprintf("the header %s names no time or no drag", settings.Quote(strings.Join(fields, ", "))), cure
	}
	if text, cure := opt.lacks(c.drag[0]); text != "" {
		return c, text, cure
	}
	return c, "", ""
}

// lacks says what has to be known to take a column to a drag area, and is not.
func (o *Options) lacks(d column) (text, cure string) {
	switch {
	case d.dim == wake.Force && !(o.Dynamic > 0):
		return fmt.Sprintf("column %d, %s, is a force, and the density is not known", d.at+1, settings.Quote(cmp.Or(d.heading, d.name))), "give --density, or density in [reference], or record drag_area [m2]"
	case d.dim == wake.Dimensionless && o.Area == 0:
		return fmt.Sprintf("column %d, %s, is a coefficient, and the area that it was formed with is not known", d.at+1, settings.Quote(d.heading)), "give frontal_area in [reference], or record drag [N] or drag_area [m2]"
	}
	return "", ""
}

// choose takes the first kind of totals that there is, and the parts of that kind.
func (c *columns) choose(totals, parts []column) (text string) {
	for _, dim := range []wake.Dimension{wake.Force, wake.Surface, wake.Dimensionless} {
		other := func(x column) bool { return x.dim != dim }
		t, p := slices.DeleteFunc(slices.Clone(totals), other), slices.DeleteFunc(slices.Clone(parts), other)
		if len(t) > 1 {
			return fmt.Sprintf("columns %d and %d are both the drag", t[0].at+1, t[1].at+1)
		}
		if len(t) == 1 || len(totals) == 0 && len(p) > 0 {
			c.total, c.drag = len(t) == 1, append(t, p...)
			return ""
		}
	}
	return ""
}

// factorOf takes a unit to SI; an empty one is SI.
func factorOf(unit string, dim wake.Dimension) (float64, error) {
	if unit == "" {
		return 1, nil
	}
	x, _, err := wake.ParseValue("1 "+unit, dim)
	return x, err
}
