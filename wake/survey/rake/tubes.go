package rake

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r2"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey"
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

// kin lists the other tubes of t's kind, nearest first.
func (r *reduction) kin(t int) []int {
	tubes := r.lay.Tubes
	out := grid.Where(len(tubes), func(k int) bool { return k != t && tubes[k].Kind == tubes[t].Kind })
	sort.SliceStable(out, func(a, b int) bool { return r.apart(t, out[a]) < r.apart(t, out[b])*(1-1e-9) })
	return out
}

// neighbours are the four nearest, or fewer.
func (r *reduction) neighbours(t int) []int {
	out := r.kin(t)
	return out[:min(4, len(out))]
}

// way leads from tube a to tube b on the rake.
func (r *reduction) way(a, b int) r2.Vec {
	p, q := r.lay.Tubes[a], r.lay.Tubes[b]
	return r2.Vec{X: q.Y - p.Y, Y: q.Z - p.Z}
}

func (r *reduction) apart(a, b int) float64 { return r2.Norm(r.way(a, b)) }

// beside finds the nearest tube of the same kind on each side of t, for which ok
// holds: the nearest of all and the nearest in a direction more than 120° from it.
func (r *reduction) beside(t int, ok func(int) bool) (a, b int, found bool) {
	kin := slices.DeleteFunc(r.kin(t), func(k int) bool { return !ok(k) })
	for _, k := range kin {
		if p, q := r.way(t, kin[0]), r.way(t, k); r2.Dot(p, q) < -0.5*r2.Norm(p)*r2.Norm(q) {
			return kin[0], k, true
		}
	}
	return 0, 0, false
}

func anyTube(int) bool { return true }

func (r *reduction) judge() {
	n := len(r.coef)
	r.bad, r.fillSigma = make([]bool, n), make([][]float64, n)
	if n == 0 {
		return
	}
	response, spread := make([]float64, n), make([]float64, n)
	var top []float64
	for t, v := range r.coef {
		for _, x := range known(v) {
			response[t] = math.Max(response[t], math.Abs(x))
		}
		_, squares, k := moments(v)
		spread[t] = math.Sqrt(squares / math.Max(k-1, 1))
		if r.lay.Tubes[t].Kind == Total {
			top = append(top, response[t])
		}
	}
	usual := median(top)
	odd := r.oddTubes()
	var found []string
	bad := 0
	for t := range r.coef {
		rep := &r.out.Tubes[t]
		rep.Response, rep.Spread, rep.Odd = wake.Finite(response[t]), wake.Finite(spread[t]), wake.Finite(odd[t])
		r.judgeTube(t, rep, response[t], usual, spread)
		if rep.State == "good" {
			continue
		}
		found = append(found, rep.Name+" "+rep.State)
		if rep.State == "doubtful" {
			r.warn("tube-doubtful", "look at the strip chart; name it under ignore if it is at fault", "tube %s is doubtful: %s; it stands at the end of the rake, where that may be the flow, and is kept", rep.Name, rep.Why)
		} else if r.on(Tubes) || rep.State == "ignored" {
			r.bad[t] = true
			bad++
		}
	}
	r.step(Step{Name: Tubes, Applied: bad > 0, Size: float64(bad), Unit: "1", Text: cmp.Or(strings.Join(found, ", "), "no tube is blocked, lagging or leaking")})
}

func (r *reduction) judgeTube(t int, rep *TubeReport, response, usual float64, spread []float64) {
	a, sigma, pairs := r.lag(t)
	if pairs > 0 {
		rep.Lag = wake.Finite(a)
	}
	odd := rep.Odd != nil && *rep.Odd >= oddShare
	offNeighbours := ""
	if odd {
		offNeighbours = fmt.Sprintf("it is off its neighbours in %.0f %% of the rows", 100**rep.Odd)
	}
	near := r.neighbours(t)
	around := math.NaN() // the second smallest spread of the neighbours
	if len(near) >= 2 {
		v := wake.At(spread, near)
		slices.Sort(v)
		around = v[1]
	}
	stuck := spread[t] < noSpread*around && r.out.Rows.WindOn >= 3
	dead := r.lay.Tubes[t].Kind == Total && len(near) >= 2 && response < noResponse*usual
	switch {
	case slices.ContainsFunc(r.lay.Ignore, func(s string) bool { b, _ := survey.NameUnit(s); return b == rep.Name }):
		rep.State, rep.Why = "ignored", "the layout says so"
	case rep.Missing == r.n:
		rep.State, rep.Why = "blocked", "it has no reading at all"
	case dead:
		rep.State, rep.Why = "blocked", fmt.Sprintf("its largest reading is %.3f q, the usual one %.2f q: no response to the wind", response, usual)
	case stuck, odd && spread[t] < oddSpread*around:
		rep.State, rep.Why = "blocked", fmt.Sprintf("its readings vary by %.4f q (standard deviation), its neighbours' by %.3f q or more", spread[t], around)
		if odd {
			rep.Why += "; " + offNeighbours
		}
	case pairs >= 3 && a > lagLeast && a > lagSure*sigma:
		rep.State, rep.Why = "lagging", fmt.Sprintf("%.0f %% of a step is left one row later (%d steps)", 100*a, pairs)
	case odd:
		rep.State, rep.Why = "doubtful", offNeighbours
		if _, _, inner := r.beside(t, anyTube); inner {
			rep.State = "leaking"
		}
	}
}

