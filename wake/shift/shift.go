package shift

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"wakeledger/grid"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
)

// The names of the four measures.
const (
	MeasureCentroid     = "centroid"
	MeasureEdge         = "edge"
	MeasureProfile      = "profile"
	MeasureRegistration = "registration"
	// MeasureOwn is beside them where the planes' bodies fill different places.
	MeasureOwn = "centroid over own samples"
)

const (
	// agreeLevel is the probability with which measures that do agree pass the test.
	agreeLevel = 0.95
	// otherThreshold is the threshold, over the one asked for, at which the move is
	// measured again for its dependence on it.
	otherThreshold = 1.5
	// subCell is the half-width, in sample distances, that the sub-cell fits of all
	// measures are good to without noise.
	subCell = 0.01
	// noiseBand: a difference within this many standard deviations of its own noise,
	// the 99 % point of a normal distribution, adds nothing to the budget; noiseRange is
	// the same for half the range of four values (upper 1 % point of the studentized
	// range, 4.40; from memory).
	noiseBand  = 2.576
	noiseRange = 2.2
	// rangeOfFour is the mean range of four normal values in standard deviations (L.
	// H. C. Tippett 1925, from memory).
	rangeOfFour = 2.059
)

// Options configure Between.
type Options struct {
	// Side is left, right, or empty: the side of the baseline's structure.
	Side string
	// Width is a length that the inboard move is also given as a part of, m (a tyre's
	// or the vehicle's width); 0 gives none.
	Width float64
	// Items, if not nil, gives the items that every measure of a move has alike: what is
	// known of the reference, of a steady solution and of another run, of a part with the
	// given spread along y.
	Items func(spread float64) []uncertainty.Item
	// Own is how far the centroid moves over each plane's own samples beyond what it moves
	// over those that both have, along y, m: a body that fills a place in one plane alone
	// takes the wake there out of both. NaN, or 0, where nothing is known of it.
	Own float64
}

// Move is the move of a structure by one measure, B minus A, m, with its budget and what
// is to be said of it.
type Move struct {
	Measure string `json:"measure"`
	// Lateral is along y, Vertical along z (nil where the measure has none), Inboard
	// toward y = 0 (nil where the side is not known), Fraction the inboard move over the
	// width asked for.
	Lateral  float64  `json:"lateral_m"`
	Vertical *float64 `json:"vertical_m,omitempty"`
	Inboard  *float64 `json:"inboard_m,omitempty"`
	Fraction *float64 `json:"fraction,omitempty"`
	uncertainty.LengthBudget
	uncertainty.Judgement

	// time is what the time average's errors of the baseline and of the variant make of
	// Lateral, a number a draw.
	time [2][]float64
}

// Shift is how far a structure moved between two configurations.
type Shift struct {
	A        string  `json:"a"`
	B        string  `json:"b"`
	Position float64 `json:"position_m"`
	Side     string  `json:"side"`
	// Threshold is that of the weight (f − Threshold)₊ that the measures share, Band
	// the heights of the outlines, m, Area that of the common part, m².
	Threshold float64    `json:"threshold"`
	Band      [2]float64 `json:"band_m"`
	Area      float64    `json:"area_m2"`
	Moves     []Move     `json:"moves"`
	// NotMeasured says why there is none of a measure.
	NotMeasured []string `json:"not_measured,omitempty"`
	// ChiSquare tests whether the moves agree.
	ChiSquare float64 `json:"chi_square"`
	Agree     bool    `json:"agree"`
	// Headline is the weighted mean of the moves where they agree. Else the part changed its
	// shape too, and it is the move of the centroid where all go one way, or the middle between
	// moves that do not. nil without moves.
	Headline *Move `json:"headline,omitempty"`
	// Width is what the moves' fractions are of, m.
	Width float64 `json:"width_m,omitempty"`
	// Spread is the change of the structure's spread along y and z, m.
	Spread [2]float64 `json:"spread_change_m"`
	// DragArea is the change of the local drag over the common part, m², the same places for
	// both configurations.
	DragArea *float64 `json:"drag_area_change_m2,omitempty"`
	// The judgement is that on Headline.
	uncertainty.Judgement
}

