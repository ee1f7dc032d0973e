package measure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// The closing test. The open edge is the outer border of the mesh itself, notches
// with it, without the floor, the plane of symmetry and the rims of bodies. With r
// the mean local drag on it by length, s the standard error that the scatter from
// sample to sample leaves in r, D the drag area, and A the larger of the window and of
// what of a stated section no sample covers, the window, with |r| no less than what the stretches of
// the edge come to when they do not cancel (cut.size),
//
//   - closes where |r|A and 2sA are both within 1 % of D, or where it is a whole closed
//     section: no more mass defect than 0.5 % of its area, 0.005 U through the border,
//     and no border sample in a wake;
//   - is not known to close where |r| is within 3s but 2sA is not within 1 % of D: noise
//     hides what the edge would tell. The momentum integral is quoted, and its budget
//     holds that noise over what lies beyond the edge alone: the tail of the wake, or what of a
//     stated section no sample covers;
//   - else does not close.
//
// A whole closed section that is anchored on its edge does not close either: the stream
// beside the wake is not the one ahead of the body.
//
// An edge that pt∞ was anchored on has no r of its own outside the wake, and the
// anchor's noise is an item by itself: s does not count, but no more than 0.01 U may
// pass through it.
const (
	closesFree     = 0.01
	closesMass     = 0.005
	closesNormal   = 0.005
	closesAnchored = 0.01
	// floorReach: the lower border is the floor when it lies within this many sample
	// distances of z = 0.
	floorReach = 1.01
)

// border is the open edge: its sides, the samples on it, each once, and the length
// that each has, half of every side that ends in it.
type border struct {
	sides   []grid.Side
	samples []int32
	length  []float64
	// ends are the places in samples of the ends of each side.
	ends [][2]int32
}

func newBorder(sides []grid.Side) *border {
	b := &border{sides: sides}
	place := make(map[int32]int32, len(sides))
	at := func(sample int32, length float64) int32 {
		k, ok := place[sample]
		if !ok {
			k = int32(len(b.samples))
			place[sample] = k
			b.samples, b.length = append(b.samples, sample), append(b.length, 0)
		}
		b.length[k] += length / 2
		return k
	}
	for k := range sides {
		s := &sides[k]
		l := s.Length()
		b.ends = append(b.ends, [2]int32{at(s.From, l), at(s.To, l)})
	}
	return b
}

// openEdge finds the open edge of a window whose typical sample distance is h. onFloor
// says whether the lower side was taken for the floor, mirror whether the
// plane of symmetry was found; sides on either are no open edge. What lies between two of them is the
// open edge where it runs round the mesh, and the rim of a body that stands there where
// it runs round an opening.
func openEdge(p *wake.Plane, window grid.Box, h float64, floor string, half bool) (edge *border, onFloor, mirror bool) {
	mirror = half && p.Normal == wake.AxisX && math.Abs(short(window)) <= floorReach*h
	onFloor = p.Normal == wake.AxisX && floor != FloorNone && math.Abs(window.Min.Y) <= floorReach*h
	left, right := mirror && math.Abs(window.Min.X) <= floorReach*h, mirror && math.Abs(window.Max.X) <= floorReach*h
	// On a lattice just the outermost lines are within half a distance of the border.
	in := h / 2
	if p.Mesh.Kind != grid.KindLattice {
		in = h
	}
	within := func(a, b, limit float64) bool { return math.Abs(a-limit) < in && math.Abs(b-limit) < in }
	shut := func(s *grid.Side) bool {
		n := s.Outward()
		return onFloor && -n.Y > math.Abs(n.X) && within(s.A.Y, s.B.Y, window.Min.Y) ||
			left && -n.X > math.Abs(n.Y) && within(s.A.X, s.B.X, window.Min.X) ||
			right && n.X > math.Abs(n.Y) && within(s.A.X, s.B.X, window.Max.X)
	}
	var open []grid.Side
	for _, loop := range p.Mesh.Border() {
		start := slices.IndexFunc(loop, func(s grid.Side) bool { return shut(&s) })
		if start < 0 {
			open = append(open, loop...)
			continue
		}
		// Once round from a side that is shut, a chain at a time; that round the mesh reaches its top.
		var chain []grid.Side
		top := window.Min.Y
		for i := 1; i <= len(loop); i++ {
			s := &loop[(start+i)%len(loop)]
			if !shut(s) {
				chain, top = append(chain, *s), math.Max(top, s.A.Y)
				continue
			}
			if top > window.Max.Y-in {
				open = append(open, chain...)
			}
			chain, top = nil, window.Min.Y
		}
	}
	return newBorder(open), onFloor, mirror
}

