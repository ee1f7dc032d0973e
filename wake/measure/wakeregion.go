package measure

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// WakeRegion is the part W of the plane that the wake-only and Betz integrals take in, one
// region for both and found once. A test of each sample by its own sign would add up the
// positive half of the noise. Jones's and the energy integrals are of the whole plane,
// which rectifies nothing.
type WakeRegion struct {
	// Rule says how the region was found, in words.
	Rule string `json:"rule"`
	// Area is that of the region, Parts the number of connected wakes in it; 0 Parts means
	// the whole plane.
	Area  float64 `json:"area_m2"`
	Parts int     `json:"parts"`
	// EdgeLevel is the median loss of total pressure on the open edge and EdgeSigma its
	// scatter there, both over q.
	EdgeLevel float64 `json:"edge_level"`
	EdgeSigma float64 `json:"edge_sigma"`
	// Beside is the mean loss of the stream next to the wake over q, and Level what the
	// loss is counted from: Beside where the reference is anchored, else 0.
	Beside float64 `json:"beside_level"`
	Level  float64 `json:"level"`
}

const (
	// rasterLines is the number of bins along the longer side of the raster on which
	// the region is found: its cost does not grow with the window or the finest cell.
	rasterLines = 128
	// wakeFloor is the least loss, over q, above the edge's level that starts a wake
	// (chosen here): outer streams vary by as much where nothing is wrong.
	wakeFloor = 0.02
	// wakeSigmas of the edge's scatter start a wake too.
	wakeSigmas = 3
	// leastPart is the share of the loss that a part of the wake has to carry and
	// leastBins the bins that it has to fill: of noise, one bin in 700 lies above three
	// sigma, and hardly ever three side by side.
	leastPart = 0.01
	leastBins = 3
	// besideArea: the stream next to the wake is what lies round it, within this many times its
	// area. The total pressure of an outer flow may vary across a section by more than the
	// wake-only integral bears, and u* has to continue the stream that adjoins the wake.
	besideArea = 2
)

// region is a WakeRegion with its samples.
type region struct {
	WakeRegion
	// in tells the samples of the region, nil for the whole plane; beside lists those of
	// the stream next to it.
	in     []bool
	beside []int32
}

// holds reports whether a sample lies in the region.
func (r *region) holds(i int) bool { return r == nil || r.in == nil || r.in[i] }

// raster is the plane in bins, each with the mean of the loss over its area.
type raster struct {
	nx, ny     int
	loss, area []float64
	// bin is that of each sample.
	bin []int32
}

// newRaster averages a field of the samples over bins: of a lattice, the same number of
// lines each; else squares of two sample distances or more. An empty bin takes the
// mean of the nearest one that is not.
func newRaster(mesh *grid.Mesh, w quad.Weights, spacing float64, f func(i int) float64) *raster {
	box := grid.Bounds(mesh.Points)
	lines := func(width float64) int { return 1 + int(math.Min(rasterLines-1, width/(2*spacing))) }
	r := &raster{nx: lines(box.Width()), ny: lines(box.Height()), bin: make([]int32, len(mesh.Points))}
	if l := mesh.Lattice; l != nil {
		r.nx, r.ny = min(rasterLines, len(l.X)), min(rasterLines, len(l.Y))
		for k, s := range l.Index {
			if s >= 0 {
				r.bin[s] = int32(k/len(l.X)*r.ny/len(l.Y)*r.nx + k%len(l.X)*r.nx/len(l.X))
			}
		}
	} else {
		place := func(d, width float64, n int) int {
			if !(width > 0) {
				return 0
			}
			return min(n-1, int(d/width*float64(n)))
		}
		for i, p := range mesh.Points {
			r.bin[i] = int32(place(p.Y-box.Min.Y, box.Height(), r.ny)*r.nx + place(p.X-box.Min.X, box.Width(), r.nx))
		}
	}
	r.loss, r.area = make([]float64, r.nx*r.ny), make([]float64, r.nx*r.ny)
	for i, b := range r.bin {
		r.area[b] += w.Weight[i]
		r.loss[b] += w.Weight[i] * f(i)
	}
	var queue []int
	seen := make([]bool, len(r.loss))
	for b, a := range r.area {
		if a > 0 {
			r.loss[b] /= a
			seen[b] = true
			queue = append(queue, b)
		}
	}
	r.flood(queue, func(b, c int) bool {
		into := !seen[c]
		if into {
			seen[c], r.loss[c] = true, r.loss[b]
		}
		return into
	})
	return r
}

// flood adds to the bins the neighbours of each that it may go into, and theirs.
func (r *raster) flood(bins []int, into func(from, to int) bool) []int {
	for k := 0; k < len(bins); k++ {
		r.around(bins[k], false, func(c int) {
			if into(bins[k], c) {
				bins = append(bins, c)
			}
		})
	}
	return bins
}

// around visits the bins that share a side with one, or a corner too.
func (r *raster) around(b int, corners bool, visit func(c int)) {
	x, y := b%r.nx, b/r.nx
	for j := max(0, y-1); j <= min(r.ny-1, y+1); j++ {
		for i := max(0, x-1); i <= min(r.nx-1, x+1); i++ {
			if c := j*r.nx + i; c != b && (corners || i == x || j == y) {
				visit(c)
			}
		}
	}
}

// grow adds to the bins those round them and returns which were added, out of front,
// the last that were.
func (r *raster) grow(in []bool, front []int) []int {
	var out []int
	for _, b := range front {
		r.around(b, true, func(c int) {
			if !in[c] {
				in[c] = true
				out = append(out, c)
			}
		})
	}
	return out
}