// Between measures how far structure nameA of set a moved to become structure
// nameB of set b, in four ways over one window: the places that either covers and
// both surveys do, with the weight (f − t)₊ (see window). The moves are
//
//	centroid      of the weight
//	edge          of the outer outline (the one away from the centre plane; the mean
//	              of both for a structure in the middle), averaged over a height band
//	profile       of the weight summed over the height, by cross-correlation
//	registration  of the weight in two dimensions, by cross-correlation
//
// Each has a budget: sample noise, carried through exactly to first order; the zero
// level of the weight (counted from the nominal reference instead of the open
// edge); the threshold (half as high again); the sampling distance (every other row
// and column); of places that are no samples, the interpolation (fields curved between the
// samples instead, an error of known size that is left in); where the end of the survey or a body
// cuts the part, the cut (without the outermost places, less what noise makes of that); the border
// to neighbours (along with the part or not, see beside, and without the places that either field
// gives to another structure); the scatter of an outline's rows; the sub-cell fit; and, of
// fields with DrawTime, the time average. Of the others a change within the 99 % point of what
// its own noise makes is not counted again.
//
// The moves agree when χ² = Σ (dᵢ − d̄)²/uᵢ², about the mean d̄ weighted with 1/uᵢ²
// (with what the time average does to all of them taken as such, see disagreement),
// is within the 95 % point of its distribution (Birge's √(χ²/ν) [birge]). Then
// the headline is d̄; its uncertainty takes the noise and the time average that the measures
// share as shared and adds the other items up as if they were fully correlated. If they do
// not agree the structure changed its shape too, and the headline is that of apart.
func Between(a, b *parts.Set, nameA, nameB string, opt Options) (*Shift, error) {
	i, j := a.Index(nameA), b.Index(nameB)
	sa, sb := a.Structures[i], b.Structures[j]
	s := &Shift{A: nameA, B: nameB, Position: a.Field().Position, Side: cmp.Or(opt.Side, sa.Side)}
	w, err := partWindow(a, b, i, j, s.Side)
	if err != nil {
		return nil, err
	}
	s.over(w, [2]shape{{sa.Centroid, sa.Spread}, {sb.Centroid, sb.Spread}}, opt)
	s.drag(w, a.Field(), b.Field())
	return s, nil
}

// InBox measures how far the wake in a box (in the plane, where box is nil) moved from
// field a to field b as Between does; name is that of the wake. The window is all places
// of the box that both surveys cover, so what lies below the threshold does not
// pull on any measure. The outline is the outermost place at or above the threshold in the
// box; where the wake goes on beyond the box there is none.
//
// Area is that of the block of places that the wake takes up in the box. No drag is
// given: that of the box is a matter of its own. A box without a place of common coverage is
// a *wake.InputError. Nothing above the threshold leaves Moves empty, and NotMeasured says so.
func InBox(a, b *parts.Field, name string, box *grid.Box, threshold float64, opt Options) (*Shift, error) {
	s := &Shift{A: name, B: name, Position: a.Position, Side: opt.Side}
	w, shapes, err := boxWindow(a, b, box, threshold, opt.Side)
	if err != nil {
		return nil, err
	}
	s.over(w, shapes, opt)
	return s, nil
}

// over takes the moves over a window of wakes of the given shapes.
func (s *Shift) over(w *window, of [2]shape, opt Options) {
	s.Threshold, s.Width, s.Moves = w.t, opt.Width, []Move{}
	if !floats.HasNaN(of[0].at[:]) && !floats.HasNaN(of[1].at[:]) {
		s.Spread = [2]float64{of[1].spread[0] - of[0].spread[0], of[1].spread[1] - of[0].spread[1]}
	}
	s.Band = [2]float64{w.r.Y(w.band[0]), w.r.Y(w.band[1])}
	for _, in := range w.mask {
		if in {
			s.Area += w.r.Cell()
		}
	}
	s.measure(w, opt)
	s.judge(math.Max(of[0].spread[0], of[1].spread[0]), opt)
}

