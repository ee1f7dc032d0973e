package parts

import (
	"wakeledger/grid"
	"wakeledger/wake/measure"
)

// TimeAverage says how well the mean velocities of a survey are known: the number of
// independent samples in them, and the length over which their errors are alike
// (correlation exp(−r²/2L²)), m. Without samples nothing is known of the time
// average; a length of 0 means that a plane errs as one, which is no bound for a
// move: errors that are alike all over a wake hardly move it.
type TimeAverage struct {
	Samples float64 `json:"effective_samples"`
	Length  float64 `json:"correlation_length_m"`
}

// TimeErrors are draws of the errors of a field's weight: one value a sample each.
// Bounded is false where they are alike all over the plane, which hardly moves a wake:
// they bound nothing.
type TimeErrors struct {
	Draws   [][]float32
	Bounded bool
}

// DrawTime gives the field of a measured plane the errors that its finite time
// average can have left, measure.TimeDraws draws of them, from which every move takes
// its item "time average": one set of draws for all parts and measures, so that what
// these share is known. They are drawn as far as the
// weight is at or above the threshold of the structures, and two samples beyond. The
// zero level of the weight is taken as free of them: it is the mean of hundreds of
// samples in the outer flow. A plane that is a mean kept by blocks of its record has
// draws from these alone, whatever t says. Nothing is drawn where the plane has neither
// blocks nor <u'u'>, or t has no samples.
func (f *Field) DrawTime(m *measure.Measurement, t TimeAverage, threshold float64) {
	f.Time = nil
	put := func(v []float64) []float64 { return v }
	if m.Plane.Mesh != f.Mesh {
		_, put = thin(m.Plane.Mesh)
	}
	if errs := m.BlockErrors(); errs != nil {
		f.Time = &TimeErrors{Bounded: true}
		for _, e := range errs {
			f.Time.Draws = append(f.Time.Draws, single(put(e)))
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
	f.Time = &TimeErrors{Bounded: t.Length > 0}
	out := make([]float64, len(f.Weight))
	for d := range measure.TimeDraws {
		e.Draw(d, f.Mesh, gain, box, out)
		f.Time.Draws = append(f.Time.Draws, single(out))
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
func (f *Field) ForgetTime() { f.Time = nil }
