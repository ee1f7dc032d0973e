package poisson

import (
	"errors"
	"fmt"
	"math"

	"wakeledger/grid"
)

// ErrUnusable is wrapped by every error of this package: the input cannot be
// computed with.
var ErrUnusable = errors.New("poisson: unusable input")

func unusable(format string, a ...any) error {
	return fmt.Errorf("%w: %s", ErrUnusable, fmt.Sprintf(format, a...))
}

const (
	// MinSamples is the fewest samples along either axis.
	MinSamples = 4
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

// Check refuses a lattice that cannot be computed with: fewer than MinSamples or
// more than MaxSamples samples, a spacing that is not positive and finite, an
// origin that is not finite. The error wraps ErrUnusable.
func (l Lattice) Check() error {
	if l.NX < MinSamples || l.NY < MinSamples {
		return unusable("%d × %d samples, at least %d × %d are needed", l.NX, l.NY, MinSamples, MinSamples)
	}
	if l.NX > MaxSamples/l.NY {
		return unusable("%d × %d samples, at most %d in all can be solved; take a wider spacing", l.NX, l.NY, MaxSamples)
	}
	for _, h := range []float64{l.HX, l.HY} {
		if !(h > 0) || math.IsInf(h, 0) {
			return unusable("the spacing is %g × %g, finite positive numbers are expected", l.HX, l.HY)
		}
	}
	if math.IsNaN(l.Origin.X-l.Origin.X) || math.IsNaN(l.Origin.Y-l.Origin.Y) {
		return unusable("the origin (%g, %g) is not finite", l.Origin.X, l.Origin.Y)
	}
	return nil
}

// checkField is Check with one finite value a sample asked for as well.
func (l Lattice) checkField(f []float64) error {
	if err := l.Check(); err != nil {
		return err
	}
	if len(f) != l.Len() {
		return unusable("%d values for %d × %d samples", len(f), l.NX, l.NY)
	}
	for k, v := range f {
		if math.IsNaN(v - v) {
			p := l.Point(k)
			return unusable("the value at (%g, %g) is %g; a finite number is expected", p.X, p.Y, v)
		}
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

// FromLines returns the lattice of evenly spaced lines x and y. Lines further
// than 1 % of the mean spacing from their even place are refused with an error
// that names the line and wraps ErrUnusable.
func FromLines(x, y []float64, support grid.Support) (Lattice, error) {
	l := Lattice{NX: len(x), NY: len(y), Support: support}
	if l.NX < MinSamples || l.NY < MinSamples {
		return l, l.Check()
	}
	for axis, a := range [][]float64{x, y} {
		h := (a[len(a)-1] - a[0]) / float64(len(a)-1)
		for i, v := range a {
			even := a[0] + float64(i)*h
			if !(math.Abs(v-even) <= evenSpacing*h) {
				return l, unusable("line %d at %c = %g is not evenly spaced: %g is its even place at a spacing of %g; resample it first", i, "xy"[axis], v, even, h)
			}
		}
		if axis == 0 {
			l.Origin.X, l.HX = a[0], h
		} else {
			l.Origin.Y, l.HY = a[0], h
		}
	}
	return l, l.Check()
}

// Covering returns the lattice of cells that fills box with a spacing of at most
// h along both axes and numbers of cells that transform fast (FastSize).
func Covering(box grid.Box, h float64) (Lattice, error) {
	if !(h > 0) || !(box.Width() > 0 && box.Height() > 0) || math.IsInf(h+box.Width()+box.Height(), 0) {
		return Lattice{}, unusable("the box %v cannot be covered at a spacing of %g", box, h)
	}
	// A hair less than the quotient, so that a box of exactly n spacings gets n cells.
	count := func(extent float64) float64 { return math.Ceil(extent/h - 1e-9) }
	cx, cy := math.Max(count(box.Width()), MinSamples), math.Max(count(box.Height()), MinSamples)
	if !(cx*cy <= MaxSamples) {
		return Lattice{}, unusable("the box %v at a spacing of %g takes %.3g samples, at most %d can be solved; take a wider spacing", box, h, cx*cy, MaxSamples)
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