// judge completes the budgets with what all measures share and decides on the moves.
// What is shared by all says nothing of whether they agree.
func (s *Shift) judge(spread float64, opt Options) {
	var shared []uncertainty.Item
	if opt.Items != nil {
		shared = opt.Items(spread)
	}
	of := func(m *Move) {
		b := uncertainty.NewBudget(append(m.Items[:len(m.Items):len(m.Items)], shared...)...)
		m.LengthBudget, m.Judgement = uncertainty.LengthBudget(b), uncertainty.Judge(m.Lateral, &b)
	}
	for k := range s.Moves {
		of(&s.Moves[k])
	}
	s.Judgement = uncertainty.Judgement{Verdict: uncertainty.NotJudged}
	if s.Headline != nil {
		of(s.Headline)
		s.Judgement = s.Headline.Judgement
	}
}

// drag takes the change of the local drag over the common part: each place of the
// raster represents a cell.
func (s *Shift) drag(w *window, fa, fb *parts.Field) {
	if fa.Local == nil || fb.Local == nil {
		return
	}
	la, lb := w.sampled(fa.Mesh, fa.Local), w.sampled(fb.Mesh, fb.Local)
	var change grid.Sum
	for k, in := range w.mask {
		if in {
			change.Add(fa.Scale * w.r.Cell() * (lb[k] - la[k]))
		}
	}
	s.DragArea = new(change.Value())
}

// ways are the four measures.
var ways = []struct {
	name string
	by   func(w *window) *measured
}{
	{MeasureCentroid, (*window).byCentroid},
	{MeasureEdge, (*window).byEdge},
	{MeasureProfile, func(w *window) *measured { return w.byCorrelation(true) }},
	{MeasureRegistration, func(w *window) *measured { return w.byCorrelation(false) }},
}

// sampling is an item of what the samples' distance and noise make.
func sampling(name string, kind string, standard float64) uncertainty.Item {
	return uncertainty.Item{Name: name, Category: uncertainty.Sampling, Kind: kind, Standard: standard}
}

// measure takes the moves with their budgets and the mean.
func (s *Shift) measure(w *window, opt Options) {
	lifted, bent, touches, higher := w.lifted(), w.bent(), w.touches(), *w
	higher.t *= otherThreshold
	// The places that belong to no other structure in either field, and those off the cuts.
	clear, inner := w.without(func(k int) bool { return w.contested[k] }), w.without(w.atCut)
	var subs []*window
	for k := range 4 {
		subs = append(subs, w.subset(k&1, k>>1))
	}
	var ms []*measured
	var noise []float64
	for _, way := range ways {
		still := way.by(w)
		m, spread, n := still, 0.0, 0.0
		if m.why == "" && touches {
			m, spread = w.beside(way.by, still)
		}
		if m.why == "" {
			if n = w.deviation([]*measured{m}, []float64{1}); math.IsNaN(n + m.y) {
				m.why = "the weight does not fix it"
			}
		}
		if m.why != "" {
			s.NotMeasured = append(s.NotMeasured, way.name+": "+m.why)
			continue
		}
		// by is how far the move of the fixed mask differs in another window.
		by := func(v *window) float64 { return w.changed(still, way.by(v)) / math.Sqrt(3) }
		items := []uncertainty.Item{
			sampling("sample noise", uncertainty.Random, n),
			sampling("zero level of the weight", uncertainty.Independent, by(lifted)),
			sampling("threshold", uncertainty.Independent, by(&higher)),
			sampling("sampling distance", uncertainty.Random, halfRange(way.by, subs)/math.Sqrt(3)),
		}
		if bent != nil {
			if v := way.by(bent); v.why == "" {
				items = append(items, sampling("interpolation", uncertainty.Independent, uncertainty.OffStandard(v.y-still.y, n, 0)))
			}
		}
		if inner != nil {
			if v := way.by(inner); v.why == "" {
				d := beyond(math.Abs(v.y-still.y), 1, w.deviation([]*measured{v, still}, []float64{1, -1}), 1)
				items = append(items, sampling("cut of the part", uncertainty.Independent, d/math.Sqrt(3)))
			}
		}
		if touches {
			border := spread / math.Sqrt(3)
			if clear != nil {
				border = math.Max(border, by(clear))
			}
			items = append(items, sampling("border to neighbours", uncertainty.Independent, border))
		}
		if m.rows != nil {
			items = append(items, sampling("rows of the height band", uncertainty.Random, m.rowExcess()))
		}
		items = append(items, sampling("sub-cell fit", uncertainty.Independent, subCell*w.r.DX/math.Sqrt(3)))
		var drift [2][]float64
		if timed(w.fields) {
			drift = w.drift(m.gain)
			items = append(items, timeItem(drift))
		}
		mv := s.move(way.name, m.y, items)
		mv.time, mv.Vertical = drift, m.z
		s.Moves, ms, noise = append(s.Moves, mv), append(ms, m), append(noise, n)
	}
	s.combine(w, ms, noise)
	s.own(opt.Own)
}

