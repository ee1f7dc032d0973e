package rake

import (
	"context"
	"maps"
	"math"
	"slices"
)

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
	have := map[spot]float64{}
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
		if with.Drag != nil && o.Drag != nil {
			w.DragArea = finite(with.Drag.DragArea - o.Drag.DragArea)
			w.Percent = finite(100 * (with.Drag.DragArea/o.Drag.DragArea - 1))
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