// cores marks the connected parts above a level that carry a share of all that is above
// it. It returns how many there are.
func (r *raster) cores(level float64) (in []bool, bins []int, parts int) {
	in = make([]bool, len(r.loss))
	seen := make([]bool, len(r.loss))
	var all [][]int
	var carried []float64
	total := 0.0
	for b, v := range r.loss {
		if seen[b] || !(v > level) {
			continue
		}
		seen[b] = true
		part, sum := r.flood([]int{b}, func(_, c int) bool {
			into := !seen[c] && r.loss[c] > level
			seen[c] = seen[c] || into
			return into
		}), 0.0
		for _, c := range part {
			sum += r.area[c] * (r.loss[c] - level)
		}
		all, carried = append(all, part), append(carried, sum)
		total += sum
	}
	for k, part := range all {
		if carried[k] >= leastPart*total && len(part) >= leastBins {
			parts++
			for _, b := range part {
				in[b] = true
			}
			bins = append(bins, part...)
		}
	}
	return in, bins, parts
}

// mean is the mean loss over the area of bins, and the number of them with samples.
func (r *raster) mean(bins []int) (mean, n float64) {
	var sum, area float64
	for _, b := range bins {
		if r.area[b] > 0 {
			sum, area, n = sum+r.area[b]*r.loss[b], area+r.area[b], n+1
		}
	}
	return sum / area, n
}

// edgeState is the median loss over the bins of the open edge, and the scatter about it
// as 1.4826 times the median size of the differences. A border that lies in the wake for
// the most part is told by its outer part alone; ok is false where there is none.
func (r *raster) edgeState(edge []int32) (level, sigma float64, ok bool) {
	seen := make([]bool, len(r.loss))
	var all, outer []float64
	for _, i := range edge {
		if b := r.bin[i]; !seen[b] && r.area[b] > 0 {
			seen[b] = true
			all = append(all, r.loss[b])
			if math.Abs(r.loss[b]) <= outerFlow {
				outer = append(outer, r.loss[b])
			}
		}
	}
	if len(all) == 0 || math.Abs(grid.Median(all)) > outerFlow {
		all = outer
	}
	if len(all) == 0 {
		return 0, 0, false
	}
	level = grid.Median(all)
	for k, v := range all {
		all[k] = math.Abs(v - level)
	}
	return level, 1.4826 * grid.Median(all), true
}

// findWake finds the region. Its cores are the connected parts whose loss of total
// pressure lies above the edge's level by wakeSigmas of the edge's scatter and by
// wakeFloor. From them it grows ring by ring, once at least, for as long as the mean loss
// of the last ring lies above the edge's level by more than its standard error: the
// wake's tail is lost in the scatter of a sample long before it is lost in that of a
// ring, and beyond that it is no more than the scatter of the integral. Without a core,
// or without an open edge, the region is the whole plane.
func (m *station) findWake() *region {
	f := m.flow
	r := newRaster(m.plane.Mesh, m.whole, m.spacing, f.loss)
	out := &region{}
	level, sigma, ok := r.edgeState(m.edge.samples)
	out.EdgeLevel, out.EdgeSigma = level, sigma
	start := math.Max(wakeFloor, wakeSigmas*sigma)
	var in []bool
	var front []int
	if ok {
		in, front, out.Parts = r.cores(level + start)
	}
	if out.Parts == 0 {
		out.Rule = "the whole plane: no connected wake stands out of the open edge"
		out.Area = m.scale * m.area
		return out
	}
	bins := len(front)
	for {
		front = r.grow(in, front)
		bins += len(front)
		mean, n := r.mean(front)
		if !(mean-level > sigma/math.Sqrt(n)) {
			break
		}
	}
	out.in = make([]bool, len(r.bin))
	for i, b := range r.bin {
		if out.in[i] = in[b]; out.in[i] {
			out.Area += m.scale * m.whole.Weight[i]
		}
	}
	out.Rule = fmt.Sprintf("%s, loss of total pressure above the edge's level by %.3g of q (three sigma of the edge, at least %g), grown ring by ring until the loss of a ring is within its standard error; islands with less than %g %% of it left out",
		wake.Plural(out.Parts, "connected wake"), start, wakeFloor, 100*leastPart)
	around := append([]bool(nil), in...)
	front = append(front, grid.Where(len(in), func(b int) bool { return in[b] })...)
	for all := bins; all < besideArea*bins && len(front) > 0; all += len(front) {
		front = r.grow(around, front)
	}
	for i, b := range r.bin {
		if around[b] && !in[b] {
			out.beside = append(out.beside, int32(i))
		}
	}
	return out
}

// wakeRegion is the region, or that of the first measurement where it was found, with the
// level that the loss is counted from. A plane without total drag has none.
func (m *station) wakeRegion(found *region) *region {
	f := m.flow
	if !f.hasLoss() || m.plane.Normal != wake.AxisX || m.cuts {
		return nil
	}
	if found == nil {
		found = m.findWake()
	}
	r := *found
	var sum, area grid.Sum
	for _, i := range r.beside {
		sum.Add(m.whole.Weight[i] * f.loss(int(i)))
		area.Add(m.whole.Weight[i])
	}
	r.Beside, r.Level = 0, 0
	if a := area.Value(); a > 0 {
		r.Beside = sum.Value() / a
	}
	if m.anchor.Kind == AnchorEdge {
		r.Level = r.Beside
	}
	return &r
}
