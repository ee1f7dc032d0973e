package parts

import "wakeledger/wake/measure"

// DrawTime gives the field of a measured plane that is a mean kept by blocks of its record
// the errors that its finite time average can have left, from which every move takes its
// item "time average": one set of draws for all parts and measures, so that what these
// share is known. The zero level of the weight is taken as free of them: it is the mean of
// hundreds of samples in the outer flow. Nothing is drawn of a plane without blocks.
func (f *Field) DrawTime(m *measure.Measurement) {
	f.Time = nil
	put := func(v []float64) []float64 { return v }
	if m.Plane.Mesh != f.Mesh {
		_, put = thin(m.Plane.Mesh)
	}
	for _, e := range m.BlockErrors() {
		draw := make([]float32, len(f.Weight))
		for i, x := range put(e) {
			draw[i] = float32(x)
		}
		f.Time = append(f.Time, draw)
	}
}
