package atlas

import (
	"cmp"
	"context"
	"fmt"
	"image"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Comparison draws, for each quantity, a sheet with a row a variant: baseline,
// variant, difference. names are what to call the measurements of the pair, the
// baseline first. When ctx ends, no further sheet is begun.
func Comparison(ctx context.Context, c *compare.Comparison, pair *compare.Pair, names []string, o Options) (_ []File, err error) {
	if o.shared, err = o.sharing(pair.Own); err != nil {
		return nil, err
	}
	o.magnify = o.magnified([]*compare.Comparison{c})
	return o.each(ctx, func(q string) (*File, error) {
		of, err := o.compared(c, pair, names, q)
		if err != nil || of == nil {
			return nil, err
		}
		return o.sheet(of)
	})
}

// The picture of Pair fills the width of a page of A4, 186 mm.
const pairDPI = 220

var pairSize = image.Pt(1610, 900)

// Pair draws one comparison of a study, for paper: the baseline and the
// variant with the largest change of the quoted drag, else the first, in the first quantity at
// the foremost station that has both. It is nil where none has.
func Pair(ctx context.Context, out *study.Outcome, fields []study.Fields, o Options) (*File, error) {
	o, err := o.For(ctx, out, fields)
	if err != nil {
		return nil, err
	}
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
		best := slices.MaxFunc(st.Variants, func(a, b string) int { return cmp.Compare(change[a], change[b]) })
		for _, q := range o.quantities() {
			of, err := o.compared(st.Comparison, pairOf(st, fields[s], out.Baseline), append([]string{out.Baseline}, st.Variants...), q)
			if err = cmp.Or(err, ctx.Err()); err != nil {
				return nil, err
			}
			if of == nil || !slices.Contains(of.names, best) {
				continue
			}
			k := slices.Index(of.names, best)
			of.names, of.sides, of.changes = []string{out.Baseline, best}, []*render.Panel{of.sides[0], of.sides[k]}, []*render.Panel{nil, of.changes[k]}
			f, err := o.at(st).sheet(of)
			if err == nil {
				f.Station = st.Name
			}
			return f, err
		}
	}
	return nil, nil
}

// changes gives the fields of measurements on common samples, and what each of the others
// has more than the first, nil where a plane lacks it.
func changes(ms []*measure.Measurement, quantity string) (fields, diffs []field, err error) {
	for _, m := range ms {
		f, err := fieldOf(m, quantity)
		if err != nil {
			return nil, nil, err
		}
		if fields = append(fields, f); len(fields) == 1 {
			continue
		}
		d := field{mesh: fields[0].mesh}
		if f.values != nil && fields[0].values != nil {
			d.values = floats.SubTo(make([]float64, len(f.values)), f.values, fields[0].values)
		}
		diffs = append(diffs, d)
	}
	return fields, diffs, nil
}

// compared is a quantity of one comparison, ready to draw.
type compared struct {
	// The scale of changes is the station's own, along that beside other stations: its levels are
	// no equal steps, since changes beside the vehicle are many times those behind it.
	scales
	along    render.Scale
	quantity string
	base     *measure.Measurement
	// names are those of the baseline and of the variants that have the quantity, sides their
	// panels, and changes those of the variants' changes; the first is nil.
	names          []string
	sides, changes []*render.Panel
}

