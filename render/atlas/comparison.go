package atlas

import (
	"context"
	"fmt"
	"math"

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
	return o.each(ctx, func(q string) (*File, error) { return o.sheet(c, ms, names, q) })
}

// difference subtracts fields that share a mesh.
func difference(a, b field) field {
	d := field{mesh: a.mesh, values: make([]float64, len(a.values))}
	for i := range d.values {
		d.values[i] = b.values[i] - a.values[i]
	}
	return d
}

// changes gives the fields of measurements on common samples, and what the others
// have more than the first; ok is false where one lacks the quantity, and only those
// before it are given.
func changes(ms []*measure.Measurement, quantity string) (fields, diffs []field, ok bool, err error) {
	for k, m := range ms {
		f, ok, err := nodal(m, quantity)
		if err != nil || !ok {
			return fields, diffs, false, err
		}
		fields = append(fields, f)
		if k > 0 {
			diffs = append(diffs, difference(fields[0], f))
		}
	}
	return fields, diffs, true, nil
}

func (o Options) sheet(c *compare.Comparison, ms []*measure.Measurement, names []string, quantity string) (*File, error) {
	p, err := o.policy(quantity)
	if err != nil {
		return nil, err
	}
	fields, diffs, ok, err := changes(ms, quantity)
	if err != nil || !ok {
		return nil, err
	}
	dp := p.Difference()
	s, err := o.scale(quantity, p, fields)
	if err != nil {
		return nil, err
	}
	ds, err := o.changeScale(quantity, p, diffs)
	if err != nil {
		return nil, err
	}
	base := ms[0].Result
	view, part := o.view(ms[0].Plane.Normal, ms[0].Plane.Mesh.Window())
	sheet := render.Sheet{
		Title: p.Label + ": baseline, variant and change", Subtitle: o.shared.station + "plane " + where(base), Footer: footer(base) + part,
		Quantity: p.Quantity, Difference: dp.Quantity, View: view,
		Theme: o.Theme, Text: o.text(printTextSheet),
	}
	if t, ok := outlineAt(base); ok {
		sheet.Footer += fmt.Sprintf(" · outlines at %s = %g", weightFormula(base), t)
	}
	var known bool
	sheet.Rows, known = o.rows(c, ms, names, quantity, fields, diffs, s, ds)
	sheet.Footer += deadWords(ds, known)
	return o.sheetFile(&sheet, sheet.Title+", "+sheet.Subtitle, base, s, ds, File{Name: "change_" + slug(quantity), Picture: report.Picture{
		Quantity: p.Label,
		Alt:      fmt.Sprintf("%s on the plane %s: %s, each variant, and the change", p.Label, where(base), names[0]),
		Caption:  fmt.Sprintf("%s on one scale; change is variant minus baseline", p.Label),
	}})
}

// sheetFile draws a sheet into the file. A sheet has three panels side by side: its
// height follows from its rows.
func (o Options) sheetFile(sheet *render.Sheet, title string, base *measure.Result, s, ds render.Scale, f File) (*File, error) {
	size := o.size()
	size.Y = 0
	img, err := render.DrawSheet(*sheet, size)
	if err != nil {
		return nil, fmt.Errorf("sheet %q: %w", title, err)
	}
	f.Kind = report.Sheet
	f.PNG, err = o.encode(img, title, base, sheet.Footer, limitsOf(s)+"; changes "+limitsOf(ds))
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
	switch lo, hi, ok := deadBand(ds); {
	case !ok:
		return ""
	case known:
		return fmt.Sprintf(" · without colour: changes from %g to %g, and those within the expanded uncertainty (k = 2) of the two time averages at the place itself", lo, hi)
	default:
		return fmt.Sprintf(" · without colour: changes from %g to %g, a part of %.2g of the scale; no local uncertainty is known", lo, hi, hi/ds.Hi)
	}
}

// rows has one row a variant; known says whether any change has a doubt.
func (o Options) rows(c *compare.Comparison, ms []*measure.Measurement, names []string, quantity string, fields, diffs []field, s, ds render.Scale) (rows []render.Row, known bool) {
	side := func(k int, heading string) render.Panel {
		p := o.panel(ms[k], fields[k], s)
		p.Heading, p.Boxes = heading, boxes(ms[0].Result)
		lines, name := o.outline(ms[k])
		p.Outlines = append(p.Outlines, render.Outline{Lines: lines, Name: name})
		o.crossflow(&p, ms[k])
		return p
	}
	lines, _ := o.outline(ms[0])
	base := side(0, shown(names[0]))
	for k, v := range c.Variants {
		r := render.Row{Baseline: base, Variant: side(k+1, shown(names[k+1])), Difference: o.panel(ms[0], diffs[k], ds)}
		r.Difference.Heading = r.Variant.Heading + " − " + base.Heading
		if d := v.Delta; d != nil {
			r.Difference.Heading += fmt.Sprintf(", %+.4f m²: %s", d.DragArea, d.Verdict)
		}
		r.Difference.Doubt = doubt(ms[0], ms[k+1], quantity)
		known = known || r.Difference.Doubt != nil
		if arrows, verdicts := moves(c, k); len(arrows) == 0 {
			r.Compare(lines, nil, true)
		} else {
			arrows[0].Magnify = o.magnify
			r.Compare(lines, &arrows[0], verdicts[0] == uncertainty.NotJudged)
		}
		rows = append(rows, r)
	}
	return rows, known
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
			word = fmt.Sprintf("(%.0f mm inboard)", 1000**in)
			if *in < 0 {
				word = fmt.Sprintf("(%.0f mm outboard)", 1000*math.Abs(*in))
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
