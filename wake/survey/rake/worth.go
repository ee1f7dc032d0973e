package rake

import (
	"context"
	"maps"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// jones is the drag area, m², that measure makes of a plane in its nominal stream; nil for none.
func (r *Result) jones() *float64 {
	in := r.Nominal()
	planes, err := wake.Planes(r.Survey(in), wake.PlaneOptions{Support: grid.Nodes})
	if err != nil || r.Kind != "plane" || len(planes) != 1 {
		return nil
	}
	m, err := measure.Bare(planes[0], measure.Options{Reference: wake.Freestream{Speed: in.Speed, Density: 2 * in.Dynamic / (in.Speed * in.Speed), Pressure: in.Pressure, TotalPressure: nan}})
	if err != nil || m.Result.Drag == nil || m.Result.Drag.Jones == nil {
		return nil
	}
	return &m.Result.Drag.Jones.DragArea
}

// worth runs the reduction again without each correction that changed something, and
// notes what that changes: the result with it less the result without.
func worth(ctx context.Context, log *Log, lay *Layout, with *Result) error {
	drag := with.jones()
	for _, c := range Corrections {
		if !slices.ContainsFunc(with.Steps, func(s Step) bool { return s.Name == c && s.Applied }) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		less := maps.Clone(lay.without)
		less[c] = true
		o, err := reduce(log, lay, less)
		if err != nil {
			return err
		}
		w := Worth{Name: c}
		if less := o.jones(); drag != nil && less != nil {
			w.DragArea = wake.Finite(*drag - *less)
			w.Percent = wake.Finite(100 * (*drag / *less - 1))
		}
		if len(with.Lines) > 0 && len(o.Lines) > 0 {
			a, b := &with.Lines[0], &o.Lines[0]
			w.Line = wake.Finite(a.Jones - b.Jones)
			if a.Cd != nil && b.Cd != nil {
				w.Line = wake.Finite(*a.Cd - *b.Cd)
			}
			w.Percent = wake.Finite(100 * (a.Jones/b.Jones - 1))
		}
		with.Worth = append(with.Worth, w)
	}
	return nil
}
