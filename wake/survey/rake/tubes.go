package rake

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
)

// Limits of the three tests of a tube (METHOD 1i). They were set so that a tube that
// reads a tenth of what it should is found and a wake's own gradients are not.
const (
	// noResponse: the largest coefficient of a total tube, as a part of the median of
	// all, below which it does not respond to the wind.
	noResponse = 0.05
	// noSpread: the standard deviation over the wind-on rows, as a part of the second
	// smallest of its four neighbours, below which a tube is stuck.
	// oddSpread is the same for a tube that is off its neighbours besides: where the
	// stream is even, all that varies is turbulence, which a stuck tube does not feel.
	noSpread  = 0.1
	oddSpread = 0.4
	// oddFactor and oddLeast: a reading is odd when it is further from the median of
	// its neighbours than oddFactor × 1.4826 MAD of all tubes in that row, and than
	// oddLeast of q. oddShare of the rows make an odd tube.
	oddFactor = 5
	oddLeast  = 0.02
	oddShare  = 0.5
	// lagLeast: the part of a step that is left one row later, above which a tube
	// lags; lagSure is the number of standard uncertainties it has to be above 0.
	lagLeast = 0.1
	lagSure  = 5
)

// neighbours lists up to four tubes of the same kind nearest to t, nearest first.
func (r *reduction) neighbours(t int) []int {
	tubes := r.lay.Tubes
	var out []int
	for k := range tubes {
		if k != t && tubes[k].Kind == tubes[t].Kind {
			out = append(out, k)
		}
	}
	sort.SliceStable(out, func(a, b int) bool { return r.apart(t, out[a]) < r.apart(t, out[b])*(1-1e-9) })
	return out[:min(4, len(out))]
}

// apart is the distance of two tubes on the rake.
func (r *reduction) apart(a, b int) float64 {
	p, q := r.lay.Tubes[a], r.lay.Tubes[b]
	return math.Hypot(p.Y-q.Y, p.Z-q.Z)
}

// beside finds the nearest tube of the same kind on each side of t, for which ok
// holds: the nearest of all and the nearest in a direction more than 120° from it.
func (r *reduction) beside(t int, ok func(int) bool) (a, b int, found bool) {
	tubes := r.lay.Tubes
	a, b = -1, -1
	for k := range tubes {
		if k != t && tubes[k].Kind == tubes[t].Kind && ok(k) && (a < 0 || r.apart(t, k) < r.apart(t, a)) {
			a = k
		}
	}
	if a < 0 {
		return a, b, false
	}
	ay, az := tubes[a].Y-tubes[t].Y, tubes[a].Z-tubes[t].Z
	for k := range tubes {
		if k == t || tubes[k].Kind != tubes[t].Kind || !ok(k) {
			continue
		}
		ky, kz := tubes[k].Y-tubes[t].Y, tubes[k].Z-tubes[t].Z
		if ay*ky+az*kz < -0.5*math.Hypot(ay, az)*math.Hypot(ky, kz) && (b < 0 || r.apart(t, k) < r.apart(t, b)) {
			b = k
		}
	}
	return a, b, b >= 0
}