// around is the median of a tube's neighbours in row i, and how many have a reading.
func (r *reduction) around(near []int, i int) (float64, int) {
	v := grid.Fill(len(near), func(j int) float64 { return r.coef[near[j]][i] })
	return median(v), len(known(v))
}

// oddTubes gives, for each tube, the share of wind-on rows in which it is off the
// median of its neighbours and off the curve through them: at an end of the rake all are
// on one side, and in the middle of a wake a sound tube is the lowest of all, so that one on
// a smooth curve is not odd. NaN for kinds with fewer than five tubes.
func (r *reduction) oddTubes() []float64 {
	n := len(r.coef)
	near, curve := make([][]int, n), make([][]float64, n)
	odd, rows := make([]float64, n), make([]float64, n)
	for t := range n {
		near[t] = r.neighbours(t)
		curve[t] = r.curve(t, near[t])
	}
	for _, kind := range []Kind{Total, StaticPt} {
		tubes := grid.Where(n, func(t int) bool { return r.lay.Tubes[t].Kind == kind })
		if len(tubes) < 5 {
			continue
		}
		for _, i := range r.rows(false) {
			off := make([]float64, len(tubes))
			for j, t := range tubes {
				m, n := r.around(near[t], i)
				if off[j] = math.Abs(r.coef[t][i] - m); n < 2 {
					off[j] = nan
				}
			}
			limit := math.Max(oddLeast, oddFactor*1.4826*median(off))
			for j, t := range tubes {
				if math.IsNaN(off[j]) {
					continue
				}
				rows[t]++
				miss := r.coef[t][i]
				for k, w := range curve[t] {
					miss -= w * r.coef[near[t][k]][i]
				}
				if off[j] > limit && (curve[t] == nil || !(math.Abs(miss) <= limit)) {
					odd[t]++
				}
			}
		}
	}
	floats.Div(odd, rows) // NaN where no row tells
	return odd
}

// curve gives the weights of the neighbours with which the cubic through four of them on both
// sides, or at an end of the rake the straight line through the two nearest, predicts a tube; nil
// where they are not in one line with it.
func (r *reduction) curve(t int, near []int) []float64 {
	if len(near) < 2 {
		return nil
	}
	along, both := r2.Unit(r.way(t, near[0])), false
	at := make([]float64, len(near))
	for j, k := range near {
		way := r.way(t, k)
		if !(math.Abs(r2.Cross(along, way)) <= sameLength) {
			return nil
		}
		at[j] = r2.Dot(along, way)
		both = both || at[j] < 0
	}
	if !both {
		at = at[:2]
	} else if len(near) < 4 {
		return nil
	}
	return lagrange(at...)
}

// lagrange gives the weights of the polynomial through values at these places for its value
// at 0; nil where two are at one place.
func lagrange(at ...float64) []float64 {
	out := make([]float64, len(at))
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
		same := r.still[i] && r.still[i-1] || !r.still[i] && !r.still[i-1] && r.samePose(i, i-1)
		step := r.still[i-1] != r.still[i-2] || !r.still[i-1] && !r.samePose(i-1, i-2)
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
	if len(r.coef) == 0 {
		return
	}
	good := func(k int) bool { return !r.bad[k] }
	var treated []string
	filled := 0
	for t, rep := range r.out.Tubes {
		if !r.bad[t] {
			continue
		}
		rep.Treated = "left out"
		if r.lay.Tubes[t].Kind == Total {
			a, b, ok := r.beside(t, good)
			p, q, both := r.beside(t, anyTube)
			if r.on(Fill) && ok && both && !(r.bad[p] && r.bad[q]) {
				filled++
				rep.Treated = "filled"
				r.fillTube(t, a, b)
			}
		}
		r.out.Tubes[t] = rep
		treated = append(treated, rep.Name+" "+rep.Treated)
		r.warn("tube-"+rep.State, "clear the tube and repeat the traverse, or read the survey without it", "tube %s is %s: %s; it is %s", rep.Name, rep.State, rep.Why, rep.Treated)
	}
	r.step(Step{Name: Fill, Unit: "1", Size: float64(filled), Applied: filled > 0, Text: cmp.Or(strings.Join(treated, ", "), "nothing to fill")})
}

func (r *reduction) fillTube(t, a, b int) {
	values, sigma := make([]float64, r.n), make([]float64, r.n)
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
		miss := make([]float64, len(tested))
		for j, k := range tested {
			miss[j] = between(k[0], k[1], k[2], i) - r.coef[k[0]][i]
		}
		sigma[i] = 1 // not known: as large as q
		if m := known(miss); len(m) > 0 {
			sigma[i] = math.Sqrt(sumSquares(m) / float64(len(m)))
		}
	}
	r.coef[t], r.fillSigma[t] = values, sigma
}
