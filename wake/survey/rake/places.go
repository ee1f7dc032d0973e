package rake

import (
	"fmt"
	"math"
)

// Rows are at one place when the datum is within sameLength and the roll within
// sameAngle.
const (
	sameLength = 1e-4 // m: what a traverse gear returns to, below any step of a survey
	sameAngle  = 1e-3 // rad
)

func (r *reduction) sameDatum(i, j int) bool {
	for k := range 3 {
		if !(math.Abs(r.datum[i][k]-r.datum[j][k]) <= sameLength) {
			return false
		}
	}
	return math.Abs(r.roll[i]-r.roll[j]) <= sameAngle
}

// place is a position of the rake with the rows taken there.
type place struct {
	datum [3]float64
	roll  float64
	rows  []int
}

// group finds the rows that share a place, in the order of the log, and how well
// readings repeat there: the pooled standard deviation of a single reading of a kind.
func (r *reduction) group() {
	type cell [4]int64
	at := func(i int) cell {
		d := r.datum[i]
		return cell{int64(math.Floor(d[0] / sameLength)), int64(math.Floor(d[1] / sameLength)), int64(math.Floor(d[2] / sameLength)), int64(math.Floor(r.roll[i] / sameAngle))}
	}
	first := map[cell][]int{} // places by the cell of their first row
	find := func(i int) int {
		c := at(i)
		for k := range 81 {
			o := cell{c[0] + int64(k%3-1), c[1] + int64(k/3%3-1), c[2] + int64(k/9%3-1), c[3] + int64(k/27-1)}
			for _, p := range first[o] {
				if r.sameDatum(i, r.places[p].rows[0]) {
					return p
				}
			}
		}
		return -1
	}
	for i := range r.n {
		if r.still[i] {
			continue
		}
		p := find(i)
		if p < 0 {
			p = len(r.places)
			r.places = append(r.places, place{})
			first[at(i)] = append(first[at(i)], p)
		}
		r.places[p].rows = append(r.places[p].rows, i)
	}
	repeated := 0
	for p := range r.places {
		pl := &r.places[p]
		n := float64(len(pl.rows))
		for _, i := range pl.rows {
			for k := range 3 {
				pl.datum[k] += r.datum[i][k] / n
			}
			pl.roll += r.roll[i] / n
		}
		if len(pl.rows) > 1 {
			repeated++
		} else {
			pl.datum, pl.roll = r.datum[pl.rows[0]], r.roll[pl.rows[0]]
		}
	}
	r.out.Rows.Places, r.out.Rows.Repeated = len(r.places), repeated
	r.repeatability()
	s := Step{Name: Repeats, Applied: repeated > 0, Size: float64(repeated), Unit: "1"}
	if repeated == 0 {
		s.Text = "no position was measured twice"
		r.noise[Total], r.noise[StaticPt] = r.offNoise/r.qMean, r.offNoise/r.qMean
		if len(r.reading) > 0 {
			r.warn("no-repeats", "measure some positions twice", "no position was measured twice: the scatter of a reading is taken from the wind-off rows and leaves the unsteadiness of the wake out")
		}
	} else {
		s.Text = fmt.Sprintf("%d of %d positions measured more than once; a single reading repeats within %.4f q (total) and %.4f q (static), standard deviation", repeated, len(r.places), r.noise[Total], r.noise[StaticPt])
	}
	r.step(s)
	if !r.on(Repeats) {
		var single []place
		for _, p := range r.places {
			for _, i := range p.rows {
				single = append(single, place{datum: r.datum[i], roll: r.roll[i], rows: []int{i}})
			}
		}
		r.places = single
	}
}

func (r *reduction) repeatability() {
	r.noise = map[Kind]float64{}
	for _, kind := range []Kind{Total, StaticPt} {
		var ss, dof float64
		for t, tube := range r.lay.Tubes {
			if tube.Kind != kind || r.bad[t] {
				continue
			}
			for _, p := range r.places {
				m, k := r.meanOf(t, p)
				for _, i := range p.rows {
					if x := r.coef[t][i]; !math.IsNaN(x) {
						ss += (x - m) * (x - m)
					}
				}
				dof += math.Max(k-1, 0)
			}
		}
		if dof > 0 {
			r.noise[kind] = math.Sqrt(ss / dof)
			if kind == Total {
				r.out.Rows.Repeatability, r.out.Rows.RepeatDOF = finite(r.noise[kind]), int(dof)
			}
		}
	}
}

// meanOf is the mean coefficient of a tube at a place and the number of readings.
func (r *reduction) meanOf(t int, p place) (mean, n float64) {
	for _, i := range p.rows {
		if x := r.coef[t][i]; !math.IsNaN(x) {
			mean += x
			n++
		}
	}
	return mean / n, n
}