// values are those of a field at the edge's samples.
func (b *border) values(of func(i int) float64) []float64 {
	return grid.Fill(len(b.samples), func(k int) float64 { return of(int(b.samples[k])) })
}

// mean is the mean of a field by length; 0 where there is no edge.
func (b *border) mean(of func(i int) float64) float64 {
	if len(b.samples) == 0 {
		return 0
	}
	return stat.Mean(b.values(of), b.length)
}

const (
	// outerFlow is the largest level that can be the outer flow with the reference off:
	// no reference is wrong by a tenth, so a level above it says that the border lies in
	// the wake. A sample that much above the level lies in one.
	outerFlow = 0.1
	// outlying is how many standard deviations off the level of the edge a border sample
	// counts to a wake that the border cuts.
	outlying = 4
)

// level is what the reference is off on the edge: the mean, by length, of a field that
// is 0 in the outer flow, over the border samples that lie there. Those are the ones
// within four standard deviations of the median, 1.4826 of the median deviation being
// the standard deviation, so that a wake which the border cuts does not count unless it
// fills half of the border. Where the median itself is beyond a tenth, they are those
// that are not, or all if there are none. sd is their standard deviation, and outer says for
// each of the edge's samples whether it is one of them. 0 where there is no edge.
func (b *border) level(of func(i int) float64) (level, sd float64, outer []bool) {
	values := b.values(of)
	middle, reach := b.median(values), 0.0
	if math.Abs(middle) <= outerFlow {
		sd := 1.4826 * b.median(grid.Fill(len(values), func(k int) float64 { return math.Abs(values[k] - middle) }))
		reach = math.Max(outlying*sd, 1e-9) // rounding is no deviation
	} else if slices.ContainsFunc(values, func(v float64) bool { return math.Abs(v) <= outerFlow }) {
		middle, reach = 0, outerFlow
	} else {
		reach = math.Inf(1)
	}
	outer = make([]bool, len(values))
	var in, length []float64
	for k, v := range values {
		if outer[k] = math.Abs(v-middle) <= reach; outer[k] {
			in, length = append(in, v), append(length, b.length[k])
		}
	}
	if len(in) > 0 {
		level, sd = spread(in, length)
	}
	return level, sd, outer
}

// spread is the mean and the standard deviation of values by weights. The rounding of the variance
// of equal ones may fall below 0.
func spread(values, weights []float64) (mean, sd float64) {
	mean, variance := stat.PopMeanVariance(values, weights)
	return mean, math.Sqrt(math.Max(variance, 0))
}

// median is the median by length of values at the edge's samples; 0 where there are none.
func (b *border) median(values []float64) float64 {
	v, w := slices.Clone(values), slices.Clone(b.length)
	stat.SortWeighted(v, w)
	if len(v) == 0 || math.IsNaN(v[0]) {
		return 0
	}
	return stat.Quantile(0.5, stat.Empirical, v, w)
}