// compared is nil where the baseline or all variants lack the quantity.
func (o Options) compared(c *compare.Comparison, pair *compare.Pair, names []string, quantity string) (*compared, error) {
	ms := pair.Measurements
	fields, diffs, err := changes(ms, quantity)
	if err != nil || !slices.ContainsFunc(diffs, func(f field) bool { return f.values != nil }) {
		return nil, err
	}
	// A plane is shown with all its samples, a change where both have some.
	own := slices.Clone(fields)
	for k, m := range pair.Own {
		if len(m.Plane.Mesh.Points) != len(ms[k].Plane.Mesh.Points) {
			if own[k], err = fieldOf(m, quantity); err != nil {
				return nil, err
			}
		}
	}
	s, err := o.scalesOf(quantity, own, diffs)
	if err != nil {
		return nil, err
	}
	q := &compared{scales: *s, along: s.change.Ladder(), quantity: quantity, base: ms[0]}
	if q.change, err = o.changeScale(quantity, s.policy, diffs); err != nil {
		return nil, err
	}
	o.shared.changes.Store([2]any{c, quantity}, q.change)
	base := ms[0].Result
	lines, _ := o.outline(pair.Own[0])
	for k, m := range pair.Own {
		if k > 0 && diffs[k-1].values == nil {
			continue
		}
		p, d := o.panel(m, own[k], s.policy.Label, s.plain), (*render.Panel)(nil)
		p.Heading, p.Boxes = shown(names[k]), boxes(base)
		wake, name := o.outline(m)
		p.Outlines = append(p.Outlines, render.Outline{Lines: wake, Name: name})
		o.crossflow(p, m)
		if k > 0 {
			v := c.Variants[k-1]
			d = o.panel(ms[0], diffs[k-1], s.policy.Difference().Label, q.change)
			d.Heading = p.Heading + " − " + q.sides[0].Heading
			if v := v.Delta; v != nil {
				d.Heading += ", " + v.Number(v.DragArea, &v.Budget, uncertainty.Format{Scale: 1, Decimals: 5, Unit: "m²"}) + ": " + v.Verdict
			}
			for _, f := range []field{own[0], own[k]} {
				if f.mesh != ms[0].Plane.Mesh && len(f.mesh.Points) != len(d.Mesh.Points) {
					d.Whole = append(d.Whole, f.mesh)
				}
			}
			d.Doubt = doubt(ms[0], ms[k], quantity)
			if len(lines) > 0 {
				p.Outlines = append(p.Outlines, render.Outline{Lines: lines, Name: "wake outline of the baseline", Style: render.Baseline})
			}
			o.move(c, k-1, q.sides[0], p)
		}
		q.names, q.sides, q.changes = append(q.names, names[k]), append(q.sides, p), append(q.changes, d)
	}
	return q, nil
}

// mostArrows is how many moves a panel shows before their labels hide it.
const mostArrows = 4

// move marks the moves of variant k: the centroids, and an arrow where the move is judged.
func (o Options) move(c *compare.Comparison, k int, base, variant *render.Panel) {
	arrows, verdicts := moves(c, k)
	for i, a := range arrows[:min(len(arrows), mostArrows)] {
		from := render.Marker{At: a.From, Name: "centroid, baseline", Open: true}
		if !slices.Contains(base.Markers, from) {
			base.Markers = append(base.Markers, from)
		}
		variant.Markers = append(variant.Markers, from, render.Marker{At: a.To, Name: "centroid, variant"})
		if a.Magnify = o.magnify; verdicts[i] != uncertainty.NotJudged {
			variant.Arrows = append(variant.Arrows, a)
		}
	}
}

// pairOf has what a station compares, on the common samples and each plane's own.
func pairOf(st study.StationOutcome, f study.Fields, baseline string) *compare.Pair {
	p := &compare.Pair{Measurements: f.Compared, Own: slices.Clone(f.Compared)}
	for k, name := range append([]string{baseline}, st.Variants...) {
		if i := slices.IndexFunc(st.Surveys, func(s study.StationSurvey) bool { return s.Configuration == name }); i >= 0 {
			p.Own[k] = f.Single[i]
		}
	}
	return p
}

// sheet draws what is compared at a station.
func (o Options) sheet(q *compared) (*File, error) {
	base, p := q.base.Result, q.policy
	page := render.Page{Title: p.Label + ": baseline, variant and change", Subtitle: o.station + "plane " + o.where(base)}
	var part string
	page.View, part = o.view(q.base.Plane.Normal, q.base.Plane.Mesh.Window())
	page.Footer = footer(base) + formula(p) + part
	if t, ok := outlineAt(base); ok {
		page.Footer += fmt.Sprintf(" · outlines at %s = %g", weightFormula(base), t)
	}
	page.Panels, page.Columns = table(q.sides, q.changes)
	return o.finishSheet(page, base, q.scales, File{Name: "change_" + slug(q.quantity), shows: q.names, Picture: report.Picture{
		Quantity: p.Label,
		Alt:      fmt.Sprintf("%s on the plane %s: %s, each variant, and the change", p.Label, o.where(base), q.names[0]),
		Caption:  fmt.Sprintf("%s on one scale; change is variant minus baseline", p.Label),
	}})
}

