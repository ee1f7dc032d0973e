package rake

import (
	"context"
	"maps"
	"math"
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
func worth(ctx context.Context, logs []*Log, lay *Layout, off map[Correction]bool, with *Result) error {
	type spot struct {
		tube    string
		x, y, z int64
	}
	key := func(s *Sample) spot {
		f := func(v float64) int64 { return int64(math.Round(v / (2 * sameLength))) }
		return spot{s.Tube, f(s.X), f(s.Y), f(s.Z)}
	}
	drag, have := with.jones(), map[spot]float64{}
	for i := range with.Samples {
		have[key(&with.Samples[i])] = with.Samples[i].Cpt
	}
	for _, c := range Corrections {
		if !slices.ContainsFunc(with.Steps, func(s Step) bool { return s.Name == c && s.Applied }) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		less := maps.Clone(off)
		less[c] = true
		o, err := reduce(logs, lay, less)
		if err != nil {
			return err
		}
		w := Worth{Name: c, Samples: len(with.Samples) - len(o.Samples)}
		var ss, n float64
		for i := range o.Samples {
			was, ok := have[key(&o.Samples[i])]
			if d := math.Abs(was - o.Samples[i].Cpt); ok && !math.IsNaN(d) {
				ss += d * d
				n++
				w.Largest = math.Max(w.Largest, d)
			}
		}
		if n > 0 {
			w.RMS = math.Sqrt(ss / n)
		}
		if less := o.jones(); drag != nil && less != nil {
			w.DragArea = finite(*drag - *less)
			w.Percent = finite(100 * (*drag / *less - 1))
		}
		if len(with.Lines) > 0 && len(o.Lines) > 0 {
			a, b := &with.Lines[0], &o.Lines[0]
			w.Line = finite(a.Jones - b.Jones)
			if a.Cd != nil && b.Cd != nil {
				w.Line = finite(*a.Cd - *b.Cd)
			}
			w.Percent = finite(100 * (a.Jones/b.Jones - 1))
		}
		with.Worth = append(with.Worth, w)
	}
	return nil
}