// measureEdge states what crosses the open border, given the drag area of the samples
// as they are and the shape of the wake. It needs momentum().
func (m *station) measureEdge(dragArea float64, wake *Wake, scatter *Scatter) *Edge {
	f, b := m.flow, m.edge
	e := &Edge{Points: len(b.samples)}
	e.MassDefect = m.whole.IntegrateFunc(func(i int) float64 { return 1 - f.u[i]/f.speed })
	e.Unseen = math.Max(m.opt.Section[0]*m.opt.Section[1]/m.scale-m.area, 0)
	if len(b.samples) == 0 {
		return e
	}
	e.Residual, e.SD = spread(b.values(f.local), b.length)
	if len(m.opt.Regions) > 0 {
		beside := neighbourMean(m.mesh, m.each(f.local), nil)
		e.Beside = b.mean(func(i int) float64 { return beside[i] })
	}
	through, length := 0.0, floats.Sum(b.length)
	for k := range b.sides {
		n, l := b.sides[k].Outward(), b.sides[k].Length()
		for _, i := range [2]int32{b.sides[k].From, b.sides[k].To} {
			_, _, v, w, _ := f.at(int(i))
			v = v*n.X + w*n.Y
			through += l / 2 * v * v
		}
	}
	e.Normal = math.Sqrt(through / length)
	level, _, outer := b.level(f.loss)
	for k, s := range b.samples {
		e.Strip += m.whole.Weight[s]
		if !outer[k] && f.loss(int(s))-level > outerFlow {
			e.InWake += b.length[k] / length
		}
	}
	e.Standard = b.standard(scatter, b.length) / length
	e.residuals = m.cutEdge(func(i int) float64 { return f.local(i) / length }, b.length, e.Standard, e.wholeSection(m.area))
	m.tail(e, wake, scatter)

	area, hides := math.Max(m.area, e.Unseen), m.area
	if m.opt.Section[0] > 0 {
		hides = e.Unseen
	}
	residual := e.residuals.size()
	least, hidden, limit := residual*area, 2*e.Standard*hides, closesFree*math.Abs(dragArea)
	switch anchored := m.anchor.Kind == AnchorEdge; {
	case least <= limit && (hidden <= limit || anchored) && (!anchored || e.Normal <= closesAnchored):
		e.Closes = true
		e.Why = fmt.Sprintf("the edge residual over %.3g m2, %.3g m2, is within %g %% of the drag area", area, least, 100*closesFree)
	case anchored && e.wholeSection(m.area):
		e.Why = "a whole closed section, anchored on its edge: there the stream is not that ahead of the body, and taken for it, it moves the momentum integral; measure it without an anchor"
	case e.wholeSection(m.area):
		e.Closes = true
		e.Why = fmt.Sprintf("a whole closed section, %s", e.passing(m.area))
	case !anchored && residual <= 3*e.Standard:
		e.Unknown = true
		e.Why = fmt.Sprintf("noise hides the edge residual: %s with a standard error of %.2g on %d samples, which over %.3g m2 is %.2g m2, %.1f %% of the drag area",
			uncertainty.Fixed(e.Residual, uncertainty.Decimals(math.Abs(e.Residual), 4)), e.Standard, e.Points, hides, hidden/2, 50*hidden/math.Abs(dragArea))
	default:
		of := ""
		if residual > math.Abs(e.Residual) {
			of = fmt.Sprintf(", and %s where its stretches do not cancel,", uncertainty.Fixed(residual, 4))
		}
		e.Why = fmt.Sprintf("edge residual %s%s over %.3g m2 is %.0f %% of the drag area, %s",
			uncertainty.Fixed(e.Residual, 4), of, area, 100*least/math.Abs(dragArea), e.passing(m.area))
		if e.InWake > leastInWake {
			e.Why += fmt.Sprintf(", %.0f %% of it in a wake", 100*e.InWake)
		}
	}
	return e
}

// leastInWake is the part of the border in a wake that is said.
const leastInWake = 0.005

// passing says what passes beside the wake and through the border.
func (e *Edge) passing(area float64) string {
	return fmt.Sprintf("mass defect %s %% of the area, %s %% of U through the border", uncertainty.Fixed(100*e.MassDefect/area, 2), uncertainty.Fixed(100*e.Normal, 2))
}

