package rake

import (
	"fmt"
	"math"

	"wakeledger/wake"
)

// Rows are at one place when the datum is within sameLength and the roll within
// sameAngle.
const (
	sameLength = 1e-4 // m: what a traverse gear returns to, below any step of a survey
	sameAngle  = 1e-3 // rad
)

// pose is where the rake is: x, y and z of its datum, m, and its roll, rad.
type pose [4]float64

var atOnePlace = pose{sameLength, sameLength, sameLength, sameAngle}

func (r *reduction) samePose(i, j int) bool { return within(r.pose[i], r.pose[j], atOnePlace) }

type place struct {
	pose pose
	rows []int
}

// group finds the rows that share a place, in the order of the log, and how well
// readings repeat there: the pooled standard deviation of a single reading of a kind. With
// the correction off the first of them alone is taken on.
func (r *reduction) group() {
	on := r.rows(false)
	repeated := 0
	for _, group := range together(len(on), func(k int) pose { return r.pose[on[k]] }, atOnePlace) {
		p := place{rows: wake.At(on, group)}
		n := float64(len(group))
		for _, i := range p.rows {
			for k := range p.pose {
				p.pose[k] += r.pose[i][k] / n
			}
		}
		if n > 1 {
			repeated++
		}
		r.places = append(r.places, p)
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
		for k, p := range r.places {
			r.places[k] = place{r.pose[p.rows[0]], p.rows[:1]}
		}
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
				_, squares, k := moments(wake.At(r.coef[t], p.rows))
				ss, dof = ss+squares, dof+math.Max(k-1, 0)
			}
		}
		if dof > 0 {
			r.noise[kind] = math.Sqrt(ss / dof)
			if kind == Total {
				r.out.Rows.Repeatability, r.out.Rows.RepeatDOF = wake.Finite(r.noise[kind]), int(dof)
			}
		}
	}
}

func (r *reduction) meanAt(t int, p place) (mean, n float64) {
	mean, _, n = moments(wake.At(r.coef[t], p.rows))
	return mean, n
}
