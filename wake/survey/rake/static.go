package rake

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// statics finds the static pressure at the total tubes.
type statics struct {
	r     *reduction
	tubes []int     // good static tubes, in order along their line
	at    []float64 // their coordinate along it
	dir   [2]float64
	value [][]float64    // Cp by static tube and place
	pos   [][][3]float64 // by static tube and place
	loo   float64        // how far a static tube is off its neighbours' line
	span  float64        // over this distance
	cache map[[4]int]shifted
}

type shifted struct{ value, sigma float64 }

// newStatics gathers the static tubes; nil where there is none.
func newStatics(r *reduction) *statics {
	s := &statics{r: r, cache: map[[4]int]shifted{}}
	for t, tube := range r.lay.Tubes {
		if tube.Kind == StaticPt && !r.bad[t] {
			s.tubes = append(s.tubes, t)
		}
	}
	if len(s.tubes) == 0 {
		return nil
	}
	// The line from the first static tube to the furthest other; along the rake's
	// axis where there is one alone.
	s.dir = [2]float64{1, 0}
	a := r.lay.Tubes[s.tubes[0]]
	far := 0.0
	for _, t := range s.tubes[1:] {
		b := r.lay.Tubes[t]
		if d := math.Hypot(b.Y-a.Y, b.Z-a.Z); d > far {
			far = d
			s.dir = [2]float64{(b.Y - a.Y) / d, (b.Z - a.Z) / d}
		}
	}
	sort.SliceStable(s.tubes, func(i, j int) bool { return s.along(s.tubes[i]) < s.along(s.tubes[j]) })
	for _, t := range s.tubes {
		s.at = append(s.at, s.along(t))
		v := make([]float64, len(r.places))
		p := make([][3]float64, len(r.places))
		for k, pl := range r.places {
			v[k], _ = r.meanAt(t, pl)
			tube := r.lay.Tubes[t]
			p[k] = r.lay.place(pl.datum, pl.roll, tube.X, tube.Y, tube.Z)
		}
		s.value, s.pos = append(s.value, v), append(s.pos, p)
	}
	s.leaveOneOut()
	return s
}

