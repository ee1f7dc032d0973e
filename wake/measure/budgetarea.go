package measure

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/statistics"
)

// Replicates of the areas: fewer where the plane is large.
const (
	areaReplicates      = 24
	areaReplicatesLarge = 6
	largePlane          = 200_000
)

// respondAreas finds what the samples' scatter does to the areas above the
// thresholds. A threshold is not linear, so subsets would not do: each sample of
// the weight is moved by its own residual with a random sign (the wild bootstrap,
// Liu 1988, Ann. Statist. 16, 1696, from memory) and the areas are taken again.
func (m *measuring) respondAreas() {
	if m.weight == nil || m.out.Wake == nil {
		return
	}
	n := areaReplicates
	if len(m.weight) > largePlane {
		n = areaReplicatesLarge
	}
	res, chord := m.weightScatter().residual, m.weightScatter().chord
	spread := make([]float64, len(res))
	for i, r := range res {
		spread[i] = math.Max(r, math.Abs(chord[i]))
	}
	levels := []*quad.Levels{quad.NewLevels(m.plane.Mesh, nil, m.weight, spread, m.opt.Thresholds)}
	for k := range m.opt.Regions {
		levels = append(levels, quad.NewLevels(m.plane.Mesh, &m.opt.Regions[k].Box, m.weight, spread, m.opt.Thresholds))
	}
	// Of a large plane few samples are near a threshold, and the others are not looked at.
	marks := quad.NewMarks(len(spread))
	for _, l := range levels {
		l.Mark(marks)
	}
	near := marks.All()
	w := make([]float64, len(m.weight))
	moved := func(by func(i int32) float64, add func(at int, area float64)) {
		for _, i := range near {
			w[i] = m.weight[i] + by(i)
		}
		for k, l := range levels {
			for t, a := range l.Above(w) {
				add(m.layout.Area(k-1, t), m.scale*a)
			}
		}
	}
	draws := make([][]float64, m.layout.len())
	first := m.seedOf()
	for d := range n {
		moved(func(i int32) float64 { return math.Copysign(res[i], drawSign(first, i, d)) },
			func(at int, a float64) { draws[at] = append(draws[at], a) })
	}
	// What straight level lines do, along the whole line and without regard to sign.
	line, gross := make(Vector, len(draws)), make(Vector, len(draws))
	moved(func(i int32) float64 { return -chord[i] }, func(at int, a float64) { line[at] = m.values[at] - a })
	moved(func(i int32) float64 { return math.Abs(chord[i]) }, func(at int, a float64) { gross[at] += a / 2 })
	moved(func(i int32) float64 { return -math.Abs(chord[i]) }, func(at int, a float64) { gross[at] -= a / 2 })
	m.areaStandard, m.areaOff = make(Vector, len(draws)), make(Vector, len(draws))
	for i, v := range draws {
		if len(v) == 0 {
			continue
		}
		s := statistics.NewSample(v)
		m.areaStandard[i] = s.SD
		m.areaOff[i] = offStandard(line[i]+s.Mean-m.values[i], s.SD, unsureLine*gross[i])
	}
	m.areaDOF = float64(n)
	m.thresholdsInScatter(res)
}

// drawSign is 1 or −1 for sample i in draw d, by chance: bit d of a 64-bit mix of seed
// and sample (the finaliser of SplitMix64: Steele, Lea & Flood 2014, OOPSLA, from
// memory), so that a sample's signs do not hang on which others are looked at.
func drawSign(seed uint64, i int32, d int) float64 {
	z := seed + (uint64(i)+1)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	if z>>(d&63)&1 == 0 {
		return 1
	}
	return -1
}

const (
	// unsureLine is the standard uncertainty of what straight level lines do, as a part of
	// what they do without regard to sign. Found on synthetic wakes of known area
	// (TestAreaCoverage).
	unsureLine = 0.2
	// insideScatter: a threshold below this number of the weight's standard deviations
	// from sample to sample has islands of scatter above it.
	insideScatter = 2.5
	// tellsScatter is the least number of samples of which the median residual is scatter
	// and not the wake's own shape.
	tellsScatter = 100
)

// offStandard is the standard uncertainty that stands for an error of known size, left
// in the value, beside a scatter: the one for which two standard uncertainties of all
// hold the truth in 95 of a hundred cases. With the scatter s and the standard
// uncertainty v of the error b, U is such that a normal number of mean b and standard
// deviation √(s²+v²) lies within ± U with 95 %; then √(U²/4 − s²). For b far above the
// scatter that is little more than b/2.
func offStandard(b, s, v float64) float64 {
	b = math.Abs(b)
	all := math.Hypot(s, v)
	if all == 0 {
		return b / Coverage
	}
	normal := func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
	lo, hi := b, b+2*all
	for range 60 {
		mid := (lo + hi) / 2
		if normal((mid-b)/all)-normal((-mid-b)/all) < 0.95 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Sqrt(math.Max(0, hi*hi/Coverage/Coverage-s*s))
}

// thresholdsInScatter warns of thresholds that noise alone exceeds.
func (m *measuring) thresholdsInScatter(residual []float64) {
	if len(residual) < tellsScatter {
		return
	}
	// The median is not moved by the wake's own curvature, which a small part has. It is
	// 0.67 standard deviations of one difference and up to 0.83 of the mean of two.
	scatter := grid.Median(slices.Clone(residual)) / 0.75
	wakes := []*Wake{m.out.Wake}
	for _, r := range m.out.Regions {
		if r.Wake != nil {
			wakes = append(wakes, r.Wake)
		}
	}
	said := false
	for k, t := range m.opt.Thresholds {
		if !(t < insideScatter*scatter) {
			continue
		}
		for _, w := range wakes {
			w.Areas[k].InScatter = true
		}
		if !said {
			m.warn("threshold-in-scatter", "raise the threshold, or average for longer",
				"the threshold %g is within %.1f standard deviations of the weight's scatter from sample to sample, %.2g: scatter makes islands above it, and the area's uncertainty does not hold them", t, t/scatter, scatter)
			said = true
		}
	}
}

// areaItems are those of an area: the scatter, and what it is off by: what the level
// lines, straight inside the elements, cut off or add, and what scatter adds on the
// mean, being on the outer side of a line more often than it takes away. That is an
// error of one sign that is left in the area, with the standard uncertainty of
// offStandard.
func (m *measuring) areaItems(i int) []Item {
	dof := m.areaDOF
	return []Item{
		{Name: "sampling distance", Kind: Random, Standard: m.areaStandard[i], DOF: &dof},
		{Name: "straight level lines", Kind: Independent, Standard: m.areaOff[i]},
	}
}

// JoinAreas are the items that two planes themselves bring to the difference of
// their areas above one threshold, from the budgets of the two.
func JoinAreas(a, b *Budget) []Item {
	var out []Item
	for i := range min(areaItemCount, len(a.Items), len(b.Items)) {
		x, y := a.Items[i], b.Items[i]
		x.Standard = math.Hypot(x.Standard, y.Standard)
		if x.DOF != nil {
			dof := 2 * *x.DOF
			x.DOF = &dof
		}
		out = append(out, x)
	}
	return out
}

// areaItemCount is how many items areaItems gives.
const areaItemCount = 2
