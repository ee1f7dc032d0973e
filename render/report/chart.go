package report

import (
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Charts are those of the page, in its order, with that of each station where it has
// one, and with their names.
func Charts(o *study.Outcome) []*Chart {
	out := newFigures(o)
	for _, f := range out {
		f.Name = strings.ReplaceAll(strings.ToLower(f.Title), " ", "-")
	}
	for i, st := range o.Stations {
		if f := profileFigure(o, st); f != nil {
			f.Name, f.Title = fmt.Sprintf("%02d_profiles", i+1), f.Title+", "+stationTitle(st)
			out = append(out, f)
		}
	}
	return out
}

// figureWidth is that of most charts, on a narrow screen they scroll; narrowWidth that of the one
// which it shows whole.
const figureWidth, narrowWidth = 900, 450

// newFigures draws the charts of a study that its results allow, first where the change is.
func newFigures(o *study.Outcome) []*Chart {
	all := []*Chart{storyFigure(o), termsFigure(o), regionsFigure(o), forceFigure(o), pathFigure(o), edgeFigure(o)}
	return slices.DeleteFunc(all, func(f *Chart) bool { return f == nil })
}

// legend writes the signs of configurations from x on.
func (d *Chart) legend(o *study.Outcome, which []int, x float64) {
	slices.Sort(which)
	for _, k := range slices.Compact(which) {
		d.mark(k, false, x, 14)
		name := Shorten(clean(o.Configurations[k].Name), 28)
		d.text("", x+11, 19, "start", name)
		x += 38 + 7.8*float64(textWidth(name))
	}
}

func configurationIndex(o *study.Outcome, name string) int {
	return slices.IndexFunc(o.Configurations, func(c study.ConfigurationOutcome) bool { return c.Name == name })
}

// signsWords say what the signs of intervals mean.
const signsWords = "Filled: resolved. Hollow: not resolved. Hollow with dot, broken line: not judged; the ± is a lower bound."

// interval draws a change with its interval and the sign of its verdict.
func (d *Chart) interval(s scale1, c change, y float64) {
	k, lo, mid, hi := c.configuration, s.at(c.lo), s.at(c.delta), s.at(c.hi)
	if c.verdict != uncertainty.NotJudged {
		d.line(series("bar", k), lo, y, hi, y)
		d.mark(k, c.verdict != uncertainty.Resolved, mid, y)
		return
	}
	d.line(series("bar least", k), lo, y, hi, y)
	// The ends are seen beside the sign, however short the line is.
	for _, end := range [][2]float64{{min(lo, mid-11), 4}, {max(hi, mid+11), -4}} {
		d.path(series("open-end", k), [2]float64{end[0] + end[1], y - 4}, [2]float64{end[0], y}, [2]float64{end[0] + end[1], y + 4})
	}
	d.mark(k, true, mid, y)
	d.disc(series("dot", k), mid, y, 1.8)
}
