package measure

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

const (
	// areaPairs is the number of pairs of replicates of the areas, enough for their own
	// scatter not to widen the interval; on a large plane, where the level lines meet many
	// samples, one is.
	areaPairs  = 8
	largePlane = 200_000
)

const (
	// phaseVariance is the variance of 6s(1−s), whose mean is 1, for s even between 0 and 1. By
	// s(1−s)h²f″/2 a straight line lies above a curve at the part s of the distance h between two samples.
	phaseVariance = 0.2
	// On a side as steep as the samples are apart the chord errors there tell too little. How much is a law of
	// x = 6e/h alone, e being how far straight lines take the level line out, for error functions, hyperbolic
	// tangents, sines and Gaussians whose samples are 0.6 to 1.8 of their standard deviations apart (computed):
	// x² goes no further than steepest, 0.4 to 1.3 x² of e is wanting on the mean, and where a level line
	// runs along the lines of samples, the places between two of them scatter by 1.3 to 1.7 x² of e more. Of
	// the former steepMore is beyond what the blur tells, within ±steepHalf·x (by trial).
	steepest, steepMore, steepHalf, steepAlong = 1.0 / 3, 0.5, 0.2, 1.5
	// On triangles the chord error of a quadratic field reads 1.0 (irregular ones) to 1.27 times (regular ones) what
	// it is (computed), and less on steep sides, since gradients smooth them: there e is multiplied by
	// trianglesMean + trianglesMore·x², within ±trianglesHalf at least (by trial).
	trianglesMean, trianglesMore, trianglesHalf = 0.8, 1.1, 0.1
	// blurHalf is the part of the blur that it is not known by (by trial).
	blurHalf = 0.4
	// fourthPart is what of a fourth difference of the weight along a side that runs with the lines a
	// level line is off by, beyond phaseVariance: 0.010 to 0.021 for error functions whose samples are
	// 1.4 to 2.5 of their standard deviations apart (computed, for levels at 0.1 and 0.25).
	fourthPart = 0.02
	// largestCorrection is the part of an area that is taken off it at most.
	largestCorrection = 0.5
	// insideScatter: a threshold below this number of the weight's standard deviations
	// from sample to sample has islands of scatter above it.
	insideScatter = 2.5
	// tellsScatter is the least number of samples of which the median residual is scatter
	// and not the wake's own shape. With 14 lines each way a wake without scatter, of
	// Gaussian shape and as wide as a quarter to an eighth of the window, leaves so little
	// that insideScatter is below 0.01, the lowest of DefaultThresholds; with 12 lines it
	// does not (by trial).
	tellsScatter = 196
)

