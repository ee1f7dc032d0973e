package poisson

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
)

const (
	// minSamples is the fewest samples along either axis: slopes need so many.
	minSamples = 5
	// MaxSamples is the most samples of a lattice: 2²⁶ take about 4 GB to solve.
	MaxSamples = 1 << 26
	// evenSpacing is how far a line may lie from its even place, as a part of the
	// spacing. Text with four decimals puts lines 10 mm apart up to 0.5 % off; such
	// errors alternate and hardly touch an integral.
	evenSpacing = 0.01
)

// Lattice is a complete uniform lattice: sample k = j·NX + i sits at
// (Origin.X + i·HX, Origin.Y + j·HY).
type Lattice struct {
	// Origin is the place of sample 0.
	Origin grid.Point
	// HX and HY are the spacings, NX and NY the numbers of columns and rows.
	HX, HY float64
	NX, NY int
	// Support says where the border is: through the outermost samples (grid.Nodes)
	// or half a spacing outside them (grid.Cells).
	Support grid.Support
}

// Check refuses a lattice that cannot be computed with: fewer than five samples along
// an axis, more than MaxSamples, a spacing that is not positive and finite, an origin
// that is not finite.
func (l Lattice) Check() error {
	switch {
	case l.NX < minSamples || l.NY < minSamples:
		return fmt.Errorf("%d × %d samples, at least %d × %d are needed", l.NX, l.NY, minSamples, minSamples)
	case l.NX > MaxSamples/l.NY:
		return fmt.Errorf("%d × %d samples, at most %d in all can be solved; take a wider spacing", l.NX, l.NY, MaxSamples)
	case !(0 < min(l.HX, l.HY) && max(l.HX, l.HY) <= math.MaxFloat64):
		return fmt.Errorf("the spacing is %g × %g, finite positive numbers are expected", l.HX, l.HY)
	case math.IsNaN(l.Origin.X-l.Origin.X) || math.IsNaN(l.Origin.Y-l.Origin.Y):
		return fmt.Errorf("the origin (%g, %g) is not finite", l.Origin.X, l.Origin.Y)
	}
	return nil
}

// Len is the number of samples.
func (l Lattice) Len() int { return l.NX * l.NY }

// Point is the place of sample k.
func (l Lattice) Point(k int) grid.Point {
	return grid.Point{X: l.Origin.X + float64(k%l.NX)*l.HX, Y: l.Origin.Y + float64(k/l.NX)*l.HY}
}

// Box is the box that the lattice represents, half-cells at the border included
// when the support is cells.
func (l Lattice) Box() grid.Box {
	b := grid.Box{Min: l.Origin, Max: l.Point(l.Len() - 1)}
	if l.Support == grid.Cells {
		b.Min.X -= l.HX / 2
		b.Min.Y -= l.HY / 2
		b.Max.X += l.HX / 2
		b.Max.Y += l.HY / 2
	}
	return b
}

// share is the part of a full spacing that line i of n represents: ½ at both ends
// of a lattice of nodes (trapezoidal rule), else 1.
func (l Lattice) share(i, n int) float64 {
	if l.Support == grid.Nodes && (i == 0 || i == n-1) {
		return 0.5
	}
	return 1
}

// Weight is the area that sample k represents: HX·HY, half of it on a border of
// nodes, a quarter in a corner.
func (l Lattice) Weight(k int) float64 {
	return l.share(k%l.NX, l.NX) * l.share(k/l.NX, l.NY) * l.HX * l.HY
}

// Integrate sums term(k) times the area of sample k over all samples, compensated.
func (l Lattice) Integrate(term func(k int) float64) float64 {
	var s grid.Sum
	for k := range l.Len() {
		s.Add(l.Weight(k) * term(k))
	}
	return s.Value()
}

// FromMesh returns the mesh's own lattice and the order of its samples, when its lines
// lie within 1 % of the mean spacing of their even places and no place is missing: the
// value of lattice sample k is that of mesh sample order[k]. ok is false for any other mesh.
func FromMesh(m *grid.Mesh) (l Lattice, order []int32, ok bool) {
	if m.Kind != grid.KindLattice || slices.Min(m.Lattice.Index) < 0 {
		return Lattice{}, nil, false
	}
	even := func(a []float64) (first, h float64, ok bool) {
		h = (a[len(a)-1] - a[0]) / float64(len(a)-1)
		for i, v := range a {
			if !(math.Abs(v-(a[0]+float64(i)*h)) <= evenSpacing*h) {
				return 0, 0, false
			}
		}
		return a[0], h, true
	}
	l = Lattice{NX: len(m.Lattice.X), NY: len(m.Lattice.Y), Support: m.Support}
	var okX, okY bool
	l.Origin.X, l.HX, okX = even(m.Lattice.X)
	l.Origin.Y, l.HY, okY = even(m.Lattice.Y)
	return l, m.Lattice.Index, okX && okY
}

// Covering returns the lattice of cells that fills box with a spacing of at most
// h along both axes and numbers of cells that transform fast (FastSize).
func Covering(box grid.Box, h float64) (Lattice, error) {
	if !(h > 0) || !(box.Width() > 0 && box.Height() > 0) || math.IsInf(h+box.Width()+box.Height(), 0) {
		return Lattice{}, fmt.Errorf("the box %v cannot be covered at a spacing of %g", box, h)
	}
	// A hair less than the quotient, so that a box of exactly n spacings gets n cells.
	count := func(extent float64) float64 { return math.Ceil(extent/h - 1e-9) }
	cx, cy := math.Max(count(box.Width()), minSamples), math.Max(count(box.Height()), minSamples)
	if !(cx*cy <= MaxSamples) {
		return Lattice{}, fmt.Errorf("the box %v at a spacing of %g takes %.3g samples, at most %d can be solved; take a wider spacing", box, h, cx*cy, MaxSamples)
	}
	l := Lattice{NX: FastSize(int(cx)), NY: FastSize(int(cy)), Support: grid.Cells}
	l.HX, l.HY = box.Width()/float64(l.NX), box.Height()/float64(l.NY)
	l.Origin = grid.Point{X: box.Min.X + l.HX/2, Y: box.Min.Y + l.HY/2}
	return l, l.Check()
}

// FastSize is the smallest number not below n that has no prime factor above 5:
// the transforms have special code for 2, 3, 4 and 5, and take time in proportion
// to any other factor. It is 1 for n below 1.
func FastSize(n int) int {
	for m := max(n, 1); ; m++ {
		r := m
		for _, p := range []int{2, 3, 5} {
			for r%p == 0 {
				r /= p
			}
		}
		if r == 1 {
			return m
		}
	}
}