// move makes a Move of a lateral one and its items.
func (s *Shift) move(name string, y float64, items []uncertainty.Item) Move {
	m := Move{Measure: name, Lateral: y, LengthBudget: uncertainty.LengthBudget(uncertainty.NewBudget(items...))}
	if sign := outward(s.Side); sign != 0 {
		in := -sign * y
		m.Inboard = &in
		if s.Width > 0 {
			m.Fraction = new(in / s.Width)
		}
	}
	return m
}

// outward is +1 on the right, −1 on the left, else 0.
func outward(side string) float64 { return map[string]float64{"right": 1, "left": -1}[side] }

// Toward is the move toward the centre plane, or to the right where its side is not known.
func (m Move) Toward() (v float64, sense string) {
	if m.Inboard != nil {
		return *m.Inboard, "inboard"
	}
	return m.Lateral, "right"
}

// changed is how far another way of measuring differs from m, less what noise alone
// makes of the difference. A measure that fails there adds nothing; it is the first
// that counts.
func (w *window) changed(m, other *measured) float64 {
	if other.why != "" {
		return 0
	}
	return beyond(math.Abs(other.y-m.y), noiseBand, w.deviation([]*measured{other, m}, []float64{1, -1}), 1)
}

// beyond is √(d² − (part·s)²) where d is more than limit·s, else 0.
func beyond(d, limit, s, part float64) float64 {
	if !(d > limit*s) {
		return 0
	}
	return math.Sqrt(d*d - part*part*s*s)
}

// halfRange is half the range of what the subsets give, less the range that
// noise makes. Fewer than two subsets say nothing.
func halfRange(by func(w *window) *measured, subs []*window) float64 {
	lo, hi, s, n := math.Inf(1), math.Inf(-1), 0.0, 0
	for _, w := range subs {
		if m := by(w); m.why == "" {
			lo, hi = math.Min(lo, m.y), math.Max(hi, m.y)
			s += w.deviation([]*measured{m}, []float64{1})
			n++
		}
	}
	if n < 2 {
		return 0
	}
	return beyond((hi-lo)/2, noiseRange, s/float64(n), rangeOfFour/2)
}

// combine tests whether the moves agree and takes their mean.
func (s *Shift) combine(w *window, ms []*measured, noise []float64) {
	n := len(s.Moves)
	if n == 0 {
		return
	}
	factor := make([]float64, n)
	sum, mean := 0.0, 0.0
	for k, m := range s.Moves {
		factor[k] = 1 / (m.Standard * m.Standard)
		sum += factor[k]
		mean += factor[k] * m.Lateral
	}
	mean /= sum
	other := 0.0
	var drift [2][]float64
	for k, m := range s.Moves {
		factor[k] /= sum
		t := together(m.time, m.time)
		other += factor[k] * math.Sqrt(math.Max(0, m.Standard*m.Standard-noise[k]*noise[k]-t))
		for c, list := range m.time {
			if drift[c] == nil {
				drift[c] = make([]float64, len(list))
			}
			for d, v := range list {
				drift[c][d] += factor[k] * v
			}
		}
	}
	s.Agree = true
	if n > 1 {
		dof := float64(n - 1)
		s.ChiSquare = s.disagreement()
		s.Agree = s.ChiSquare <= distuv.ChiSquared{K: dof}.Quantile(agreeLevel)
	}
	if !s.Agree {
		s.apart()
		return
	}
	items := []uncertainty.Item{
		sampling("sample noise", uncertainty.Random, w.deviation(ms, factor)),
		sampling("all else, taken as shared", uncertainty.Independent, other),
	}
	if timed(w.fields) {
		items = append(items, timeItem(drift))
	}
	h := s.move("weighted mean", mean, items)
	h.time = drift
	s.Headline = &h
}

