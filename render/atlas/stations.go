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
	of := make([]*compared, len(out.Stations))
	files := make([]*File, len(out.Stations))
	err := grid.Each(ctx, len(of), func(s int) (err error) {
		defer step()
		st := out.Stations[s]
		if st.Comparison == nil {
			return nil
		}
		if of[s], err = o.compared(st.Comparison, pairOf(st, fields[s], out.Baseline), append([]string{out.Baseline}, st.Variants...), quantity); err != nil || of[s] == nil {
			return err
		}
		if files[s], err = o.at(st).sheet(of[s]); err == nil {
			files[s].Name, files[s].Station = fmt.Sprintf("%02d_%s", s+1, files[s].Name), st.Name
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	along := o.stations(out, of, quantity)
	made := make([]*File, len(along))
	err = grid.Each(ctx, len(along), func(k int) (err error) {
		a := along[k]
		made[k], err = o.finishSheet(a.page, a.front.base.Result, a.scales, a.file)
		return err
	})
	return present(append(files, made...)), err
}

// along is a sheet from station to station, ready to draw.
type along struct {
	scales
	front *compared
	page  render.Page
	file  File
}

// stations gives, for each variant, a sheet with a row a station from the front to the
// rear: baseline, variant, change. All rows show the part of the plane that every
// station has. Stations normal to other axes than x, and variants with fewer than two
// stations, are left out.
func (o Options) stations(out *study.Outcome, of []*compared, quantity string) (sheets []along) {
	order := grid.Where(len(of), func(s int) bool { return out.Stations[s].Normal == "x" && of[s] != nil })
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(out.Stations[a].Position, out.Stations[b].Position) })
	for _, c := range out.Configurations {
		if c.Name == out.Baseline {
			continue
		}
		var window grid.Box
		var panels []*render.Panel
		var front *compared
		for _, s := range order {
			q := of[s]
			v := slices.Index(q.names, c.Name)
			if v < 0 {
				continue
			}
			base, change := *q.sides[0], *q.changes[v]
			base.Heading = fmt.Sprintf("%s: %s, %s", shown(out.Baseline), shown(out.Stations[s].Name), report.Place(out.Stations[s].Normal, out.Stations[s].Position))
			change.Scale = q.along
			panels = append(panels, &base, q.sides[v], &change)
			if w := q.base.Plane.Mesh.Window(); front == nil {
				window, front = w, q
			} else {
				window = window.Intersect(w)
			}
		}
		rows := len(panels) / 3
		if rows < 2 || window.Empty() {
			continue
		}
		view, part := o.view(wake.AxisX, window)
		label, n := front.policy.Label, (rows+sheetRows-1)/sheetRows
		for k := range n {
			a := along{front.scales, front, render.Page{
				Title:    label + " from station to station: " + shown(out.Baseline) + ", " + shown(c.Name) + " and change",
				Subtitle: "the part of the planes that all stations have", View: view, Columns: 3, Panels: panels[3*(k*rows/n) : 3*((k+1)*rows/n)],
				Footer: footer(front.base.Result) + ", at the first station" + formula(front.policy) + part + " · inner levels of the change: 1, 2 and 5 times powers of ten",
			}, File{Name: "stations_" + configurationWords(out)[c.Name] + "_" + slug(quantity)}}
			a.change = front.along
			if n > 1 {
				a.page.Title += fmt.Sprintf(", sheet %d of %d", k+1, n)
				a.file.Name += fmt.Sprintf("_%0*d", len(strconv.Itoa(n)), k+1)
			}
			a.file.Picture = report.Picture{Quantity: label, Configuration: c.Name, Alt: a.page.Title, Caption: a.page.Subtitle}
			sheets = append(sheets, a)
		}
	}
	return sheets
}

// sheetRows is how many stations are read on one sheet: at its usual width three panels
// and eight rows are about a page of paper. More are parted among sheets of about as many
// rows each: one sheet of a hundred would be a picture of fifty million pixels.
const sheetRows = 8
