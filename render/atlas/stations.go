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
	"wakeledger/wake/study"
)

// sheets draws a quantity of a study: a sheet a station, and for each variant one from
// station to station.
func (o Options) sheets(ctx context.Context, out *study.Outcome, fields []study.Fields, quantity string, step func()) ([]File, error) {
	o.painted = &render.Painted{}
	of := make([]*compared, len(out.Stations))
	files := make([]*File, len(out.Stations))
	err := all(ctx, len(of), func(s int) (err error) {
		defer step()
		st := out.Stations[s]
		if st.Comparison == nil {
			return nil
		}
		if of[s], err = o.compared(st.Comparison, fields[s].Compared, append([]string{out.Baseline}, st.Variants...), quantity); err != nil || of[s] == nil {
			return err
		}
		o := o
		o.station, o.place = shown(st.Name)+", ", report.Place(st.Normal, st.Position)
		if files[s], err = o.sheet(of[s]); err == nil {
			files[s].Name, files[s].Station = fmt.Sprintf("%02d_%s", s+1, files[s].Name), st.Name
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	along, err := o.stations(ctx, out, of, quantity)
	return present(append(files, along...)), err
}

// stations draws, for each variant, a sheet with a row a station from the front to the
// rear: baseline, variant, change. All rows show the part of the plane that every
// station has. Stations normal to other axes than x, and variants with fewer than two
// stations, are left out.
func (o Options) stations(ctx context.Context, out *study.Outcome, of []*compared, quantity string) ([]*File, error) {
	var order []int
	for s, st := range out.Stations {
		if st.Normal == "x" && of[s] != nil {
			order = append(order, s)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(out.Stations[a].Position, out.Stations[b].Position) })
	var sheets []*render.Sheet
	var files []File
	var first []*compared
	var scaled []scales
	for _, c := range out.Configurations {
		if c.Name == out.Baseline {
			continue
		}
		window, rows, front := grid.Box{}, []render.Row(nil), (*compared)(nil)
		for _, s := range order {
			q := of[s]
			v := slices.Index(q.names, c.Name)
			if v < 0 {
				continue
			}
			r := q.rows[v-1]
			r.Baseline.Heading = fmt.Sprintf("%s: %s, %s", shown(out.Baseline), shown(out.Stations[s].Name), report.Place(out.Stations[s].Normal, out.Stations[s].Position))
			r.Difference.Scale = q.along
			rows = append(rows, r)
			if w := q.base.Plane.Mesh.Window(); front == nil {
				window, front = w, q
			} else {
				window = window.Intersect(w)
			}
		}
		if len(rows) < 2 || window.Empty() {
			continue
		}
		view, part := o.view(wake.AxisX, window)
		side := front.scales
		side.change = front.along
		name := "stations_" + configurationWords(out)[c.Name] + "_" + slug(quantity)
		n := (len(rows) + sheetRows - 1) / sheetRows
		for k := range n {
			label := front.policy.Label
			sheet := o.newSheet(side, label+" from station to station: "+shown(out.Baseline)+", "+shown(c.Name)+" and change", "the part of the planes that all stations have")
			sheet.View, sheet.Footer = view, footer(front.base.Result)+", at the first station"+formula(front.policy)+part+front.left
			sheet.Rows = rows[k*len(rows)/n : (k+1)*len(rows)/n]
			file := name
			if n > 1 {
				sheet.Title += fmt.Sprintf(", sheet %d of %d", k+1, n)
				file += fmt.Sprintf("_%0*d", len(strconv.Itoa(n)), k+1)
			}
			sheets, first, scaled = append(sheets, sheet), append(first, front), append(scaled, side)
			files = append(files, File{Name: file, Picture: report.Picture{Quantity: label, Configuration: c.Name, Alt: sheet.Title, Caption: sheet.Subtitle}})
		}
	}
	made := make([]*File, len(sheets))
	return made, all(ctx, len(sheets), func(k int) (err error) {
		made[k], err = o.sheetFile(sheets[k], sheets[k].Title, first[k].base.Result, scaled[k], files[k])
		return err
	})
}

// sheetRows is how many stations are read on one sheet: at its usual width three panels
// and eight rows are about a page of paper. More are parted among sheets of about as many
// rows each: one sheet of a hundred would be a picture of fifty million pixels.
const sheetRows = 8