// respondAreas takes off the areas above the thresholds what straight level lines and scatter add to
// them on the mean, and finds what the areas are unsure by. With A the area, Aᵢ its slope in the
// value of sample i, rᵢ that sample's residual and cᵢ its chord error:
//
//	scatter     √Σ(A'ᵢrᵢ)², and the scatter of the second order; A'ᵢ is Aᵢ less its slope in what
//	            is taken off
//	bias        Σ Aᵢcᵢ of straight level lines, and of scatter, which is more often on
//	            the outer side of a bent line than it takes away, the second order of
//	            A in the residuals
//	phase       a level line meets the sides between samples at the parts s of their length, and
//	            cᵢ is but the mean over s: each has the variance phaseVariance·(Aᵢcᵢ)². Where it meets
//	            all of a line at one s, that is known, and 6s(1−s) tells it: cᵢ is multiplied by its mean, on a
//	            lattice as far as the lines j, sums Cⱼ = ΣAᵢcᵢ, have a common s, else for each sample.
//	            What is left are the (Cⱼ−Cⱼ₊₁)² of a cubic, whose errors cancel on the mean alone,
//	            fourthPart of the fourth differences in the place of cᵢ, and what steep sides
//	            along the lines add. In an octree each sample lies in a line of either direction: its own
//	            part counts for one of them. On triangles the residuals hold part of this on steep
//	            sides: x²/steepest of their variance is taken off, that of noise with it
//
// Second order comes from moving all samples
// by their residuals with random signs, and with the opposite ones (the wild bootstrap,
// Liu 1988, Ann. Statist. 16, 1696, from memory): the mean of the two areas has no first
// order.
func (m *measuring) respondAreas() {
	if m.weight == nil || m.Result.Wake == nil {
		return
	}
	m.areas = make([][]uncertainty.Item, m.Layout.len())
	// A small plane has all samples looked at, a large one those near a threshold.
	large := len(m.weight) > largePlane
	residual, chord := m.weightScatter().residual, m.weightScatter().chord
	reach := grid.Fill(len(residual), func(i int) float64 { return math.Hypot(residual[i], chord[i]) })
	variance := grid.Fill(len(residual), func(i int) float64 { return residual[i] * residual[i] })
	if !large {
		// Several samples tell the scatter at a level line better than one, where it has few.
		variance = neighbourMean(m.plane.Mesh, variance, nil)
	}
	levels := quad.NewLevels(m.plane.Mesh, m.boxes(), m.weight, reach, m.opt.Thresholds)
	marks := make(quad.Marks, len(m.weight))
	levels.Mark(marks)
	near := marks.All()
	if !large {
		marks = nil
	}
	bends, second := m.bends(marks, near), m.secondOrder(levels, near)
	sides := m.crossings(m.opt.Thresholds)
	for t, threshold := range m.opt.Thresholds {
		steps, met := m.steps(threshold, sides), m.metAt(threshold, sides)
		for k := -1; k < len(m.opt.Regions); k++ {
			slope := levels.Slopes(k+1, threshold)
			a, two := firstOrder(slope, near, variance, m.whole, bends, met, m.weightScatter().apart), second[k+1][t]
			a.phase += m.atEnds(slope, met)
			sampling := samplingItem(a.scatter, a.fourth, m.scale)
			sampling.Standard = m.scale * math.Hypot(math.Sqrt(a.scatter), two.SD)
			step, width2 := m.ofSteps(slope, near, steps, bends)
			off, about := a.added(two.Mean, step, width2)
			if w := m.wakes()[k+1]; w != nil {
				of := &w.Areas[t]
				// A correction of that size is no longer one.
				if most := largestCorrection * of.Area / m.scale; math.Abs(off) > most {
					about = math.Hypot(about, math.Abs(off)-most)
					off = math.Copysign(most, off)
				}
				of.Corrected = m.scale * off
				of.Area -= of.Corrected
			}
			m.areas[m.Layout.Area(k, t)] = []uncertainty.Item{sampling,
				{Name: "straight level lines", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: m.scale * about}}
		}
	}
	m.thresholdsInScatter(residual)
}

// added is what straight level lines and scatter add to an area on the mean, and the standard
// uncertainty of that, with the second order of the scatter and what steps are off by, within what
// width. Half-widths of rectangular distributions are:
//
//   - half the second order: it is that of scatter on top of the scatter that is there, and where
//     islands come up, or rims fray, the scatter that is there has added less; so half of it is taken;
//   - of the blur, half the difference of the bias by the chord errors as they are and by smoothed ones,
//     the part blurHalf. Scatter has part in the former and lowers the bias just where it is wanted, and the
//     distance of the samples blurs steep sides as smoothing does: the blur is added;
//   - what steep sides add (steepMore). A level line meets one to two samples a distance h, so that e/h
//     is 1.5 times the bias over the area (Σ|Aᵢ|)²/Σ(Aᵢ²/wᵢ) of those that it meets;
//   - in a step a level line lies anywhere between two samples, which is a further half-width; what it is off by
//     on the mean is, where it has the sign of the bias and is larger, the other end of what is added.
func (a *linear) added(second, step, width2 float64) (off, about float64) {
	off = a.bias + second/2
	blur := math.Abs(a.bias-a.smooth) / 2
	half2 := second*second/4 + blurHalf*blurHalf*blur*blur + width2
	x2 := 0.0
	if a.squares > 0 {
		x := 9 * off * a.squares / (a.slopes * a.slopes)
		x2 = min(steepest, x*x)
	}
	off = outward(off, blur)
	half, more, phase := steepHalf*math.Sqrt(x2), 1+steepMore*x2, phaseVariance*a.phase
	if a.triangles {
		phase = max(0, phase-x2/steepest*a.scatter)
		half, more = max(half, trianglesHalf), trianglesMean+trianglesMore*x2
	}
	half2 += half * half * off * off
	off *= more
	if step*off > 0 && math.Abs(step) > math.Abs(off) {
		// Either it is a step or it is not: the ends are likelier than the middle, as in a U-shaped
		// distribution, whose variance is more than half the square of its half-width.
		half2 += 1.8 * (step - off) * (step - off) / 4
		off = (off + step) / 2
	}
	about = math.Sqrt(phase + steepAlong*steepAlong*x2*x2*a.along + half2/3)
	// What is hardly known is taken off in part.
	if width := math.Sqrt(half2 / 3); math.Abs(off) < width {
		off *= math.Abs(off) / width
	}
	return off, about
}