func (s *statics) along(t int) float64 {
	tube := s.r.lay.Tubes[t]
	return tube.Y*s.dir[0] + tube.Z*s.dir[1]
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
			d := (1-f)*s.value[j-1][k] + f*s.value[j+1][k] - s.value[j][k]
			if !math.IsNaN(d) {
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

// atTube gives Cp and its standard uncertainty, without noise, at a total tube.
func (s *statics) atTube(t, place int) (cp, sigma float64) {
	tube := s.r.lay.Tubes[t]
	x := s.along(t)
	n := len(s.tubes)
	if !s.r.on(Static) {
		best, lo, hi := -1, math.Inf(1), math.Inf(-1)
		for j := range s.tubes {
			v := s.value[j][place]
			if math.IsNaN(v) {
				continue
			}
			lo, hi = math.Min(lo, v), math.Max(hi, v)
			if best < 0 || math.Abs(s.at[j]-x) < math.Abs(s.at[best]-x) {
				best = j
			}
		}
		if best < 0 {
			return math.NaN(), math.NaN()
		}
		return s.value[best][place], (hi - lo) / 2 / math.Sqrt(3)
	}
	// Off the line of the static tubes, at right angles, and aft.
	lateral := [3]float64{tube.X, tube.Y, tube.Z}
	base := s.r.lay.Tubes[s.tubes[0]]
	move := [3]float64{lateral[0] - base.X, lateral[1] - base.Y - (x-s.at[0])*s.dir[0], lateral[2] - base.Z - (x-s.at[0])*s.dir[1]}
	v := make([]shifted, 0, n)
	at := make([]float64, 0, n)
	for j := range s.tubes {
		if w := s.moved(j, place, move); !math.IsNaN(w.value) {
			v, at = append(v, w), append(at, s.at[j])
		}
	}
	n = len(v)
	switch {
	case n == 0:
		return math.NaN(), math.NaN()
	case n == 1:
		return v[0].value, v[0].sigma
	case x <= at[0] || x >= at[n-1]:
		end, next := 0, 1
		if x >= at[n-1] {
			end, next = n-1, n-2
		}
		// Constant beyond the last tube: the slope there is what may be missed.
		e := math.Abs(x - at[end])
		gap := math.Abs(at[end] - at[next])
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
func (s *statics) moved(j, place int, move [3]float64) shifted {
	here := s.value[j][place]
	offset := math.Sqrt(move[0]*move[0] + move[1]*move[1] + move[2]*move[2])
	if offset <= sameLength || math.IsNaN(here) {
		return shifted{value: here}
	}
	key := [4]int{j, place, int(math.Round(move[1] * 1e6)), int(math.Round(move[2] * 1e6))}
	if w, ok := s.cache[key]; ok {
		return w
	}
	pl, tube := s.r.places[place], s.r.lay.Tubes[s.tubes[j]]
	target := s.r.lay.place(pl.datum, pl.roll, tube.X, tube.Y+move[1], tube.Z+move[2])
	p := s.pos[j][place]
	best, bestF, bestLen := -1, 0.0, math.Inf(1)
	for k, q := range s.pos[j] {
		if k == place || math.IsNaN(s.value[j][k]) {
			continue
		}
		var len2, dot float64
		for a := range 3 {
			len2 += (q[a] - p[a]) * (q[a] - p[a])
			dot += (q[a] - p[a]) * (target[a] - p[a])
		}
		if len2 < sameLength*sameLength {
			continue
		}
		f, length := dot/len2, math.Sqrt(len2)
		var off2 float64
		for a := range 3 {
			d := target[a] - p[a] - f*(q[a]-p[a])
			off2 += d * d
		}
		// The target has to be on the way to the other place; backward counts too, as
		// extrapolation, but only where nothing else is to be had.
		if off2 > 0.01*offset*offset+sameLength*sameLength || f < -1 {
			continue
		}
		cost := length
		if f < 0 {
			cost = length * 1e6
		}
		if f <= 1 && cost < bestLen {
			best, bestF, bestLen = k, f, cost
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

// staticPressure gives every tube sample its Cp and reports the step.
func (r *reduction) staticPressure() {
	samples := r.out.Samples
	step := Step{Name: Static, Unit: "1"}
	s := newStatics(r)
	tubes := slices.ContainsFunc(samples, func(p Sample) bool { return p.tube >= 0 })
	if s == nil {
		step.Text = "no static tubes"
		if tubes {
			r.warn("no-static", "add static tubes, or survey where the pressure is that of the stream", "no static tube: the speed assumes Cp = 0, and Cp = ±0.1 would change the drag by about 10 %%")
		}
		r.step(step)
		return
	}
	if len(s.tubes) == 1 {
		r.warn("one-static", "add static tubes along the rake", "one static tube: its pressure is taken for the whole rake, and how it varies along it is not known")
	}
	lo, hi, mean, n, without := math.Inf(1), math.Inf(-1), 0.0, 0.0, 0
	for i := range samples {
		p := &samples[i]
		if p.tube < 0 {
			continue
		}
		p.Cp, p.parts[byStatic] = s.atTube(p.tube, p.place)
		if math.IsNaN(p.Cp) {
			p.parts[byStatic] = 0 // as without static tubes
			without++
			continue
		}
		p.parts[byStaticNoise] = r.noise[StaticPt] / math.Sqrt(float64(len(r.places[p.place].rows)))
		lo, hi = math.Min(lo, p.Cp), math.Max(hi, p.Cp)
		mean += p.parts[byStatic]
		n++
	}
	if without > 0 {
		r.warn("static-missing", "see why the static tubes have no readings in those rows", "no static tube was read with %d of %d samples: their speed assumes Cp = 0, and Cp = ±0.1 would change the drag by about 10 %%", without, without+int(n))
	}
	step.Text = fmt.Sprintf("%d static tubes, without a reading", len(s.tubes))
	if n > 0 {
		step.Applied = r.on(Static) && (len(s.tubes) > 1 || len(s.cache) > 0)
		step.Size = hi - lo
		step.Text = fmt.Sprintf("%d static tubes, Cp from %.3f to %.3f at the total tubes, mean standard uncertainty of interpolation %.3f", len(s.tubes), lo, hi, mean/n)
	}
	r.step(step)
}