// sheetColumns is how many panels of a sheet stand side by side at most.
const sheetColumns = 4

// table sets out the baseline once, beside it the variants, and below each of these its change;
// of one variant all three side by side.
func table(sides, changes []*render.Panel) (panels []*render.Panel, columns int) {
	n := len(sides)
	if n == 2 {
		return []*render.Panel{sides[0], sides[1], changes[1]}, 3
	}
	columns = min(n, sheetColumns)
	for from := 1; from < n; from += columns - 1 {
		rows, to := make([]*render.Panel, 2*columns), min(from+columns-1, n)
		copy(rows[1:], sides[from:to])
		copy(rows[columns+1:], changes[from:to])
		panels = append(panels, rows...)
	}
	panels[0] = sides[0]
	return panels, columns
}

// finishSheet draws a sheet into the file. Its height follows from its rows.
func (o Options) finishSheet(p render.Page, base *measure.Result, s scales, f File) (*File, error) {
	p.Text = o.text(printTextSheet)
	p.Footer += deadWords(s.change, slices.ContainsFunc(p.Panels, func(q *render.Panel) bool { return q != nil && q.Doubt != nil }))
	return o.finish(p, image.Pt(o.size().X, 0), base, limitsOf(s.plain)+"; changes "+limitsOf(s.change), f)
}

// deadWords say which changes are without colour.
func deadWords(s render.Scale, known bool) string {
	for k, hi := range s.Levels[1:] {
		if !(s.Levels[k] < 0 && hi > 0) {
			continue
		}
		words := fmt.Sprintf(" · no colour: |change| < %g", hi)
		if known {
			words += ", or within the expanded uncertainty (k = 2) of the two time averages at the place itself"
		}
		return words
	}
	return ""
}

// moves are those of the centroids of the regions that have one, else that of the whole
// wake where the plane does not cut the body, each as an arrow with its verdict.
func moves(c *compare.Comparison, k int) (arrows []render.Arrow, verdicts []string) {
	v := c.Variants[k]
	add := func(a, b *[2]float64, s *compare.Shift) {
		if a == nil || b == nil {
			return
		}
		arrow := render.Arrow{From: point(*a), To: point(*b), Text: render.Length(math.Hypot(b[0]-a[0], b[1]-a[1]))}
		verdict := uncertainty.NotJudged
		if s != nil {
			verdict = s.Verdict
			if s.Inboard != nil {
				arrow.Text = render.Length(math.Abs(*s.Inboard)) + map[bool]string{true: " inboard", false: " outboard"}[*s.Inboard >= 0]
			}
		}
		arrow.Open = verdict == uncertainty.NotResolved
		arrows, verdicts = append(arrows, arrow), append(verdicts, verdict)
	}
	for i, r := range v.Regions {
		if r.Shift != nil {
			add(c.Baseline.Regions[i].Centroid, v.Survey.Regions[i].Centroid, r.Shift)
		}
	}
	if a, b := c.Baseline.Wake, v.Survey.Wake; len(arrows) == 0 && !c.Baseline.Mesh.CutsBody && a != nil && b != nil {
		add(a.Centroid, b.Centroid, v.Shift)
	}
	return arrows, verdicts
}

// longestMove is the part of the width of what is shown that an arrow of a move takes at
// most where it is drawn longer than true.
const longestMove = 0.2

// magnified is the round factor by which the arrows of moves are drawn longer than true, here
// and on the page, with which the longest can still be seen beside its place.
func (o Options) magnified(cs []*compare.Comparison) int {
	longest, most := 0.0, longestMove*o.shared.windows[wake.AxisX].Width()
	for _, c := range cs {
		if c == nil || c.Baseline.Station.Normal != "x" {
			continue
		}
		for k := range c.Variants {
			arrows, verdicts := moves(c, k)
			for i, a := range arrows {
				if verdicts[i] != uncertainty.NotJudged {
					longest = max(longest, math.Hypot(a.To.X-a.From.X, a.To.Y-a.From.Y))
				}
			}
		}
	}
	for _, factor := range []int{20, 10, 5, 2} {
		if longest*float64(factor) <= most {
			return factor
		}
	}
	return 1
}
