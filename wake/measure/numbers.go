package measure

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// numbers are what is measured of a station: values alone, without doubts and budgets. The
// measurement and every perturbation of it take them from one function.
type numbers struct {
	// drag has the methods that can be quoted; nil where no drag is claimed. edge is that of
	// the first measurement.
	drag *Drag
	edge *Edge
	// terms, total and sums are what the methods are made of.
	terms Terms
	total float64
	sums  []float64
	// vortex are the doubts about the vortex part, lack why there is none.
	vortex []wake.Warning
	lack   error
	// wake is the shape of the whole; nil without a weight. regions are in the order of the
	// options.
	wake    *Wake
	regions []Region
}

// numbers measures all that can be a headline number.
func (s *station) numbers() *numbers {
	n := &numbers{}
	f := s.flow
	if s.plane.Normal == wake.AxisX && (f.u != nil || f.pt != nil) {
		n.drag = &Drag{}
		if f.momentum() {
			n.terms, n.total = s.terms(s.whole)
		}
		if !s.cuts && (f.momentum() || f.pt != nil) {
			n.sums = s.wakeSums(0)
		}
		n.by(s, n.drag, true)
	}
	if s.weight == nil {
		return n
	}
	areas := quad.AreaAbove(s.mesh, s.boxes(), s.weight, s.opt.Thresholds)
	n.wake = s.shape(s.whole, quad.NewMoments(s.mesh, nil, s.weight), areas[0])
	for k := range s.opt.Regions {
		n.regions = append(n.regions, s.region(k, n.drag != nil, areas[k+1]))
	}
	return n
}

// by puts the drags into d by the methods that can be quoted, or by the others.
func (n *numbers) by(s *station, d *Drag, quotable bool) {
	for _, m := range Methods {
		if m.Quotable == quotable && !s.cuts && m.needs(s.flow) {
			m.measure(s, n, d)
		}
	}
}

// Sums of one pass over the plane, from which Jones's, Betz's and the wake-only integral
// are put together: the artificial density is linear in the blockage velocity b.
const (
	sumJones     = iota // Jones's integrand with the turbulence term
	sumStressAll        // the turbulence term
	sumInvalid          // area where Jones's method has no meaning
	sumLost             // area with a loss of total pressure
	sumBetz             // the artificial density with b = 0, over the wake's region
	sumStress           // the turbulence term there
	sumDisplaced        // u*−u
	sumMass             // r(u*−u)
	sumBetzAll          // as sumBetz and sumMass, over the whole plane
	sumMassAll
	sumAxial // r(u*−1)², r(u*−1) and r over the whole plane, u* being u outside the region
	sumAxial1
	sumAxial0
	wakeSumCount
)

// wakeSums makes them, for both halves of a half plane. cp stands in for the unknown
// static pressure of a pitot survey.
func (m *station) wakeSums(cp float64) []float64 {
	f := m.flow
	sum := m.whole.IntegrateAll(wakeSumCount, func(i int, w float64, s []float64) {
		jones, ok := f.jones(i, cp)
		s[sumJones] += w * jones
		s[sumStressAll] += w * f.stress(i)
		if !ok {
			s[sumInvalid] += w
		}
		if lost, _, _ := f.lost(i, cp); lost/f.head() > wake.WakeLoss {
			s[sumLost] += w
		}
		loss, r, u := f.fromLevel(i, cp)
		star := ArtificialVelocity(loss, r, u)
		n := w * f.norm
		betz, mass := n*ArtificialDensity(loss, r, u, 0), n*r*(star-u)
		s[sumBetzAll] += betz
		s[sumMassAll] += mass
		if f.wake.holds(i) {
			s[sumBetz] += betz
			s[sumStress] += w * f.stress(i)
			s[sumDisplaced] += w * (star - u)
			s[sumMass] += mass
		} else {
			star = u
		}
		s[sumAxial] += n * r * (star - 1) * (star - 1)
		s[sumAxial1] += n * r * (star - 1)
		s[sumAxial0] += n * r
	})
	for k := range sum {
		sum[k] *= m.scale
	}
	return sum
}

// known is a turbulence term, nil where the stress is not known or not used.
func (f *flow) known(stress float64) *float64 {
	if f.uu == nil {
		return nil
	}
	return &stress
}

// Layout says where the headline numbers stand in a Vector: for the whole plane
// and then for each region drag area, centroid (two) and the areas above the
// thresholds; last the drag areas of the other methods.
type Layout struct{ Thresholds, Regions int }

// Vector holds the headline numbers of a Result; NaN where one is not computable.
type Vector []float64

// Whole is the plane itself where an index of a region is asked for.
const Whole = -1

func (l Layout) start(region int) int { return (region + 1) * (3 + l.Thresholds) }

// Drag is the index of the drag area of a region, or of the Whole.
func (l Layout) Drag(region int) int { return l.start(region) }

// region is that of a headline number, Whole where it is of none.
func (l Layout) region(i int) int {
	if i >= l.start(l.Regions) {
		return Whole
	}
	return i/(3+l.Thresholds) - 1
}

// isDrag reports whether a headline number is a drag area.
func (l Layout) isDrag(i int) bool { return i >= l.start(l.Regions) || i%(3+l.Thresholds) == 0 }

// Centroid is the index of a coordinate of the centroid, 0 or 1.
func (l Layout) Centroid(region, axis int) int { return l.start(region) + 1 + axis }

// Area is the index of the area above a threshold.
func (l Layout) Area(region, threshold int) int { return l.start(region) + 3 + threshold }

// others are the quotable methods beside the momentum integral, which is the whole plane's.
func others() (keys []string) {
	for _, m := range Methods {
		if m.Quotable && m.Key != ByMomentum {
			keys = append(keys, m.Key)
		}
	}
	return keys
}

// Method is the index of the whole plane's drag area by a method that can be the
// headline; −1 for another.
func (l Layout) Method(name string) int {
	if name == ByMomentum {
		return l.Drag(Whole)
	}
	k := slices.Index(others(), name)
	if k >= 0 {
		k += l.start(l.Regions)
	}
	return k
}

// len is the number of headline numbers.
func (l Layout) len() int { return l.start(l.Regions) + len(others()) }

// none has no number.
func (l Layout) none() Vector { return grid.Fill(l.len(), func(int) float64 { return math.NaN() }) }

// orNone is what was measured, or no number where nothing could be.
func (l Layout) orNone(v Vector, err error) Vector {
	if err != nil {
		return l.none()
	}
	return v
}

// vector collects the headline numbers.
func (l Layout) vector(n *numbers) Vector {
	v := l.none()
	for k, g := range append([]Region{{Wake: n.wake}}, n.regions...) {
		region := k - 1
		if g.DragArea != nil {
			v[l.Drag(region)] = *g.DragArea
		}
		if g.Wake == nil {
			continue
		}
		if c := g.Wake.Centroid; c != nil {
			v[l.Centroid(region, 0)], v[l.Centroid(region, 1)] = c[0], c[1]
		}
		for t, a := range g.Wake.Areas {
			v[l.Area(region, t)] = a.Area
		}
	}
	for _, m := range Methods {
		if m.Quotable && n.drag != nil {
			if area, _, ok := m.Of(n.drag); ok {
				v[l.Method(m.Key)] = area
			}
		}
	}
	return v
}