// judge tests every tube and sets its state.
func (r *reduction) judge() {
	n := len(r.coef)
	r.bad = make([]bool, n)
	r.fillSigma = make([][]float64, n)
	if n == 0 {
		return
	}
	response, spread := make([]float64, n), make([]float64, n)
	var top []float64
	for t, v := range r.coef {
		var k, m, ss float64
		for _, x := range v {
			if !math.IsNaN(x) {
				k++
				m += x
				response[t] = math.Max(response[t], math.Abs(x))
			}
		}
		m /= k
		for _, x := range v {
			if !math.IsNaN(x) {
				ss += (x - m) * (x - m)
			}
		}
		spread[t] = math.Sqrt(ss / math.Max(k-1, 1))
		if r.lay.Tubes[t].Kind == Total {
			top = append(top, response[t])
		}
	}
	usual := median(top)
	odd := r.oddTubes()
	var found []string
	for t := range r.coef {
		rep := &r.out.Tubes[t]
		rep.Response, rep.Spread = finite(response[t]), finite(spread[t])
		rep.Odd = finite(odd[t])
		a, sigma, pairs := r.lag(t)
		if pairs > 0 {
			rep.Lag = finite(a)
		}
		near := r.neighbours(t)
		var around []float64
		for _, k := range near {
			around = append(around, spread[k])
		}
		slices.Sort(around)
		stuck := len(around) >= 2 && spread[t] < noSpread*around[1] && r.out.Rows.WindOn >= 3
		dead := r.lay.Tubes[t].Kind == Total && len(near) >= 2 && response[t] < noResponse*usual
		name := r.tubeName(t)
		switch {
		case slices.ContainsFunc(r.lay.Ignore, func(s string) bool { b, _ := splitUnit(s); return b == name }):
			rep.State, rep.Why = "ignored", "the layout says so"
		case rep.Missing == r.n:
			rep.State, rep.Why = "blocked", "it has no reading at all"
		case dead:
			rep.State, rep.Why = "blocked", fmt.Sprintf("its largest reading is %.3f q, the usual one %.2f q: no response to the wind", response[t], usual)
		case stuck, odd[t] >= oddShare && len(around) >= 2 && spread[t] < oddSpread*around[1]:
			rep.State, rep.Why = "blocked", fmt.Sprintf("its readings vary by %.4f q (standard deviation), its neighbours' by %.3f q or more", spread[t], around[1])
			if odd[t] >= oddShare {
				rep.Why += fmt.Sprintf("; it is off its neighbours in %.0f %% of the rows", 100*odd[t])
			}
		case pairs >= 3 && a > lagLeast && a > lagSure*sigma:
			rep.State, rep.Why = "lagging", fmt.Sprintf("%.0f %% of a step is left one row later (%d steps)", 100*a, pairs)
		case odd[t] >= oddShare:
			_, _, inner := r.beside(t, func(int) bool { return true })
			rep.State = "doubtful"
			if inner {
				rep.State = "leaking"
			}
			rep.Why = fmt.Sprintf("it is off its neighbours in %.0f %% of the rows", 100*odd[t])
		}
		if rep.State == "good" {
			continue
		}
		found = append(found, name+" "+rep.State)
		if rep.State == "doubtful" {
			r.warn("tube-doubtful", "look at the strip chart; name it under ignore if it is at fault", "tube %s is doubtful: %s; it stands at the end of the rake, where that may be the flow, and is kept", name, rep.Why)
		} else if r.on(Tubes) || rep.State == "ignored" {
			r.bad[t] = true
		}
	}
	s := Step{Name: Tubes, Applied: slices.Contains(r.bad, true), Size: float64(count(r.bad)), Unit: "1", Text: "no tube is blocked, lagging or leaking"}
	if len(found) > 0 {
		s.Text = strings.Join(found, ", ")
	}
	r.step(s)
	r.fill()
}

func count(b []bool) (n int) {
	for _, x := range b {
		if x {
			n++
		}
	}
	return n
}

// finite gives a pointer for JSON, nil for NaN and infinities.
func finite(x float64) *float64 {
	if math.IsNaN(x - x) {
		return nil
	}
	return &x
}

