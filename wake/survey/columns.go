package survey

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake"
)

type column struct {
	present bool
	field   int // −1 for a value that the options give
	value   float64
	wake.Source
	// kinematic: a pressure over density, to be multiplied by density.
	kinematic bool
}

type request struct {
	text     string // as given
	name     string
	unit     string
	constant bool
}

// parseRequest reads `NAME [unit]`, or `= VALUE unit` for a value that holds for
// all samples.
func parseRequest(text string) request {
	t := strings.TrimSpace(text)
	r := request{text: text}
	if v, ok := strings.CutPrefix(t, "="); ok {
		return request{text: text, name: strings.TrimSpace(v), constant: true}
	}
	r.name, r.unit = NameUnit(t)
	return r
}

func wantedNames(opt *Options) []string {
	var names []string
	for q := wake.Quantity(0); q < wake.NumQuantities; q++ {
		if text, ok := opt.Columns[q]; ok {
			r := parseRequest(text)
			if !r.constant {
				names = append(names, r.name, strings.TrimSpace(r.text))
			}
		}
	}
	return names
}

// naming knows the names that are understood, and those that the options ask for.
func (opt *Options) naming() naming {
	wanted := wantedNames(opt)
	return naming{2, func(h heading) bool {
		return h.known() || slices.ContainsFunc(wanted, func(w string) bool { return strings.EqualFold(w, h.raw) || strings.EqualFold(w, h.name) })
	}}
}

// layout is what the columns of a file are taken for, and what is done with each field
// of a row.
type layout struct {
	name    string
	d       *dialect
	opt     *Options
	cols    [wake.NumQuantities]column
	ignored []string // names that are left over
	doubts  []wake.Warning
	// slot[f] is the column of the table that field f goes to, −1 for a field that is
	// passed over; quantity[slot] is what the column holds. Positions come first.
	slot     []int8
	quantity []wake.Quantity
}

// assign settles the columns and their units.
func assign(name string, d *dialect, opt *Options) *layout {
	a := &layout{name: name, d: d, opt: opt, slot: slices.Repeat([]int8{-1}, d.fields)}
	a.explicit()
	a.byName()
	var missing []string
	for q := wake.X; q <= wake.Z; q++ {
		if !a.cols[q].present {
			missing = append(missing, q.String())
		}
	}
	if len(missing) > 0 {
		a.noCoordinate(missing)
	}
	for q, c := range a.cols {
		if !c.present || c.field < 0 {
			continue
		}
		a.settleUnit(wake.Quantity(q))
		a.slot[c.field] = int8(len(a.quantity))
		a.quantity = append(a.quantity, wake.Quantity(q))
	}
	for i, h := range d.headings {
		if a.slot[i] < 0 && h.raw != "" {
			a.ignored = append(a.ignored, h.raw)
		}
	}
	return a
}

func (a *layout) errorAt(line, column int, text, cure string) error {
	return &wake.InputError{File: a.name, Line: line, Column: column, Text: text, Cure: cure}
}

// fail is an error at field i (from 0) of the header, or of the first row where
// there is no header; i < 0 is the whole line.
func (a *layout) fail(i int, text, cure string) error {
	line := a.d.headerLine
	if a.d.headings == nil {
		line = a.d.startLine
	}
	return a.errorAt(line, i+1, text, cure)
}

func (a *layout) doubt(code, text, cure string) {
	a.doubts = append(a.doubts, wake.Warning{Code: code, Where: a.name, Text: text, Cure: cure})
}

func (a *layout) refuse(i int, text, cure string) { wake.Stop(a.fail(i, text, cure)) }

func (a *layout) label(i int) string {
	if a.d.headings == nil || a.d.headings[i].raw == "" {
		return "column " + strconv.Itoa(i+1)
	}
	return shorten(a.d.headings[i].raw)
}

