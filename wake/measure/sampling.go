package measure

import (
	"math"
	"sync"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

// Of white noise of variance 1 the difference from the neighbours along the gradients
// leaves these standard deviations, since the gradients hold the sample's own noise too:
// 0.893 on a hexagonal lattice, 0.888 inside and 0.675 on the border of points spread at
// random by a tenth to nearly half of a cell, and of octrees within 0.02.
const insideScale, borderScale = 1 / 0.888, 1 / 0.675

// leastWeight is the part of their weight that the neighbours of a sample keep at least where the
// curvature along the gradient is taken out: where all are as far off along it, nothing else is left.
const leastWeight = 0.1

// oneLine is the part of the distance of two samples that they are off one line at most.
const oneLine = 1e-3

// triangleScatter gives the residuals of a field on triangles, and its chord error:
// a third of the mean distance of the neighbours' values from the tangent plane,
// from one pass over the sides.
func triangleScatter(m *grid.Mesh, f []float64, out *Scatter) {
	gx, gy := m.Gradient(f)
	// about sums up over the neighbours of a sample how far their values are off the tangent plane,
	// q with half of each end's gradient along the side instead of the sample's own, and s, how far
	// they are along the gradient. A field that changes along its gradient alone has q ~ s².
	type about struct{ off, q, s2, s4, s2q, d2, n float64 }
	sum := make([]about, len(f))
	// Round an inner sample each neighbour belongs to two triangles, and rim ends as 0.
	rim := make([]int32, len(f))
	aligned, length := 0, 0.0
	add := func(i, j int32) {
		dx, dy := m.Points[j].X-m.Points[i].X, m.Points[j].Y-m.Points[i].Y
		if x, y := math.Abs(dx), math.Abs(dy); min(x, y) < oneLine*max(x, y) {
			aligned, length = aligned+1, length+max(x, y)
		}
		own, other := gx[i]*dx+gy[i]*dy, gx[j]*dx+gy[j]*dy
		v, df := &sum[i], f[j]-f[i]
		q, s2 := df-(own+other)/2, 0.0
		if g := gx[i]*gx[i] + gy[i]*gy[i]; g > 0 {
			s2 = own * own / g
		}
		v.off += df - own
		v.q += q
		v.s2 += s2
		v.s4 += s2 * s2
		v.s2q += s2 * q
		v.d2 += dx*dx + dy*dy
		v.n++
	}
	for t := 0; t+2 < len(m.Triangles); t += 3 {
		a, b, c := m.Triangles[t], m.Triangles[t+1], m.Triangles[t+2]
		for _, s := range [3][2]int32{{a, b}, {b, c}, {c, a}} {
			add(s[0], s[1])
			add(s[1], s[0])
		}
		rim[a] ^= b ^ c
		rim[b] ^= c ^ a
		rim[c] ^= a ^ b
	}
	if 2*aligned > len(m.Triangles) { // each side counts twice
		// In an octree two of three sides lie along the lines, beside coarser cells one of three.
		out.points, out.line = m.Points, oneLine*length/float64(aligned)
	}
	for i := range f {
		v := &sum[i]
		if v.n == 0 {
			continue
		}
		// The sum with the weights 1 − βs², of which nothing is left of q ~ s². Their sum and the sum
		// of their squares are one number.
		q, weight := v.q, v.n
		if beta := v.s2 / v.s4; v.n-beta*v.s2 > leastWeight*v.n {
			q, weight = v.q-beta*v.s2q, v.n-beta*v.s2
		}
		// Inside, each neighbour was met twice.
		scale := insideScale
		if rim[i] != 0 {
			scale = borderScale
		}
		r, c := scale*math.Abs(q)/math.Sqrt(weight*weight+2*weight), v.off/(3*v.n)
		if math.IsNaN(r) {
			r = 0
		}
		if math.IsNaN(c) {
			c = 0
		}
		out.residual[i], out.chord[i], out.apart[i] = r, c, v.d2/v.n
	}
}

// cellScale is 1/√(1 − 2/4 + 9/64). In a square lattice of cells a cell has a share
// of 1/4 in the mean of its corners' values, which are means of the cells about
// them, and that mean has 9/64 of one value's variance (weights 1/4, 1/8 and 1/16).
const cellScale = 1.249390095

// cellScatter sets each cell against the field that is linear between its
// corners. That field is off the true one between the corners, and the means at
// the corners are off it too: 4/3 of the difference is the chord error.
func cellScatter(m *grid.Mesh, f []float64, out *Scatter) {
	nodal, g := m.Nodal(f)
	loc := grid.NewLocator(nodal)
	for i, p := range m.Points {
		shares, n, ok := loc.At(p)
		if !ok {
			continue
		}
		v := -f[i]
		for _, s := range shares[:n] {
			v += s.Weight * g[s.Sample]
		}
		out.residual[i] = math.Abs(v) * cellScale
		out.chord[i] = v * 4 / 3
	}
}

// Sampling is the item of a budget that the distance and the scatter of the samples bring to
// scale·∫f dS over a part of the mesh: √Σ(w·r)² times scale, with r the residuals of f, taken
// as independent, and what the lines of a lattice are off by (linesPart). The degrees of freedom
// are (Σa)²/Σa² with a = (w·r)²: about the number of samples that take part.
func (s *Scatter) Sampling(part quad.Weights, scale float64) uncertainty.Item {
	sum := part.IntegrateAll(2, func(i int, w float64, v []float64) {
		a := w * s.residual[i]
		a *= a
		v[0] += a
		v[1] += a * a
	})
	it := samplingItem(sum[0], sum[1], scale)
	if s.differences != nil {
		it.Standard = math.Hypot(it.Standard, scale*math.Sqrt(s.differences.lines(part, sum[0])))
	}
	return it
}

// samplingItem is Scatter.Sampling from Σa and Σa².
func samplingItem(squares, fourths, scale float64) uncertainty.Item {
	it := uncertainty.Item{Name: "sampling distance", Category: uncertainty.Sampling, Kind: uncertainty.Random, Standard: scale * math.Sqrt(squares)}
	if fourths > 0 {
		it.DOF = new(math.Max(1, squares*squares/fourths))
	}
	return it
}

// unsureCurvature is the standard uncertainty of what the curvature between samples adds to an
// integral, as a part of it: on a wake of known integral the estimate is within 15 %. unsureLines is the same for
// the part that lines of samples in an octree share. Alone, that estimate is within 0.14 for Gaussians and 0.5 to 0.8
// for sides as steep as the sample spacing; together with the sampling item 0.3 is enough (by trial).
const unsureCurvature, unsureLines = 0.15, 0.3

// Scatter is what the samples of a field tell of its integrals' uncertainty: for
// each sample two estimates.
//
// The residual is how far the sample is off a smooth field: the size of what its
// neighbours do not tell of it, scaled so that scatter which is independent from
// sample to sample has its own standard deviation. A side of a wake is no scatter: across, its
// samples are off any smooth field, but along itself it is smooth. On a lattice the residual is the
// fourth divided difference along one axis of those along the other, normalised: nothing is left of
// a field that is a cubic along the lines of one axis, or of a side along them, and scatter is left
// whole. Elsewhere it is the difference from the mean of the neighbours in the
// mesh, set off along the gradients, without what changes with the square of the distance along the
// sample's own gradient; a part of other curvature is left, so that it errs on the large side.
//
// The chord error is how far the field that is linear between the samples lies
// above the true one near the sample, on the mean: h²f″/12 for each axis of a
// lattice, from second differences; on triangles a third of the mean distance of the
// neighbours' values from the tangent plane, which for a quadratic field reads 1.0 (irregular triangles) to 1.27
// times (regular ones) what it is. Where
// cells are first averaged to their corners, that is in it too.
//
// A sample without neighbours has 0 for both.
type Scatter struct {
	residual, chord []float64
	// apart is the mean square of the distances of the neighbours, on triangles, and points are the samples of an octree.
	apart  []float64
	points []grid.Point
	// line is how far the samples of one line may be off it.
	line float64
	// differences are those on a lattice.
	differences *differences
}

// NewScatter takes a field of one value a sample.
func NewScatter(m *grid.Mesh, f []float64) *Scatter {
	out := &Scatter{residual: make([]float64, len(f)), chord: make([]float64, len(f))}
	switch {
	case m.Kind == grid.KindLattice:
		out.differences = newDifferences(m.Lattice, f)
		out.differences.residuals(out.residual)
		latticeChord(m.Lattice, f, out.chord)
	case len(m.Triangles) > 0:
		out.apart = make([]float64, len(f))
		triangleScatter(m, f, out)
	default:
		cellScatter(m, f, out)
	}
	return out
}

// Items are Straight, and what the square of the noise does to scale·∫f dS over a part of the mesh,
// which does not average out, an error of one sign too. Of 2u(1−u), with the noise σ on u, it is −2σ²,
// and at u = 1 the noise of f is 2σ or more: at most ½∫r² dS.
func (s *Scatter) Items(part quad.Weights, scale float64) []uncertainty.Item {
	items := s.Straight(part, scale)
	square, u := scale*part.IntegrateFunc(func(i int) float64 { return s.residual[i] * s.residual[i] / 2 }), items[0].Standard
	return append(items, uncertainty.Left("square of the noise", -square, u, square/2))
}

// Straight are the items of scale·∫f dS over a part of the mesh, f linear in what has noise: Sampling,
// and what the curvature of the field between the samples does, h²/12·∫∇²f dS, an end correction
// (Euler–Maclaurin), zero where the field has died away at the part's border. That is an error of
// one sign, which is left in the integral.
func (s *Scatter) Straight(part quad.Weights, scale float64) []uncertainty.Item {
	sampling := s.Sampling(part, scale)
	return []uncertainty.Item{sampling, curvatureItem(scale*part.Integrate(s.chord), sampling.Standard, scale*s.alongLines(part))}
}

// alongLines is the root of how much the squared sums of the chord errors along lines of samples, of either
// direction, exceed the sum of their squares. It is for octrees, and on a large plane too small to matter.
func (s *Scatter) alongLines(part quad.Weights) float64 {
	if s.points == nil || len(s.points) > largePlane {
		return 0
	}
	var products float64
	sums, first := [2]map[int64]float64{{}, {}}, s.points[0]
	for n, w := range part.Weight {
		i := part.Sample(n)
		p, v := s.points[i], w*s.chord[i]
		for axis, at := range [2]float64{p.X - first.X, p.Y - first.Y} {
			line := int64(math.Round(at / s.line))
			products += 2 * sums[axis][line] * v
			sums[axis][line] += v
		}
	}
	return math.Sqrt(max(0, products))
}

// curvatureItem is that of the curvature between samples, which the integral is off by, beside the
// standard uncertainty of the sampling. lines is the result of alongLines.
func curvatureItem(off, sampling, lines float64) uncertainty.Item {
	return uncertainty.Left("curvature between samples", off, sampling, math.Hypot(unsureCurvature*off, unsureLines*lines))
}

// scatterOf is the Scatter of a function of the samples.
func (m *measuring) scatterOf(f func(i int) float64) *Scatter {
	return NewScatter(m.plane.Mesh, m.each(f))
}

// scatters makes the two scatters side by side, which every budget will ask for:
// on large planes they cost more than the integrals.
func (m *measuring) scatters() {
	var wg sync.WaitGroup
	if m.flow.momentum() {
		wg.Go(func() { m.localScatter() })
	}
	if m.weight != nil {
		wg.Go(func() { m.weightScatter() })
	}
	wg.Wait()
}

// localScatter is that of the local drag, made once.
func (m *measuring) localScatter() *Scatter {
	if m.local == nil {
		m.local = m.scatterOf(m.flow.local)
	}
	return m.local
}

// weightScatter is that of the weight, made once.
func (m *measuring) weightScatter() *Scatter {
	if m.ofWeight == nil {
		m.ofWeight = NewScatter(m.plane.Mesh, m.weight)
	}
	return m.ofWeight
}
