package atlas

import (
	"cmp"
	"fmt"
	"image"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake/survey/rake"
)

// Rake draws the strip chart of the tubes of a rake, where there is one, and the map of the
// positions; name is in their titles.
func Rake(r *rake.Result, name string) (out []File, err error) {
	add := func(end, title string, img *image.RGBA, err error) error {
		var png []byte
		if err == nil {
			png, err = Options{}.encode(img, title, name)
		}
		out = append(out, File{Name: end, Picture: report.Picture{PNG: png}})
		return err
	}
	title := cmp.Or(r.Title, "Rake survey")
	strips, off := r.Strips()
	if len(strips) > 0 && len(off) > 1 {
		c := render.StripChart{
			Title: title + ": tubes as read", Subtitle: name + ", zeros subtracted, each row over its own dynamic pressure",
			Footer: "A tube that does not follow its neighbours is judged by three tests: response to the wind, spread and lag, distance from the median of its neighbours.",
			X:      "row of the log", Y: "(pressure − p_ref)/q", Shaded: off, ShadedName: "wind off",
			Value: "tube", Around: "median of up to four neighbours",
		}
		for _, s := range strips {
			t := render.Strip{Name: s.Name, Values: s.Values, Around: s.Around, Marked: s.State != "good"}
			if t.Marked {
				t.Note = s.State
			}
			c.Strips = append(c.Strips, t)
		}
		img, err := render.DrawStrips(c, 1200)
		if err := add("tubes", c.Title, img, err); err != nil {
			return nil, err
		}
	}
	p := &render.Panel{Spots: []render.Spots{{Name: "measured once"}, {Name: "measured more than once"}, {Name: "reversed or across the tube"}, {Name: "filled from neighbours"}}}
	m := render.Page{
		Title: title + ": positions", Subtitle: name, View: render.PlaneView("x"), Panels: []*render.Panel{p},
		Footer: fmt.Sprintf("%d positions of the rake, %d of them repeated; %d samples kept, %d readings missing or left out",
			r.Rows.Places, r.Rows.Repeated, r.Counts.Kept, r.Counts.Missing+r.Counts.Outside),
	}
	lines := r.Kind == "line" && len(r.Lines) > 1
	if lines {
		// Several lines lie one behind the other: they are looked at from above.
		m.View = render.PlaneView("z")
	}
	for _, s := range r.Samples {
		at := grid.Point{X: s.Y, Y: s.Z}
		if lines {
			at = grid.Point{X: s.X, Y: s.Y}
		}
		kind := map[string]int{"reversed": 2, "filled": 3}[s.State]
		if kind == 0 && s.Readings > 1 {
			kind = 1
		}
		p.Spots[kind].At = append(p.Spots[kind].At, at)
	}
	img, err := render.Draw(m, image.Pt(1200, 900))
	err = add("positions", m.Title, img, err)
	return out, err
}
