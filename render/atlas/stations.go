package atlas

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// Stations draws, for each variant and quantity, a sheet with a row a station from
// the front to the rear: baseline, variant, change. All rows show the part of the
// plane that every station has, on the scales of the whole study. Stations normal to
// other axes than x, and studies with fewer than two that can be compared, are left
// out. More than sheetRows stations are parted among sheets of about as many rows each:
// one sheet of a hundred would be a picture of fifty million pixels.
func Stations(ctx context.Context, out *study.Outcome, fields []study.Fields, o Options) ([]File, error) {
	var order []int
	for s, st := range out.Stations {
		if st.Normal == "x" && st.Comparison != nil {
			order = append(order, s)
		}
	}
	if len(order) < 2 {
		return nil, nil
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(out.Stations[a].Position, out.Stations[b].Position) })
	o, err := o.study(ctx, fields)
	if err != nil {
		return nil, err
	}
	o = o.magnified(out)
	type job struct{ variant, quantity string }
	var jobs []job
	for _, c := range out.Configurations {
		for _, q := range o.quantities() {
			if _, ok := o.shared.scales[q]; ok && c.Name != out.Baseline {
				jobs = append(jobs, job{c.Name, q})
			}
		}
	}
	files := make([][]*File, len(jobs))
	err = all(ctx, len(jobs), func(i int) error {
		var err error
		files[i], err = o.along(out, fields, order, jobs[i].variant, jobs[i].quantity)
		return err
	})
	return present(slices.Concat(files...)), err
}

// sheetRows is how many stations are read on one sheet: at its usual width three panels
// and eight rows are about a page of paper.
const sheetRows = 8

// along are the sheets of one variant and quantity; none where fewer than two stations
// have it.
func (o Options) along(out *study.Outcome, fields []study.Fields, order []int, variant, quantity string) ([]*File, error) {
	s := o.shared.scales[quantity]
	sheet := render.Sheet{
		Title: s.policy.Label + " from station to station: " + shown(out.Baseline) + ", " + shown(variant) + " and change", Subtitle: "the part of the planes that all stations have",
		Quantity: s.policy.Quantity, Difference: s.policy.Difference().Quantity, Theme: o.Theme, Text: o.text(printTextSheet),
	}
	var window grid.Box
	var first *measure.Result
	known := false
	for _, k := range order {
		st, ms := out.Stations[k], fields[k].Compared
		v := slices.Index(st.Variants, variant)
		if v < 0 || v+1 >= len(ms) {
			continue
		}
		pair := []*measure.Measurement{ms[0], ms[v+1]}
		fs, diffs, ok, err := changes(pair, quantity)
		if err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		c := *st.Comparison
		c.Variants = c.Variants[v : v+1]
		rows, doubted := o.rows(&c, pair, []string{out.Baseline, variant}, quantity, fs, diffs, s.plain, s.change)
		known = known || doubted
		r := rows[0]
		r.Baseline.Heading = fmt.Sprintf("%s: %s, %s", shown(out.Baseline), shown(st.Name), where(ms[0].Result))
		sheet.Rows = append(sheet.Rows, r)
		if w := ms[0].Plane.Mesh.Window(); first == nil {
			window, first = w, ms[0].Result
		} else {
			window = window.Intersect(w)
		}
	}
	if len(sheet.Rows) < 2 || window.Empty() {
		return nil, nil
	}
	view, part := o.view(wake.AxisX, window)
	sheet.View, sheet.Footer = view, footer(first)+", at the first station"+part+deadWords(s.change, known)
	title, name, rows := sheet.Title, "stations_"+configurationWords(out)[variant]+"_"+slug(quantity), sheet.Rows
	sheets := (len(rows) + sheetRows - 1) / sheetRows
	var files []*File
	for k := range sheets {
		sheet.Rows = rows[k*len(rows)/sheets : (k+1)*len(rows)/sheets]
		file := name
		if sheets > 1 {
			sheet.Title = fmt.Sprintf("%s, sheet %d of %d", title, k+1, sheets)
			file = fmt.Sprintf("%s_%0*d", name, len(strconv.Itoa(sheets)), k+1)
		}
		f, err := o.sheetFile(&sheet, sheet.Title, first, s.plain, s.change, File{Name: file, Picture: report.Picture{
			Quantity: s.policy.Label, Configuration: variant, Alt: sheet.Title, Caption: sheet.Subtitle,
		}})
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, nil
}