func (a *layout) explicit() {
	for q := wake.Quantity(0); q < wake.NumQuantities; q++ {
		text, ok := a.opt.Columns[q]
		if !ok {
			continue
		}
		r := parseRequest(text)
		if r.constant {
			v, unit, err := wake.ParseValue(r.name, q.Dimension())
			kinematic := false
			if q.Dimension() == wake.Pressure {
				v, unit, kinematic, err = wake.ParsePressure(r.name)
			}
			if err != nil {
				a.refuse(-1, fmt.Sprintf("--column %s=%q: %v", q, text, err), "write it like --column "+q.String()+`="= 1.5 `+q.Unit()+`"`)
			}
			a.cols[q] = column{present: true, field: -1, value: v, Source: wake.Source{Name: "=" + r.name, Unit: unit, By: cmp.Or(a.opt.By, "flag"), Factor: 1}, kinematic: kinematic}
			continue
		}
		i, unit, absent := a.find(q, r)
		if absent != nil && a.opt.absent != nil {
			a.opt.absent[q] = absent
			continue
		}
		wake.Stop(absent)
		if p := a.owner(i); p < q {
			a.refuse(i, fmt.Sprintf("--column gives %q to both %s and %s", a.label(i), p, q), "name another column for one of them")
		}
		c := column{present: true, field: i, Source: wake.Source{Name: "column " + strconv.Itoa(i+1), By: cmp.Or(a.opt.By, "flag"), Unit: unit}}
		if a.d.headings != nil {
			h := a.d.headings[i]
			c.Name = h.name
			if unit == "" {
				c.Unit = h.unit
			} else if otherUnit(h.unit, unit) {
				a.doubt("unit-overridden", fmt.Sprintf("column %q is taken in %s, as the %s says", h.raw, unit, cmp.Or(a.opt.By, "flag")),
					"leave the unit out to have the heading's own")
			}
		}
		a.cols[q] = c
	}
}

// owner is the quantity that a field is taken for, NumQuantities for none.
func (a *layout) owner(field int) wake.Quantity {
	for q, c := range a.cols {
		if c.present && c.field == field {
			return wake.Quantity(q)
		}
	}
	return wake.NumQuantities
}

func otherUnit(a, b string) bool {
	u, err := wake.ParseUnit(a)
	if a == "" || err != nil {
		return false
	}
	v, err := wake.ParseUnit(b)
	return err == nil && u.Factor != v.Factor
}

// find looks a requested column up: the whole header first, then the name
// without its unit, each as written and then in any case, and a number last. It
// returns the unit that the request carries, and an error where the file lacks the column.
func (a *layout) find(q wake.Quantity, r request) (field int, unit string, absent error) {
	for _, try := range []struct {
		text, unit string
		of         func(h heading) string
	}{
		{strings.TrimSpace(r.text), "", func(h heading) string { return h.raw }},
		{r.name, r.unit, func(h heading) string { return h.raw }},
		{r.name, r.unit, func(h heading) string { return h.name }},
	} {
		for _, same := range []func(a, b string) bool{func(a, b string) bool { return a == b }, strings.EqualFold} {
			fits := func(h heading) bool { return same(try.of(h), try.text) }
			i := slices.IndexFunc(a.d.headings, fits)
			if i < 0 {
				continue
			}
			if j := slices.IndexFunc(a.d.headings[i+1:], fits); j >= 0 {
				a.refuse(i+1+j, fmt.Sprintf("--column %s=%q fits columns %d and %d", q, r.text, i+1, i+j+2), fmt.Sprintf("give the number: --column %s=%d", q, i+j+2))
			}
			return i, try.unit, nil
		}
	}
	if n, err := strconv.Atoi(r.name); err == nil {
		if !(1 <= n && n <= a.d.fields) {
			a.refuse(-1, fmt.Sprintf("--column %s=%q: a row has %d fields", q, r.text, a.d.fields), "count from 1")
		}
		return n - 1, r.unit, nil
	}
	if a.d.headings == nil {
		return 0, "", a.fail(-1, fmt.Sprintf("--column %s=%q: the file has no header", q, r.text), fmt.Sprintf("give the number of the column: --column %s=%d", q, int(q)+1))
	}
	return 0, "", a.fail(-1, fmt.Sprintf("--column %s=%q: no column has that name", q, r.text), "the columns are "+a.list())
}

func shorten(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:37]) + "…"
	}
	return s
}

func (a *layout) list() string {
	var names []string
	for _, h := range a.d.headings[:min(len(a.d.headings), 20)] {
		names = append(names, strconv.Quote(shorten(h.raw)))
	}
	return strings.Join(names, ", ")
}