// wholeSection says whether the window looks like a whole closed section: what is
// missing in the wake passes beside it, and neither flow nor wake passes the border.
func (e *Edge) wholeSection(area float64) bool {
	return math.Abs(e.MassDefect) <= closesMass*area && e.Normal <= closesNormal && e.InWake == 0
}

// Open says that the window is known not to hold all of the momentum defect.
func (e *Edge) Open() bool { return !e.Closes && !e.Unknown }

// tail states the drag area that lies beyond the edge, Tail = ∫λ f dl, with f the local drag on it
// and λ how deep it reaches: in a stated section its part that no sample covers, by length; half a
// sample where the window is a whole closed section; else the depth to which the tail of a normal
// distribution reaches that has the wake's centroid c and spread σ, along the border's outward n
//
//	1/λ = n_y (y − c_y)/σ_y² + n_z (z − c_z)/σ_z²
//
// (Mills' ratio for large arguments, M. Abramowitz and I. A. Stegun, Handbook of Mathematical
// Functions (1964), 26.2.12), at most the larger σ; √(strip·window) by length where there is no spread.
func (m *station) tail(e *Edge, wake *Wake, scatter *Scatter) {
	b := m.edge
	length := floats.Sum(b.length)
	depth := func(side *grid.Side, at grid.Point) float64 { return math.Sqrt(e.Strip*m.area) / length }
	e.OfSpread = true
	switch c, spread := wake.place(); {
	case m.opt.Section[0] > 0 || e.wholeSection(m.area):
		depth = func(*grid.Side, grid.Point) float64 { return math.Max(e.Strip, e.Unseen) / length }
		e.OfSpread = false
	case spread != nil:
		depth = func(side *grid.Side, at grid.Point) float64 {
			n, most := side.Outward(), math.Max(spread[0], spread[1])
			steep := n.X*(at.X-c[0])/(spread[0]*spread[0]) + n.Y*(at.Y-c[1])/(spread[1]*spread[1])
			return 1 / math.Max(steep, 1/most)
		}
	}
	e.reach = make([]float64, len(b.samples))
	for k, ends := range b.ends {
		for j, i := range ends {
			at := [2]grid.Point{b.sides[k].A, b.sides[k].B}[j]
			e.reach[i] += b.sides[k].Length() / 2 * depth(&b.sides[k], at)
		}
	}
	e.TailStandard = b.standard(scatter, e.reach)
	e.tails = m.beyond(e, m.flow.local)
	e.Effect = e.tails.size()
}

// beyond is what of the integral of a field is thought to lie beyond the border.
func (m *station) beyond(e *Edge, of func(i int) float64) cut {
	return m.cutEdge(of, e.reach, e.TailStandard, e.wholeSection(m.area))
}

// standard is the standard uncertainty of a sum over the edge's samples with these weights, from
// scatter from sample to sample alone. What varies smoothly along the border is no scatter, and neither is
// a step that some samples stand beside: the scatter of the border is no more than its
// median tells (1.4826 of the median of the sizes is the standard deviation of a normal
// distribution).
func (b *border) standard(scatter *Scatter, weight []float64) float64 {
	r := make([]float64, len(b.samples))
	var sq, weights float64
	for k, s := range b.samples {
		r[k] = scatter.residual[s]
		l := weight[k] * weight[k]
		sq += l * r[k] * r[k]
		weights += l
	}
	if len(r) == 0 {
		return 0
	}
	typical := 1.4826 * grid.Median(r)
	return math.Sqrt(math.Min(sq, weights*typical*typical))
}

