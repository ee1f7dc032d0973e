package rake

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"wakeledger/grid"
)

// statics finds the static pressure at the total tubes.
type statics struct {
	r     *reduction
	tubes []int // good static tubes, in order along their line
	dir   r2.Vec
	at    []float64   // their coordinate along it
	value [][]float64 // Cp by static tube and place
	pos   [][]r3.Vec  // by static tube and place
	loo   float64     // how far a static tube is off its neighbours' line
	span  float64     // over this distance
	cache map[[4]int]shifted
}

type shifted struct{ value, sigma float64 }

// newStatics gathers the static tubes on the line from the first to the furthest other,
// along the rake's axis where there is one alone; nil where there is none.
func newStatics(r *reduction) *statics {
	s := &statics{r: r, dir: r2.Vec{X: 1}, cache: map[[4]int]shifted{}}
	s.tubes = grid.Where(len(r.lay.Tubes), func(t int) bool { return r.lay.Tubes[t].Kind == StaticPt && !r.bad[t] })
	if len(s.tubes) == 0 {
		return nil
	}
	first := s.tubes[0]
	far := slices.MaxFunc(s.tubes, func(a, b int) int { return cmp.Compare(r.apart(first, a), r.apart(first, b)) })
	if r.apart(first, far) > 0 {
		s.dir = r2.Unit(r.way(first, far))
	}
	slices.SortStableFunc(s.tubes, func(a, b int) int { return cmp.Compare(s.along(a), s.along(b)) })
	for _, t := range s.tubes {
		v, p := make([]float64, len(r.places)), make([]r3.Vec, len(r.places))
		for k, pl := range r.places {
			v[k], _ = r.meanAt(t, pl)
			p[k] = s.place(t, k, 0, 0)
		}
		s.at, s.value, s.pos = append(s.at, s.along(t)), append(s.value, v), append(s.pos, p)
	}
	s.leaveOneOut()
	return s
}

func (s *statics) along(t int) float64 {
	tube := s.r.lay.Tubes[t]
	return r2.Dot(s.dir, r2.Vec{X: tube.Y, Y: tube.Z})
}

// place is where a tube is at a place of the rake, moved on the rake by dy and dz.
func (s *statics) place(t, place int, dy, dz float64) r3.Vec {
	tube := s.r.lay.Tubes[t]
	p := s.r.lay.place(s.r.places[place].pose, tube.X, tube.Y+dy, tube.Z+dz)
	return r3.Vec{X: p[0], Y: p[1], Z: p[2]}
}

// leaveOneOut measures how far linear interpolation misses an inner static tube.
func (s *statics) leaveOneOut() {
	var ss, n, span float64
	for j := 1; j+1 < len(s.tubes); j++ {
		a, b, c := s.at[j-1], s.at[j], s.at[j+1]
		if !(c > a) {
			continue
		}
		f := (b - a) / (c - a)
		for k := range s.r.places {
			if d := (1-f)*s.value[j-1][k] + f*s.value[j+1][k] - s.value[j][k]; !math.IsNaN(d) {
				ss += d * d
				n++
				span += c - a
			}
		}
	}
	if n > 0 {
		s.loo, s.span = math.Sqrt(ss/n), span/n
	}
}

// atTube gives Cp and its standard uncertainty, without noise, at a total tube: with the correction
// off that of the nearest static tube, uncertain by the range of all.
func (s *statics) atTube(t, place int) (cp, sigma float64) {
	x, first := s.along(t), s.tubes[0]
	var move r2.Vec // of the tube off the line of the static tubes, at right angles
	if s.r.on(Static) {
		move = r2.Sub(s.r.way(first, t), r2.Scale(x-s.at[0], s.dir))
	}
	var v []shifted
	var at, values []float64
	for j := range s.tubes {
		if w := s.moved(j, place, move); !math.IsNaN(w.value) {
			v, at, values = append(v, w), append(at, s.at[j]), append(values, w.value)
		}
	}
	if len(v) > 0 && !s.r.on(Static) {
		return values[floats.NearestIdx(at, x)], (floats.Max(values) - floats.Min(values)) / 2 / math.Sqrt(3)
	}
	n := len(v)
	switch {
	case n == 0:
		return nan, nan
	case n == 1:
		return v[0].value, v[0].sigma
	case x <= at[0] || x >= at[n-1]:
		end, next := 0, 1
		if x >= at[n-1] {
			end, next = n-1, n-2
		}
		// Constant beyond the last tube: the slope there is what may be missed.
		e, gap := math.Abs(x-at[end]), math.Abs(at[end]-at[next])
		slope := math.Abs(v[end].value-v[next].value) / gap
		return v[end].value, math.Hypot(v[end].sigma, math.Hypot(slope*e, s.loo*math.Min(1, e/gap)))
	}
	k := sort.SearchFloat64s(at, x)
	f := (x - at[k-1]) / (at[k] - at[k-1])
	cp = (1-f)*v[k-1].value + f*v[k].value
	sigma = math.Hypot((1-f)*v[k-1].sigma, f*v[k].sigma)
	if s.span > 0 {
		// The error of linear interpolation goes with f(1−f)·gap²; leaving a tube out
		// showed it at the middle of span.
		g := (at[k] - at[k-1]) / s.span
		return cp, math.Hypot(sigma, s.loo*4*f*(1-f)*g*g)
	}
	// Two tubes tell nothing of the curvature: anything between them may be.
	return cp, math.Hypot(sigma, 2*math.Sqrt(f*(1-f))*math.Abs(v[1].value-v[0].value)/math.Sqrt(12))
}