// own adds the move of the centroid over each plane's own samples where that is another,
// beyond its uncertainty: the measures then do not agree on what moved.
func (s *Shift) own(further float64) {
	k := slices.IndexFunc(s.Moves, func(m Move) bool { return m.Measure == MeasureCentroid })
	if k < 0 || !(math.Abs(further) > s.Moves[k].Expanded) {
		return
	}
	m := s.move(MeasureOwn, s.Moves[k].Lateral+further, s.Moves[k].Items)
	m.time = s.Moves[k].time
	s.Moves, s.Agree = append(s.Moves, m), false
	s.apart()
}

// apart makes the headline of moves that do not agree. Where all go one way it is that of the
// centroid, over each plane's own samples if that differs, which is what a move is said to be of
// (of the first measure taken, where that is another); else the middle between the extremes with half their distance as a rectangular error, which is
// never resolved.
func (s *Shift) apart() {
	head := s.Moves[max(0, slices.IndexFunc(s.Moves, func(m Move) bool { return m.Measure == MeasureOwn }))]
	if slices.ContainsFunc(s.Moves, func(m Move) bool { return m.Lateral*s.Moves[0].Lateral <= 0 }) {
		by := func(a, b Move) int { return cmp.Compare(a.Lateral, b.Lateral) }
		lo, hi := slices.MinFunc(s.Moves, by).Lateral, slices.MaxFunc(s.Moves, by).Lateral
		head = s.move("middle of the measures", (lo+hi)/2, append([]uncertainty.Item{{
			Name: "the measures do not agree", Category: uncertainty.Sampling, Kind: uncertainty.Independent,
			Standard: (hi - lo) / 2 / math.Sqrt(3), Distribution: uncertainty.Rectangular,
		}}, head.Items...))
	}
	s.Headline = &head
}

// disagreement is χ², the least value over d of
//
//	Σᵢⱼ (dᵢ − d) (C⁻¹)ᵢⱼ (dⱼ − d)
//
// with C the covariance of the moves: their variances, and between two of them what
// the time average does to both, so that an error which moves all measures alike does
// not make them agree. Without it this is Σ (dᵢ − d̄)²/uᵢ². The inverse of a
// covariance found from ν draws is too large by ν/(ν−n−1) in the mean (T. W.
// Anderson, An Introduction to Multivariate Statistical Analysis, from memory),
// which counts for the time average's part alone and is left: with two fields' draws
// it is a tenth at most, on the side of calling moves different.
func (s *Shift) disagreement() float64 {
	n := len(s.Moves)
	c := mat.NewSymDense(n, nil)
	one, d := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i, a := range s.Moves {
		one.SetVec(i, 1)
		d.SetVec(i, a.Lateral-s.Moves[0].Lateral)
		c.SetSym(i, i, a.Standard*a.Standard)
		for j, b := range s.Moves[:i] {
			c.SetSym(i, j, together(a.time, b.time))
		}
	}
	var chol mat.Cholesky
	var of, from mat.VecDense
	if !chol.Factorize(c) || chol.SolveVecTo(&of, one) != nil || chol.SolveVecTo(&from, d) != nil {
		// Moves without any uncertainty agree when they are the same.
		if mat.Norm(d, math.Inf(1)) == 0 {
			return 0
		}
		return math.MaxFloat64
	}
	across := mat.Dot(one, &from)
	return math.Max(0, mat.Dot(d, &from)-across*across/mat.Dot(one, &of))
}