// oddTubes gives, for each tube, the share of wind-on rows in which it is off the
// median of its neighbours and off the cubic through them (at an end of the rake, off
// their straight line); NaN
// for kinds with fewer than five tubes.
func (r *reduction) oddTubes() []float64 {
	n := len(r.coef)
	out := make([]float64, n)
	near := make([][]int, n)
	kinds := map[Kind]int{}
	ends := make([][2]int, n) // the two nearest of a tube with neighbours on one side
	cubic := make([][]float64, n)
	for t := range n {
		near[t] = r.neighbours(t)
		if _, _, inner := r.beside(t, func(int) bool { return true }); !inner && len(near[t]) >= 2 && r.apart(t, near[t][1]) > 1.1*r.apart(t, near[t][0]) {
			ends[t] = [2]int{near[t][0], near[t][1]}
		}
		cubic[t] = r.cubicThrough(t, near[t])
		kinds[r.lay.Tubes[t].Kind]++
	}
	rows := make([]float64, n)
	for i := range r.n {
		if r.still[i] {
			continue
		}
		for kind, many := range kinds {
			if many < 5 {
				continue
			}
			off := make([]float64, 0, many)
			who := make([]int, 0, many)
			for t := range n {
				x := r.coef[t][i]
				if r.lay.Tubes[t].Kind != kind || math.IsNaN(x) {
					continue
				}
				var v []float64
				for _, k := range near[t] {
					if y := r.coef[k][i]; !math.IsNaN(y) {
						v = append(v, y)
					}
				}
				if len(v) < 2 {
					continue
				}
				d := math.Abs(x - median(v))
				if e := ends[t]; e != [2]int{} {
					// At an end all neighbours are on one side: a tube on their straight
					// line is not odd either, or every floor layer would be.
					a, b := r.coef[e[0]][i], r.coef[e[1]][i]
					da, db := r.apart(t, e[0]), r.apart(t, e[1])
					if line := math.Abs(x - (a*db-b*da)/(db-da)); line < d {
						d = line
					}
				}
				off, who = append(off, d), append(who, t)
			}
			limit := math.Max(oddLeast, oddFactor*1.4826*median(slices.Clone(off)))
			for k, t := range who {
				rows[t]++
				if off[k] > limit && r.offCubic(cubic[t], near[t], t, i) > limit {
					out[t]++
				}
			}
		}
	}
	for t := range out {
		out[t] /= rows[t]
	}
	return out
}

// offCubic is how far a tube is off the cubic through its neighbours in row i, +Inf
// where there is none. In the middle of a wake a sound tube is the lowest of all: one
// on the smooth curve through its neighbours is not odd.
func (r *reduction) offCubic(weights []float64, near []int, t, i int) float64 {
	if weights == nil {
		return math.Inf(1)
	}
	d := r.coef[t][i]
	for j, k := range near {
		d -= weights[j] * r.coef[k][i]
	}
	if math.IsNaN(d) { // a neighbour has no reading
		return math.Inf(1)
	}
	return math.Abs(d)
}

// cubicThrough gives the weights with which the cubic through four neighbours predicts
// a tube between them; nil where they are not on both sides in one line with it.
func (r *reduction) cubicThrough(t int, near []int) []float64 {
	if len(near) != 4 {
		return nil
	}
	tubes := r.lay.Tubes
	dy, dz := tubes[near[0]].Y-tubes[t].Y, tubes[near[0]].Z-tubes[t].Z
	length := math.Hypot(dy, dz)
	if length == 0 {
		return nil
	}
	var at [4]float64
	above := 0
	for j, k := range near {
		y, z := tubes[k].Y-tubes[t].Y, tubes[k].Z-tubes[t].Z
		at[j] = (y*dy + z*dz) / length
		if math.Abs(y*dz-z*dy)/length > sameLength {
			return nil
		}
		if at[j] > 0 {
			above++
		}
	}
	if above == 0 || above == 4 {
		return nil
	}
	out := make([]float64, 4)
	for j := range at {
		out[j] = 1
		for k := range at {
			if k != j {
				out[j] *= at[k] / (at[k] - at[j])
			}
		}
		if math.IsNaN(out[j] - out[j]) { // two tubes at one place
			return nil
		}
	}
	return out
}