// moved is the pressure of static tube j where its place would be moved by an offset
// on the rake: linear between the places of the traverse that it passes.
func (s *statics) moved(j, place int, move r2.Vec) shifted {
	here, offset := s.value[j][place], r2.Norm(move)
	if offset <= sameLength || math.IsNaN(here) {
		return shifted{value: here}
	}
	key := [4]int{j, place, int(math.Round(move.X * 1e6)), int(math.Round(move.Y * 1e6))}
	if w, ok := s.cache[key]; ok {
		return w
	}
	p := s.pos[j][place]
	target := r3.Sub(s.place(s.tubes[j], place, move.X, move.Y), p)
	best, bestF, bestCost := -1, 0.0, math.Inf(1)
	for k, q := range s.pos[j] {
		step := r3.Sub(q, p)
		len2 := r3.Dot(step, step)
		if k == place || math.IsNaN(s.value[j][k]) || len2 < sameLength*sameLength {
			continue
		}
		// The target has to be on the way to the other place; backward counts too, as
		// extrapolation, but only where there is nothing else.
		f := r3.Dot(step, target) / len2
		off := r3.Sub(target, r3.Scale(f, step))
		cost := math.Sqrt(len2)
		if f < 0 {
			cost *= 1e6
		}
		if r3.Dot(off, off) <= 0.01*offset*offset+sameLength*sameLength && -1 <= f && f <= 1 && cost < bestCost {
			best, bestF, bestCost = k, f, cost
		}
	}
	w := shifted{value: here}
	if best >= 0 {
		change := bestF * (s.value[j][best] - here)
		w.value = here + change
		if bestF < 0 {
			w.sigma = math.Abs(change)
		}
	}
	s.cache[key] = w
	return w
}

func (r *reduction) staticPressure() {
	s := newStatics(r)
	if s == nil {
		if slices.ContainsFunc(r.out.Samples, func(p Sample) bool { return p.tube >= 0 }) {
			r.warn("no-static", "add static tubes, or survey where the pressure is that of the stream", "no static tube: the speed assumes Cp = 0, and Cp = ±0.1 would change the drag by about 10 %%")
		}
		r.step(Step{Name: Static, Unit: "1", Text: "no static tubes"})
		return
	}
	if len(s.tubes) == 1 {
		r.warn("one-static", "add static tubes along the rake", "one static tube: its pressure is taken for the whole rake, and how it varies along it is not known")
	}
	lo, hi, mean, n, without := math.Inf(1), math.Inf(-1), 0.0, 0.0, 0
	for i := range r.out.Samples {
		p := &r.out.Samples[i]
		if p.tube < 0 {
			continue
		}
		cp, sigma := s.atTube(p.tube, p.place)
		if p.Cp = cp; math.IsNaN(cp) {
			without++ // as without static tubes
			continue
		}
		p.parts[byStatic], p.parts[byStaticNoise] = sigma, r.noise[StaticPt]/math.Sqrt(float64(len(r.places[p.place].rows)))
		lo, hi = math.Min(lo, cp), math.Max(hi, cp)
		mean += sigma
		n++
	}
	if without > 0 {
		r.warn("static-missing", "see why the static tubes have no readings in those rows", "no static tube was read with %d of %d samples: their speed assumes Cp = 0, and Cp = ±0.1 would change the drag by about 10 %%", without, without+int(n))
	}
	step := Step{Name: Static, Unit: "1", Text: fmt.Sprintf("%d static tubes, without a reading", len(s.tubes))}
	if n > 0 {
		step.Applied = r.on(Static) && (len(s.tubes) > 1 || len(s.cache) > 0)
		step.Size = hi - lo
		step.Text = fmt.Sprintf("%d static tubes, Cp from %.3f to %.3f at the total tubes, mean standard uncertainty of interpolation %.3f", len(s.tubes), lo, hi, mean/n)
	}
	r.step(step)
}
