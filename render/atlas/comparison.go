package atlas

import (
	"context"
	"fmt"
	"image"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Comparison draws, for each quantity, a sheet with a row a variant: baseline,
// variant, difference. ms are the measurements on the common samples, the
// baseline first, and names what to call them. When ctx ends, no further sheet is begun.
func Comparison(ctx context.Context, c *compare.Comparison, ms []*measure.Measurement, names []string, o Options) ([]File, error) {
	o, err := o.sharing(ms)
	if err != nil {
		return nil, err
	}
	return o.each(ctx, func(q string) (*File, error) {
		rows, err := o.compared(c, ms, names, q)
		if err != nil || rows == nil {
			return nil, err
		}
		return o.sheet(rows)
	})
}

// The picture of Pair fills the width of a page of A4, 186 mm.
const pairDPI = 220

var pairSize = image.Pt(1610, 900)

// Pair draws one comparison of a study, for paper: the baseline and the
// variant with the largest change of the quoted drag, else the first, in the first quantity at
// the foremost station that has both. It is nil where none has.
func Pair(ctx context.Context, out *study.Outcome, fields []study.Fields, o Options) (*File, error) {
	o, err := o.study(ctx, fields)
	if err != nil {
		return nil, err
	}
	o = o.magnified(out)
	o.Theme, o.Size, o.DPI = render.Light, pairSize, pairDPI
	change := map[string]float64{}
	for _, st := range out.Stations {
		for k, name := range st.Variants {
			if c := st.Comparison; st.Name == out.Headline && c != nil && k < len(c.Variants) && c.Variants[k].Delta != nil {
				change[name] = math.Abs(c.Variants[k].Delta.DragArea)
			}
		}
	}
	for s, st := range out.Stations {
		if st.Comparison == nil || len(fields[s].Compared) != len(st.Variants)+1 {
			continue
		}
		best := 0
		for k, name := range st.Variants {
			if change[name] > change[st.Variants[best]] {
				best = k
			}
		}
		c, ms := *st.Comparison, fields[s].Compared
		c.Variants = c.Variants[best : best+1]
		o.station = shown(st.Name) + ", "
		for _, q := range o.quantities() {
			rows, err := o.compared(&c, []*measure.Measurement{ms[0], ms[best+1]}, []string{out.Baseline, st.Variants[best]}, q)
			if err != nil {
				return nil, err
			}
			if rows == nil {
				continue
			}
			f, err := o.sheet(rows)
			if err != nil {
				return nil, err
			}
			f.Station = st.Name
			return f, ctx.Err()
		}
	}
	return nil, nil
}

// changes gives the fields of measurements on common samples, and what each of the others
// has more than the first, nil where a plane lacks it.
func changes(ms []*measure.Measurement, quantity string) (fields, diffs []field, err error) {
	for k, m := range ms {
		f, err := fieldOf(m, quantity)
		if err != nil {
			return nil, nil, err
		}
		fields = append(fields, f)
		if k == 0 {
			continue
		}
		d := field{mesh: fields[0].mesh}
		if f.values != nil && fields[0].values != nil {
			d.values = make([]float64, len(f.values))
			floats.SubTo(d.values, f.values, fields[0].values)
		}
		diffs = append(diffs, d)
	}
	return fields, diffs, nil
}

// compared is a quantity of one comparison, ready to draw: a row for each variant that
// has it. names are those of the baseline and the variants in the rows.
type compared struct {
	scales
	// along is the scale of changes beside those of other stations.
	along render.Scale
	// left says that samples are left out where another plane has none.
	left     string
	quantity string
	base     *measure.Measurement
	names    []string
	rows     []render.Row
}

// compared is nil where the baseline or all variants lack the quantity.
func (o Options) compared(c *compare.Comparison, ms []*measure.Measurement, names []string, quantity string) (*compared, error) {
	p, err := o.policy(quantity)
	if err != nil {
		return nil, err
	}
	fields, diffs, err := changes(ms, quantity)
	if err != nil || !slices.ContainsFunc(diffs, func(f field) bool { return f.values != nil }) {
		return nil, err
	}
	q := &compared{scales: scales{policy: p}, quantity: quantity, base: ms[0], names: names[:1:1]}
	if q.plain, err = o.scale(quantity, p, fields); err != nil {
		return nil, err
	}
	if q.change, err = o.changeScale(quantity, p, diffs); err != nil {
		return nil, err
	}
	q.along = q.change
	if s, ok := o.shared.scales[quantity]; ok {
		q.along = s.change
	}
	side := func(k int) render.Panel {
		p := o.panel(ms[k], fields[k], q.plain)
		p.Heading, p.Boxes = shown(names[k]), boxes(ms[0].Result)
		lines, name := o.outline(ms[k])
		p.Outlines = append(p.Outlines, render.Outline{Lines: lines, Name: name})
		o.crossflow(&p, ms[k])
		return p
	}
	lines, _ := o.outline(ms[0])
	base := side(0)
	q.left = leftOut(c)
	for k, v := range c.Variants {
		if diffs[k].values == nil {
			continue
		}
		r := render.Row{Baseline: base, Variant: side(k + 1), Difference: o.panel(ms[0], diffs[k], q.change)}
		r.Difference.Heading = r.Variant.Heading + " − " + base.Heading
		if d := v.Delta; d != nil {
			r.Difference.Heading += ", " + d.Number(d.DragArea, &d.Budget, uncertainty.Format{Scale: 1, Decimals: 5, Unit: "m²"}) + ": " + d.Verdict
		}
		r.Difference.Doubt = doubt(ms[0], ms[k+1], quantity)
		r.Compare(lines, nil, true)
		arrows, verdicts := moves(c, k)
		for i := range arrows[:min(len(arrows), mostArrows)] {
			arrows[i].Magnify = o.magnify
			r.Compare(nil, &arrows[i], verdicts[i] == uncertainty.NotJudged)
		}
		q.names, q.rows = append(q.names, names[k+1]), append(q.rows, r)
	}
	return q, nil
}

// leftOut says that the hatch of a comparison is not a body alone.
func leftOut(c *compare.Comparison) string {
	for _, w := range c.Warnings {
		if w.Code == "common-samples" {
			return " · hatched too: samples left out of the comparison, where another configuration has none"
		}
	}
	return ""
}

// mostArrows is how many moves a panel shows before their labels hide it.
const mostArrows = 4

// sheet draws what is compared.
func (o Options) sheet(q *compared) (*File, error) {
	base, p := q.base.Result, q.policy
	view, part := o.view(q.base.Plane.Normal, q.base.Plane.Mesh.Window())
	sheet := o.newSheet(q.scales, p.Label+": baseline, variant and change", o.station+"plane "+o.where(base))
	sheet.View, sheet.Rows, sheet.Footer = view, q.rows, footer(base)+formula(p)+part+q.left
	if t, ok := outlineAt(base); ok {
		sheet.Footer += fmt.Sprintf(" · outlines at %s = %g", weightFormula(base), t)
	}
	return o.sheetFile(sheet, sheet.Title+", "+sheet.Subtitle, base, q.scales, File{Name: "change_" + slug(q.quantity), shows: q.names, Picture: report.Picture{
		Quantity: p.Label,
		Alt:      fmt.Sprintf("%s on the plane %s: %s, each variant, and the change", p.Label, o.where(base), q.names[0]),
		Caption:  fmt.Sprintf("%s on one scale; change is variant minus baseline", p.Label),
	}})
}

func (o Options) newSheet(s scales, title, subtitle string) *render.Sheet {
	return &render.Sheet{Title: title, Subtitle: subtitle, Quantity: s.policy.Quantity, Difference: s.policy.Difference().Quantity, Theme: o.Theme, Text: o.text(printTextSheet), Painted: o.painted}
}

// sheetFile draws a sheet into the file. A sheet has three panels side by side: its
// height follows from its rows.
func (o Options) sheetFile(sheet *render.Sheet, title string, base *measure.Result, s scales, f File) (*File, error) {
	sheet.Footer += deadWords(s.change, slices.ContainsFunc(sheet.Rows, func(r render.Row) bool { return r.Difference.Doubt != nil }))
	size := o.size()
	size.Y = 0
	img, err := render.DrawSheet(*sheet, size)
	if err != nil {
		return nil, fmt.Errorf("sheet %q: %w", title, err)
	}
	f.Kind = report.Sheet
	f.PNG, err = o.encode(img, title, base, sheet.Footer, limitsOf(s.plain)+"; changes "+limitsOf(s.change))
	return &f, err
}

// deadBand is the band of a scale about 0.
func deadBand(s render.Scale) (lo, hi float64, ok bool) {
	for k := 1; k < len(s.Levels); k++ {
		if lo, hi = s.Levels[k-1], s.Levels[k]; lo < 0 && hi > 0 {
			return lo, hi, true
		}
	}
	return 0, 0, false
}

// deadWords say which changes are without colour.
func deadWords(ds render.Scale, known bool) string {
	switch _, hi, ok := deadBand(ds); {
	case !ok:
		return ""
	case known:
		return fmt.Sprintf(" · white: change below %g, or within the expanded uncertainty (k = 2) of the two time averages at the place itself", hi)
	default:
		return fmt.Sprintf(" · white: change below %g", hi)
	}
}

// moves are those of the centroids of the regions that have one, else that of the whole
// wake where the plane does not cut the body, each as an arrow with its verdict.
func moves(c *compare.Comparison, k int) (arrows []render.Arrow, verdicts []string) {
	v := c.Variants[k]
	add := func(a, b *[2]float64, s *compare.Shift, word string) {
		if a == nil || b == nil {
			return
		}
		arrow := render.Arrow{From: grid.Point{X: a[0], Y: a[1]}, To: grid.Point{X: b[0], Y: b[1]}, Label: word}
		verdict := uncertainty.NotJudged
		if s != nil {
			verdict = s.Verdict
		}
		arrow.Open = verdict == uncertainty.NotResolved
		arrows, verdicts = append(arrows, arrow), append(verdicts, verdict)
	}
	for i, r := range v.Regions {
		if r.Shift == nil {
			continue
		}
		word := ""
		if in := r.Shift.Inboard; in != nil {
			word = fmt.Sprintf("of which %.0f mm inboard", 1000**in)
			if *in < 0 {
				word = fmt.Sprintf("of which %.0f mm outboard", 1000*math.Abs(*in))
			}
		}
		add(c.Baseline.Regions[i].Centroid, v.Survey.Regions[i].Centroid, r.Shift, word)
	}
	if a, b := c.Baseline.Wake, v.Survey.Wake; len(arrows) == 0 && !c.Baseline.Mesh.CutsBody && a != nil && b != nil {
		add(a.Centroid, b.Centroid, v.Shift, "")
	}
	return arrows, verdicts
}

// longestMove is the part of the width of what is shown that an arrow of a move takes at
// most where it is drawn longer than true.
const longestMove = 0.2

// magnified gives options that draw the arrows of moves longer than true by one round
// factor, here and on the page, with which the longest of the study can still be seen
// beside its place.
func (o Options) magnified(out *study.Outcome) Options {
	o.magnify = 20
	for _, st := range out.Stations {
		if st.Comparison == nil || st.Normal != "x" {
			continue
		}
		for k := range st.Comparison.Variants {
			arrows, verdicts := moves(st.Comparison, k)
			for i, a := range arrows {
				most := longestMove * o.shared.windows[wake.AxisX].Width()
				for verdicts[i] != uncertainty.NotJudged && o.magnify > 1 && math.Hypot(a.To.X-a.From.X, a.To.Y-a.From.Y)*float64(o.magnify) > most {
					o.magnify = map[int]int{20: 10, 10: 5, 5: 2, 2: 1}[o.magnify]
				}
			}
		}
	}
	return o
}
