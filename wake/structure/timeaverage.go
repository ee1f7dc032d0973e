package structure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// TimeAverage says what the mean velocities of a survey are worth: the number of
// independent samples in them, and the length over which their errors are alike
// (correlation exp(−r²/2L²)), m. Without samples nothing is known of the time
// average; a length of 0 means that a plane errs as one, which is no bound for a
// move: errors that are alike all over a wake hardly move it.
type TimeAverage struct {
	Samples float64 `json:"effective_samples"`
	Length  float64 `json:"correlation_length_m"`
}

// timeErrors are draws of the errors of a field's weight: one value a sample each.
// bounded is false where they are alike all over the plane, which hardly moves a wake:
// they bound nothing.
type timeErrors struct {
	draws   [][]float32
	bounded bool
}

// DrawTime gives the field of a measured plane the errors that its finite time
// average can have left, measure.TimeDraws draws of them, from which ShiftBetween and
// ShiftInBox then take an item "time average" of every move: one set of draws for all
// parts and measures, so that what these share is known. They are drawn as far as the
// weight is at or above the threshold of the structures, and two samples beyond. The
// zero level of the weight is taken as free of them: it is the mean of hundreds of
// samples in the outer flow. A plane that is a mean kept by blocks of its record has
// draws from these alone, whatever t says. Nothing is drawn where the plane has neither
// blocks nor <u'u'>, or t has no samples.
func (f *Field) DrawTime(m *measure.Measurement, t TimeAverage, threshold float64) {
	f.time = nil
	put := func(v []float64) []float64 { return v }
	if m.Plane.Mesh != f.Mesh {
		_, put = thin(m.Plane.Mesh)
	}
	if errs := m.BlockErrors(); errs != nil {
		f.time = &timeErrors{bounded: true}
		for _, e := range errs {
			f.time.draws = append(f.time.draws, single(put(e)))
		}
		return
	}
	e := m.TimeErrors(t.Samples, t.Length)
	if e == nil {
		return
	}
	gain := e.Gain
	for k := range gain {
		gain[k] = put(gain[k])
	}
	box := grid.EmptyBox()
	for i, w := range f.Weight {
		if w >= threshold {
			box = box.Extend(f.Mesh.Points[i])
		}
	}
	if box.Empty() {
		return
	}
	margin := 2 * f.Mesh.Spacing()
	box.Min.X, box.Min.Y, box.Max.X, box.Max.Y = box.Min.X-margin, box.Min.Y-margin, box.Max.X+margin, box.Max.Y+margin
	f.time = &timeErrors{bounded: t.Length > 0}
	out := make([]float64, len(f.Weight))
	for d := range measure.TimeDraws {
		e.Draw(d, f.Mesh, gain, box, out)
		f.time.draws = append(f.time.draws, single(out))
	}
}

func single(v []float64) []float32 {
	out := make([]float32, len(v))
	for i, x := range v {
		out[i] = float32(x)
	}
	return out
}

// ForgetTime drops the draws, which take four bytes a sample each.
func (f *Field) ForgetTime() { f.time = nil }

// wide is single undone.
func wide(v []float32) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = float64(x)
	}
	return out
}

// drift is what the time average's errors of each field make of a move with the given
// influence of every place on it: one number a draw; nil for a field without draws.
func (w *window) drift(gain [2][]float64) (out [2][]float64) {
	for c, f := range w.fields {
		if f.time == nil {
			continue
		}
		of := w.influence(c, gain[c])
		out[c] = make([]float64, len(f.time.draws))
		for d, e := range f.time.draws {
			at := func(i int) float64 { return float64(e[i]) }
			if w.shares[c] == nil {
				// Places are samples, or corners of cells, which are means of these.
				placed, _ := w.r.sample(f.Mesh, wide(e))
				at = func(k int) float64 { return placed[k] }
			}
			for i, g := range of {
				if g != 0 {
					out[c][d] += g * at(i)
				}
			}
		}
	}
	return out
}

// together is the mean product of two moves' drifts, m²: their covariance from the
// time average. The two fields err each by itself, and no error has a mean.
func together(a, b [2][]float64) float64 {
	sum := 0.0
	for c := range a {
		if len(a[c]) == 0 || len(b[c]) != len(a[c]) {
			continue
		}
		s := 0.0
		for d, v := range a[c] {
			s += v * b[c][d]
		}
		sum += s / float64(len(a[c]))
	}
	return sum
}

// timeItem is the item of a move with the given drift between two fields with draws.
func timeItem(drift [2][]float64, fields [2]*Field) uncertainty.Item {
	dof := float64(len(drift[0]) + len(drift[1]))
	it := uncertainty.Item{Name: "time average", Category: uncertainty.TimeAverage, Kind: uncertainty.Random, Standard: math.Sqrt(together(drift, drift)), DOF: &dof}
	if !fields[0].time.bounded || !fields[1].time.bounded {
		it.Name, it.How = "time average without a correlation length", uncertainty.Unknown
	}
	return it
}

// timed reports whether both fields have draws.
func timed(fields [2]*Field) bool {
	return fields[0] != nil && fields[1] != nil && fields[0].time != nil && fields[1].time != nil
}

// BoxTime is the item "time average" of the difference of two fields' ∫ lever·w dS over
// a box (nil: all), w being the weight: with the lever (y − ȳ)/∫w, of how far the
// centroid in the box moves. lever has the field, 0 or 1, and the place. The errors are
// those of DrawTime, which end where the wake does; ok is false without them.
func BoxTime(a, b *Field, box *grid.Box, lever func(c int, p grid.Point) float64) (item uncertainty.Item, ok bool) {
	fields := [2]*Field{a, b}
	if !timed(fields) {
		return uncertainty.Item{}, false
	}
	var drift [2][]float64
	for c, f := range fields {
		part := quad.NewWeights(f.Mesh, box)
		of := make([]float64, len(part.Weight))
		for k, w := range part.Weight {
			of[k] = w * lever(c, f.Mesh.Points[part.Sample(k)])
		}
		for _, e := range f.time.draws {
			sum := 0.0
			for k, w := range of {
				sum += w * float64(e[part.Sample(k)])
			}
			drift[c] = append(drift[c], sum)
		}
	}
	return timeItem(drift, fields), true
}