// EdgeItem is what the open edge of one survey leaves in its momentum integral, or the
// edges of two in the difference second minus first, where what both have in common
// cancels. r is the residual or the difference of two, s its standard error, t what lies
// beyond the edge and v its standard uncertainty, r and t by stretches, which do not cancel (cut.size):
//
//	closes, or is not known to  √(c·max(t² − v², 0) + v²)
//	does not                    √(r² + s²) · max(window, what of the section no sample covers)
//
// c is 1 where t is the tail of a wake, and 1/3 where it is no more than the half-width of a
// rectangular distribution: over a section, and along its walls. Nothing bounds what lies
// outside where the window does not close.
func EdgeItem(ms ...*Measurement) uncertainty.Item {
	it := uncertainty.Item{Name: uncertainty.WindowEdge, Category: uncertainty.Sampling, Kind: uncertainty.Independent}
	var s, area float64
	var residuals cut
	open, unknown, unseen := false, false, false
	for n, m := range ms {
		e := m.Result.Edge
		residuals.add(sign(n, ms), &e.residuals)
		s, area = math.Hypot(s, e.Standard), max(area, m.Result.Mesh.Area, e.Unseen)
		open, unknown, unseen = open || e.Open(), unknown || e.Unknown, unseen || e.Unseen > e.Strip
	}
	switch {
	case open:
		it.Name = uncertainty.WindowEdge + " (does not close)"
		it.Standard = math.Hypot(residuals.size(), s) * area
	case unknown:
		it.Name = uncertainty.WindowEdge + " (hidden by noise)"
	case unseen:
		it.Name = uncertainty.WindowEdge + ", over the section that was not surveyed"
	}
	if !open {
		square, v := edgeTail(ms, func(m *Measurement) cut { return m.Result.Edge.tails })
		it.Standard = math.Sqrt(square + v*v)
	}
	it.Standard *= ms[0].Scale
	return it
}

// edgeTail is c·max(t² − v², 0) and v of EdgeItem, of tails.
func edgeTail(ms []*Measurement, tail func(m *Measurement) cut) (square, v float64) {
	var tails cut
	part := 1.0 / 3
	for n, m := range ms {
		of := tail(m)
		tails.add(sign(n, ms), &of)
		v = math.Hypot(v, m.Result.Edge.TailStandard)
		if m.Result.Edge.OfSpread {
			part = 1
		}
	}
	t := tails.size()
	return part * math.Max(t*t-v*v, 0), v
}

// WakeEdgeItem is what lies beyond the open edge of the wake-only drag of one survey, or of two in
// the difference second minus first, by EdgeItem's rule: of a wake that the window cuts the tail is
// lost to both drags. Here the local drag is counted from its median on the edge, since the level of the outer
// flow is no tail.
func WakeEdgeItem(ms ...*Measurement) uncertainty.Item {
	square, _ := edgeTail(ms, func(m *Measurement) cut {
		level := m.edge.median(m.edge.values(m.flow.local))
		return m.beyond(m.Result.Edge, func(i int) float64 { return m.flow.local(i) - level })
	})
	return uncertainty.Item{Name: uncertainty.WindowEdge, Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: ms[0].Scale * math.Sqrt(square)}
}

// anchorEdge moves pt∞ to the level of the total pressure on the open edge, and with
// it, at p∞ as given, the speed that the integrands use. Areas are still formed with the
// nominal q.
func (f *flow) anchorEdge(edge *border, off float64) wake.Anchor {
	if len(edge.samples) == 0 || !f.hasLoss() {
		return wake.Anchor{Kind: AnchorNone}
	}
	level, _, outer := edge.level(f.loss)
	points := 0
	for _, o := range outer {
		if o {
			points++
		}
	}
	shift := off - level*f.q
	head := f.ref.TotalPressure + shift - f.ref.Pressure
	// The free stream's v is stated by itself and stays.
	old := f.speed
	square := 2*head/f.ref.Density - f.across()*old*old
	if !(square > 0) {
		return wake.Anchor{Kind: AnchorNone}
	}
	f.ref.TotalPressure += shift
	f.speed = math.Sqrt(square)
	f.dynamic = f.ref.Density / 2 * f.speed * f.speed
	f.norm, f.cptInf = f.dynamic/f.q, head/f.dynamic
	f.onset *= old / f.speed
	f.ref.Anchor = wake.Anchor{Kind: AnchorEdge, ShiftPa: shift, Points: points, Speed: f.speed}
	return f.ref.Anchor
}