// lag estimates the part a = exp(−Δt/τ) of a step that a tube still lacks one row
// after it, from places where the true pressure is the same in two rows after a step:
// repeated positions, and wind-off rows. With r0 before the step, r1 and r2 after it,
// r2 − r1 = a (r1 − r0) for a first-order lag; a is the least-squares slope.
func (r *reduction) lag(t int) (a, sigma float64, pairs int) {
	v := r.reading[t]
	var xx, xd, dd float64
	for i := 2; i < r.n; i++ {
		same := r.still[i] && r.still[i-1] || !r.still[i] && !r.still[i-1] && r.sameDatum(i, i-1)
		step := r.still[i-1] != r.still[i-2] || !r.still[i-1] && !r.sameDatum(i-1, i-2)
		if !same || !step || math.IsNaN(v[i]+v[i-1]+v[i-2]) {
			continue
		}
		x, d := v[i-1]-v[i-2], v[i]-v[i-1]
		xx += x * x
		xd += x * d
		dd += d * d
		pairs++
	}
	if pairs < 2 || xx == 0 {
		return math.NaN(), math.NaN(), 0
	}
	a = xd / xx
	rest := math.Max(dd-a*xd, 0) / float64(pairs-1)
	return a, math.Sqrt(rest / xx), pairs
}

// fill gives a bad total tube the linear interpolation between the nearest good
// tubes on both sides, if at most one of the tubes beside it is bad too. Its standard
// uncertainty is the root mean square by which the same interpolation misses the good
// tubes around, in the same row.
func (r *reduction) fill() {
	s := Step{Name: Fill, Unit: "1", Text: "nothing to fill"}
	good := func(k int) bool { return !r.bad[k] }
	any := func(int) bool { return true }
	var filled, left []string
	for t := range r.coef {
		if !r.bad[t] {
			continue
		}
		rep := &r.out.Tubes[t]
		rep.Treated = "left out"
		if r.lay.Tubes[t].Kind != Total {
			continue
		}
		a, b, ok := r.beside(t, good)
		p, q, both := r.beside(t, any)
		if !ok || !both || r.bad[p] && r.bad[q] {
			left = append(left, r.tubeName(t))
			continue
		}
		if !r.on(Fill) {
			continue
		}
		filled = append(filled, r.tubeName(t))
		rep.Treated = "filled"
		r.fillTube(t, a, b)
	}
	s.Size = float64(len(filled))
	s.Applied = len(filled) > 0
	if len(filled) > 0 {
		s.Text = strings.Join(filled, ", ") + " filled from the tubes on both sides"
	}
	if len(left) > 0 {
		if len(filled) == 0 {
			s.Text = ""
		} else {
			s.Text += "; "
		}
		s.Text += strings.Join(left, ", ") + " left out: no good tube on both sides, or both tubes beside it bad"
	}
	for t := range r.coef {
		if r.bad[t] {
			r.warn("tube-"+r.out.Tubes[t].State, "clear the tube and repeat the traverse, or read the survey without it", "tube %s is %s: %s; it is %s", r.tubeName(t), r.out.Tubes[t].State, r.out.Tubes[t].Why, r.out.Tubes[t].Treated)
		}
	}
	r.step(s)
}

func (r *reduction) fillTube(t, a, b int) {
	values := make([]float64, r.n)
	sigma := make([]float64, r.n)
	between := func(t, a, b, i int) float64 {
		da, db := r.apart(t, a), r.apart(t, b)
		return (db*r.coef[a][i] + da*r.coef[b][i]) / (da + db)
	}
	// The good tubes around that have good tubes on both sides themselves.
	var tested [][3]int
	for _, k := range r.neighbours(t) {
		if p, q, ok := r.beside(k, func(m int) bool { return !r.bad[m] }); ok && !r.bad[k] {
			tested = append(tested, [3]int{k, p, q})
		}
	}
	for i := range values {
		values[i] = between(t, a, b, i)
		var ss, n float64
		for _, k := range tested {
			if d := between(k[0], k[1], k[2], i) - r.coef[k[0]][i]; !math.IsNaN(d) {
				ss += d * d
				n++
			}
		}
		sigma[i] = 1 // not known: as large as q
		if n > 0 {
			sigma[i] = math.Sqrt(ss / n)
		}
	}
	r.coef[t], r.fillSigma[t] = values, sigma
}
