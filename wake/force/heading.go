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
	// assumed: the file gives no unit, and that of the SI is taken.
	assumed bool
}

// across are names of what is no drag although it is a force.
var across = []string{"lift", "side", "down", "fy", "fz", "cl", "cs", "cy", "cz", "cm", "moment", "pitch", "roll", "yaw", "torque", "time", "weight"}

// bare is a name without what divides its words.
var bare = strings.NewReplacer(" ", "", "_", "", "-", "", `"`, "", ".", "")

// averaged reports whether the name of a column says that its values are means: those of a running mean hardly
// scatter, which tells nothing of how well the mean is known.
func averaged(name string) bool {
	whole := bare.Replace(strings.ToLower(name))
	return slices.ContainsFunc([]string{"mean", "avg", "average", "averaged"}, func(w string) bool {
		return strings.HasPrefix(whole, w) || strings.HasSuffix(whole, w)
	})
}

// How a column counts: as the time, as the drag of all, as that of a part, or not at all.
type role int

const (
	none role = iota
	clock
	total
	part
)

// kinds are those of drag, the first before the others: the names of all of it, without marks,
// and the words with which the name of a part begins or ends.
var kinds = []struct {
	dim         wake.Dimension
	total, part []string
}{
	{wake.Force, []string{"drag", "force", "fx", "dragforce"}, []string{"drag", "fx"}},
	{wake.Surface, []string{"dragarea", "cda"}, []string{"cda"}},
	{wake.Dimensionless, []string{"cd", "dragcoefficient"}, []string{"cd"}},
}

// roleOf says how a column counts, and what its values are. A part may have any name if it has
// the unit of a force or an area, and the total then be called so and no more.
func roleOf(heading string) (how role, dim wake.Dimension, unit string) {
	name, unit := survey.NameUnit(heading)
	name = strings.ToLower(name)
	whole := bare.Replace(name)
	if whole == "time" || whole == "t" {
		return clock, wake.Time, unit
	}
	of := whole
	for _, w := range []string{"total", "sum"} {
		of = strings.TrimSuffix(strings.TrimPrefix(of, w), w)
	}
	for _, k := range kinds {
		_, err := factorOf(unit, k.dim)
		if slices.Contains(k.total, of) || of == "" && whole != "" && unit != "" && k.dim != wake.Dimensionless && err == nil {
			return total, k.dim, unit
		}
	}
	words := strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(" _-.:", r) })
	if len(words) == 0 || slices.ContainsFunc(words, func(w string) bool { return slices.Contains(across, w) }) {
		return none, 0, unit
	}
	for _, d := range []wake.Dimension{wake.Force, wake.Surface} {
		if _, err := factorOf(unit, d); unit != "" && err == nil {
			return part, d, unit
		}
	}
	for _, k := range kinds {
		if slices.Contains(k.part, words[0]) || slices.Contains(k.part, words[len(words)-1]) {
			return part, k.dim, unit
		}
	}
	return none, 0, unit
}

// heading reads the header; what is wrong with it is text, with what would fix it.
//
// The total is a column of drag, drag_area or a drag coefficient, the first kind of these
// where there are several. Parts are the other columns of the same kind. Without a total it is
// the sum of the parts.
func heading(fields []string, opt *Options) (c columns, text, cure string) {
	c.time = -1
	cure = "name the columns as in: time [s],drag [N]"
	by := map[role][]column{}
	for k, f := range fields {
		how, dim, unit := roleOf(f)
		if how == none {
			continue
		}
		factor, err := factorOf(unit, dim)
		switch {
		case err != nil:
			return c, fmt.Sprintf("column %d: %v", k+1, err), cure
		case how == clock && c.time >= 0:
			return c, fmt.Sprintf("columns %d and %d are both the time", c.time+1, k+1), cure
		case how == clock:
			c.time, c.timeFactor = k, factor
			continue
		case dim == wake.Force:
			factor /= opt.Dynamic
		case dim == wake.Dimensionless:
			factor *= opt.Area
		}
		name, _ := survey.NameUnit(f)
		by[how] = append(by[how], column{at: k, name: name, heading: strings.TrimSpace(f), dim: dim, factor: factor, assumed: unit == "" && dim != wake.Dimensionless})
	}
	for _, k := range kinds {
		other := func(x column) bool { return x.dim != k.dim }
		t, p := slices.DeleteFunc(slices.Clone(by[total]), other), slices.DeleteFunc(slices.Clone(by[part]), other)
		if len(t) > 1 {
			return c, fmt.Sprintf("columns %d and %d are both the drag", t[0].at+1, t[1].at+1), cure
		}
		if len(t) == 1 || len(by[total]) == 0 && len(p) > 0 {
			c.total, c.drag = len(t) == 1, append(t, p...)
			break
		}
	}
	if c.time < 0 || len(c.drag) == 0 {
		return c, fmt.Sprintf("the header %s names no time or no drag", settings.Quote(strings.Join(fields, ", "))), cure
	}
	if k := slices.IndexFunc(c.drag, func(d column) bool { return averaged(d.name) }); k >= 0 {
		return c, fmt.Sprintf("column %d, %s, is by its name a mean over time: its scatter tells nothing of how well the mean is known", c.drag[k].at+1, settings.Quote(c.drag[k].heading)), "leave the column out, and record the drag of each step"
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

// factorOf takes a unit to SI; an empty one is SI.
func factorOf(unit string, dim wake.Dimension) (float64, error) {
	if unit == "" {
		return 1, nil
	}
	x, _, err := wake.ParseValue("1 "+unit, dim)
	return x, err
}