func (a *layout) byName() {
	ms := make([]meaning, len(a.d.headings))
	for i, h := range a.d.headings {
		ms[i] = h.meaning
		if !h.known() {
			ms[i].q = wake.NumQuantities
		}
	}
	settleIndices(ms)
	for i, m := range ms {
		q := m.q
		if q >= wake.NumQuantities || a.owner(i) < wake.NumQuantities || a.cols[q].present && a.cols[q].By != "file" {
			continue
		}
		h := a.d.headings[i]
		if a.cols[q].present {
			first := a.cols[q].field
			choice := h.raw
			if strings.EqualFold(h.raw, a.d.headings[first].raw) {
				choice = strconv.Itoa(i + 1)
			}
			a.refuse(i, fmt.Sprintf("columns %q (%d) and %q (%d) both say that they are %s", a.d.headings[first].raw, first+1, h.raw, i+1, q),
				fmt.Sprintf("choose with --column %s=%q", q, choice))
		}
		if h.odd != "" {
			a.refuse(i, fmt.Sprintf("the unit %q of column %q is not understood", h.odd, h.raw), fmt.Sprintf("give it with --column %s=\"%d [%s]\"", q, i+1, q.Unit()))
		}
		c := column{present: true, field: i, Source: wake.Source{Name: h.name, Unit: h.unit, By: "file"}}
		if m.kinematic && c.Unit == "" {
			c.Unit = "m2/s2"
		}
		a.cols[q] = c
	}
}

// fewTubes are the fewest columns of tubes that a rake's log is told by; planes have pt, p and
// perhaps a dynamic pressure.
const fewTubes = 4

// noCoordinate says which coordinates the file lacks. A unit in the cure would be
// copied though the heading has the right one.
func (a *layout) noCoordinate(missing []string) {
	names, q := strings.Join(missing, ", "), missing[0]
	if a.d.headings == nil {
		n := strings.Index("xyz", q) + 1
		a.refuse(-1, fmt.Sprintf("the rows have %d fields and no header says which of them is %s", a.d.fields, names),
			fmt.Sprintf("number the columns: --column %s=%d and so on, with the unit where it is not SI: --column %s=\"%d [mm]\"", q, n, q, n))
	}
	tubes := 0
	for _, h := range a.d.headings {
		if unitFits(h.unit, wake.P) || strings.TrimRight(h.name, "0123456789") != h.name {
			tubes++
		}
	}
	if len(missing) == 3 && tubes >= fewTubes {
		a.refuse(-1, fmt.Sprintf("no column is understood as %s, but %d are pressures or numbered: it is probably the log of a rake, whose positions are in a layout (rake --draft-layout)", names, tubes),
			fmt.Sprintf(`begin with wakeledger rake --draft-layout LOG > rake.toml; of a plane, name the positions with --column %s="NAME"`, q))
	}
	a.refuse(-1, fmt.Sprintf("no column is understood as %s; the columns are %s", names, a.list()),
		fmt.Sprintf(`name each with --column %s="NAME", or "NAME [mm]" where the heading tells no unit, or give one value for all with --column %s="= 2.9 m"`, q, q))
}

// settleUnit finds the unit of a column (the option's own, the header's, the row of
// units', in this order) and its factor.
func (a *layout) settleUnit(q wake.Quantity) {
	c := &a.cols[q]
	if c.Unit == "" && a.d.units != nil {
		c.Unit = a.d.units[c.field]
		if c.Unit == "-" && q.Dimension() != wake.Dimensionless {
			c.Unit = "" // a dash in a row of units says nothing
		}
	}
	c.Factor = 1
	if c.Unit == "" {
		return
	}
	cure := fmt.Sprintf("give the unit with --column %s=\"%d [%s]\"", q, c.field+1, q.Unit())
	u, err := wake.ParseUnit(c.Unit)
	if err == nil {
		c.Factor, c.kinematic, err = u.To(q.Dimension())
	}
	if err != nil {
		a.refuse(c.field, fmt.Sprintf("column %q, %s: %v", a.label(c.field), q, err), cure)
	}
}