// outward is x, larger in size by d.
func outward(x, d float64) float64 { return x + math.Copysign(d, x) }

// wakes are those of the whole and of the regions, nil where one has none.
func (m *measuring) wakes() []*Wake {
	out := []*Wake{m.Result.Wake}
	for _, r := range m.Result.Regions {
		out = append(out, r.Wake)
	}
	return out
}

// secondOrder is what scatter adds to the areas on the mean, and the standard deviation of
// that, by boxes and thresholds of the levels, which look at the samples near.
func (m *measuring) secondOrder(levels *quad.Levels, near []int32) [][]uncertainty.Sample {
	n := areaPairs
	if len(m.weight) > largePlane {
		n = 1
	}
	res := m.weightScatter().residual
	signs := make([]uint64, len(near))
	for k, i := range near {
		// By value, so that the area is that of the plane mirrored or turned.
		signs[k] = drawSigns(uncertainty.Seed, int32(math.Float32bits(float32(m.weight[i]))))
	}
	w := make([]float64, len(m.weight))
	base := levels.Above(m.weight)
	pairs := make([][2][][]float64, n)
	for d := range pairs {
		for side, to := range [2]float64{1, -1} {
			for k, i := range near {
				r := to * res[i]
				if signs[k]>>d&1 == 0 {
					r = -r
				}
				w[i] = m.weight[i] + r
			}
			pairs[d][side] = levels.Above(w)
		}
	}
	out := make([][]uncertainty.Sample, len(base))
	for k, areas := range base {
		for t, area := range areas {
			s := uncertainty.NewSample(grid.Fill(n, func(d int) float64 { return (pairs[d][0][k][t]+pairs[d][1][k][t])/2 - area }))
			if n == 1 {
				s.SD = 0
			}
			out[k] = append(out[k], s)
		}
	}
	return out
}

