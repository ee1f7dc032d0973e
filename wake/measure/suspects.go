package measure

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// Suspects are the doubts about a plane's values that need no reference: a stream against x, and in
// each quantity a value that stands alone (see loneSample).
func Suspects(p *wake.Plane) (out []wake.Warning) {
	whole := quad.NewWeights(p.Mesh, nil)
	if mean := meanSpeed(p, whole); mean < 0 {
		out = append(out, flowReversed(p, mean))
	}
	for q := wake.U; q < wake.NumQuantities; q++ {
		if f := p.Field[q]; f != nil {
			if c, near := loneSample(p.Mesh, whole, func(i int) float64 { return f[i] }, NewScatter(p.Mesh, f)); near != nil {
				out = append(out, oneSample(p, c, near, "of "+q.String()))
			}
		}
	}
	return out
}

// meanSpeed is the mean of u over a plane normal to x; 0 elsewhere.
func meanSpeed(p *wake.Plane, whole quad.Weights) float64 {
	if p.Normal != wake.AxisX || p.Field[wake.U] == nil {
		return 0
	}
	return whole.Integrate(p.Field[wake.U]) / whole.Area()
}

func flowReversed(p *wake.Plane, mean float64) wake.Warning {
	return wake.Doubt("flow-reversed", p.Name(), `declare the axes, for example --frame "x forward, y left, z up"`,
		"the mean axial velocity is %s m/s, but flow should leave the plane toward +x", uncertainty.Fixed(mean, 2))
}

const (
	// manyBeside samples are those beside one: the ring of a lattice.
	manyBeside = 8
	// loneLeft is the part of Σ(w·r)² that is left at most without a sample that makes most of it, loneFar
	// how far that is off the samples beside it, over the range of all others.
	loneLeft = 0.25
	loneFar  = 0.5
)

// loneSample finds the sample, if there is one, that by itself makes most of the sampling
// uncertainty of a field's integral: with the mean of the nearest in its place, at most loneLeft of
// Σ(w·r)² remains. near are those nearest to it; nil for none.
func loneSample(m *grid.Mesh, whole quad.Weights, of func(i int) float64, s *Scatter) (c int, near []int) {
	squares := func(s *Scatter) (sum float64, most int) {
		top := 0.0
		for i, w := range whole.Weight {
			a := w * s.residual[i]
			if sum += a * a; a*a > top {
				top, most = a*a, i
			}
		}
		return sum, most
	}
	sum, c := squares(s)
	if a := whole.Weight[c] * s.residual[c]; !(a*a > loneLeft*sum/2) || len(m.Points) <= 2*manyBeside {
		return 0, nil
	}
	near = nearest(m.Points, c)
	f := grid.Fill(len(m.Points), of)
	mean, off := beside(f, c, near)
	if !(off > loneFar) {
		return 0, nil
	}
	f[c] = mean
	if left, _ := squares(NewScatter(m, f)); left > loneLeft*sum {
		return 0, nil
	}
	return c, near
}

// nearest are the manyBeside points that lie nearest to point c, which are fewer than all others.
func nearest(points []grid.Point, c int) (near []int) {
	far := make([]float64, 0, manyBeside+1)
	for i, p := range points {
		d := math.Hypot(p.X-points[c].X, p.Y-points[c].Y)
		if i == c || len(far) == manyBeside && d >= far[manyBeside-1] {
			continue
		}
		at, _ := slices.BinarySearch(far, math.Nextafter(d, math.Inf(1))) // after those as far
		far, near = slices.Insert(far, at, d), slices.Insert(near, at, i)
		if len(far) > manyBeside {
			far, near = far[:manyBeside], near[:manyBeside]
		}
	}
	return near
}

// beside is the mean of a field over the samples near c, and how far c is off it, over the range of
// all others; 1 where these are all the same.
func beside(f []float64, c int, near []int) (mean, off float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, v := range f {
		if i != c {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	for _, i := range near {
		mean += f[i] / float64(len(near))
	}
	if off = math.Abs(f[c] - mean); hi > lo {
		return mean, off / (hi - lo)
	}
	return mean, math.Min(1, math.Ceil(off))
}

// oneSample names a sample that stands alone by that of its values which is furthest off, and what it does.
func oneSample(p *wake.Plane, c int, near []int, does string) wake.Warning {
	var of wake.Quantity
	var mean, most float64
	for q := wake.U; q < wake.NumQuantities; q++ {
		if f := p.Field[q]; f != nil {
			if m, off := beside(f, c, near); off > most {
				of, mean, most = q, m, off
			}
		}
	}
	a, b := p.Normal.InPlane()
	at := p.Mesh.Points[c]
	return wake.Doubt("one-sample", p.Name(), "check its row in the file, and write nan for a value that is wrong",
		"%s = %.5g %s at %s = %s m, %s = %s m, where the samples beside it have %.5g on the mean: this one sample makes most of the scatter %s",
		of, p.Field[of][c], of.Unit(), a, uncertainty.Fixed(at.X, 4), b, uncertainty.Fixed(at.Y, 4), mean, does)
}