// drawSigns has for each of 64 draws one bit for the sign of sample i, by chance: a mix of seed
// and sample (the finaliser of SplitMix64: Steele, Lea & Flood 2014, OOPSLA, from
// memory), so that a sample's signs are independent of which others are looked at.
func drawSigns(seed uint64, i int32) uint64 {
	z := seed + (uint64(i)+1)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// linear is what the slopes of an area come to: sums of squares, and of squares of
// squares, of the scatter; the bias; the sums of squares of what phaseVariance belongs to; ΣCⱼ²
// as along, in an octree less the samples' own squares; Σ|Aᵢ| and ΣAᵢ²/wᵢ with the samples' own areas wᵢ.
type linear struct {
	scatter, fourth, bias, smooth, phase, along, slopes, squares float64
	triangles                                                    bool
}

// bend is the chord error of the weight, along one axis of a lattice; lines are of samples.
type bend struct {
	lines         []lines
	chord, smooth func(i int32) float64
	// fourth is the fourth difference, nil where there is none.
	fourth func(i int32) float64
	// of is the chord error, at sample i, of another field.
	of func(f []float64) func(i int32) float64
}

// lines are n lines of samples, in their order; of has the sample's.
type lines struct {
	of []int32
	n  int
}

// firstOrder sums up what the slopes, zero but at the samples near, make of scatter
// and chord error.
func firstOrder(slope []float64, near []int32, variance []float64, own quad.Weights, bends []bend, met [2]map[int32]*meeting, apart []float64) linear {
	var out linear
	var off []func(i int32) float64
	for _, b := range bends {
		off = append(off, b.of(slope))
	}
	for _, i := range near {
		if a := slope[i]; a != 0 {
			if w := own.Weight[i]; w > 0 {
				out.slopes += math.Abs(a)
				out.squares += a * a / w
			}
			for _, of := range off {
				a -= of(i)
			}
			v := a * a * variance[i]
			out.scatter += v
			out.fourth += v * v
		}
	}
	out.triangles = apart != nil
	for axis, b := range bends {
		sums, all, met := make([][][3]float64, len(b.lines)), make([]map[int32]*meeting, len(b.lines)), met[axis]
		lattice, single := len(b.lines) == 1, 0.0
		for k, l := range b.lines {
			sums[k], all[k] = make([][3]float64, l.n), map[int32]*meeting{}
		}
		for _, i := range near {
			if a := slope[i]; a != 0 {
				c, smooth, fourth := a*b.chord(i), a*b.smooth(i), 0.0
				if at := met[i]; at != nil {
					for k, l := range b.lines {
						at.addTo(all[k], l.of[i], math.Abs(c))
					}
					if !lattice {
						f := at.bend / at.sides
						if len(b.lines) > 0 {
							// In an octree the level line may be on the fine side of a sample.
							f *= min(1, at.apart/at.sides/apart[i])
						}
						c, smooth = c*f, smooth*f
					}
				}
				if b.fourth != nil {
					fourth = a * b.fourth(i)
				}
				out.bias += c
				out.smooth += smooth
				out.phase += smooth * smooth
				single += c * c
				for k, l := range b.lines {
					s := &sums[k][l.of[i]]
					s[0], s[1], s[2] = s[0]+c, s[1]+smooth, s[2]+fourth
				}
			}
		}
		var phase, along float64
		for k, sum := range sums {
			p, a := out.addLines(sum, all[k], lattice)
			phase, along = phase+p, along+a
		}
		if len(b.lines) == 2 {
			// Each sample lies in two lines, and each difference of lines counts it twice: its own part is
			// taken off once.
			phase, along = max(2*single, phase-2*single), max(0, along-2*single)
		}
		out.phase += phase
		out.along += along
	}
	return out
}

// addLines corrects the biases where a level line meets a whole line at one part of its way, and returns phase and
// along of the lines of one direction.
func (out *linear) addLines(sums [][3]float64, all map[int32]*meeting, lattice bool) (phase, along float64) {
	var before, last float64
	for j, s := range sums {
		c, d := outward(s[0], math.Abs(s[0]-s[1])/2), fourthPart/math.Sqrt(phaseVariance)*s[2]
		if at := all[int32(j)]; at != nil {
			part, more := at.common()
			if !lattice {
				more = 0 // each sample has it
			}
			out.bias += more * s[0]
			out.smooth += more * s[1]
			c, d = (1+more)*part*c, part*d
		}
		along += c * c
		phase += (c-before)*(c-before) + d*d + (d-last)*(d-last)
		before, last = c, d
	}
	return phase + before*before + last*last, along
}

// thresholdsInScatter warns of thresholds that noise alone exceeds.
func (m *measuring) thresholdsInScatter(residual []float64) {
	if len(residual) < tellsScatter {
		return
	}
	// The median is not moved by the wake's own curvature, which a small part has. Of the sizes of
	// normal numbers it is 0.6745 standard deviations.
	scatter := grid.Median(slices.Clone(residual)) / 0.6745
	for k, t := range m.opt.Thresholds {
		if !(t < insideScatter*scatter) {
			continue
		}
		for _, w := range m.wakes() {
			if w != nil {
				w.Areas[k].InScatter = true
			}
		}
		if k == 0 { // thresholds rise
			m.warn("threshold-in-scatter", "raise the threshold, or average for longer",
				"the threshold %g is within %.1f standard deviations of the weight's scatter from sample to sample, %.2g: scatter makes islands above it, and the area's uncertainty does not hold them", t, t/scatter, scatter)
		}
	}
}

// JoinItems are the items of the difference of two numbers that err by themselves, from those of
// each in one order: the root of the sum of squares. An item that one has alone stays as it is.
func JoinItems(a, b []uncertainty.Item) []uncertainty.Item {
	n := min(len(a), len(b))
	var out []uncertainty.Item
	for i := range n {
		x, y := whole(a[i]), whole(b[i])
		if x.DOF != nil && y.DOF != nil {
			x.DOF = new(uncertainty.EffectiveDOF([]float64{x.Standard, y.Standard}, []float64{*x.DOF, *y.DOF}))
		}
		x.Standard = math.Hypot(math.Hypot(aboutLack(x), aboutLack(y)), x.Lack-y.Lack)
		x.Lack, x.About = 0, 0
		out = append(out, x)
	}
	return append(append(out, a[n:]...), b[n:]...)
}

// aboutLack is the standard uncertainty about what is known of an error that was left in.
func aboutLack(it uncertainty.Item) float64 {
	if it.Lack != 0 {
		return it.About
	}
	return it.Standard
}

// whole is the item before a part of it was taken off: what is known of the scatter of
// the difference is taken off that of the difference.
func whole(it uncertainty.Item) uncertainty.Item {
	if it.Whole > 0 {
		it.Standard, it.Whole = it.Whole, 0
	}
	return it
}
