package delaunay

import (
	"math"
	"slices"
	"sync/atomic"

	"wakeledger/grid"
)

// References
//
//	[EFL] H. Edelsbrunner, M. Facello, J. Liang, "On the definition and the
//	construction of pockets in macromolecules", Discrete Applied Mathematics 88
//	(1998), 83–102: obtuse triangles flow across their longest edge, circles grow
//	along the flow, and it ends in an acute triangle or outside of the hull.

// DefaultGap is the diameter of an empty circle, in local spacings, above which
// samples are said to be missing. Measured on the generators of package gridtest:
// a lattice has 1.4, samples jittered by ±0.45 of a cell reach 2.5 among a million,
// borders between cells and cells four times as wide 2.5, eight times 3.2; a round
// hole of four spacings has 3.2 to 4.1, of five 3.7 to 5.1.
const DefaultGap = 3.25

const (
	// spread is the share of the gap factor that is enough next to a gap: there the
	// question is only how far the gap reaches, not whether there is one.
	spread = 0.6
	// own is the share of a sample's own value below which its neighbours do not
	// bring the spacing.
	own = 0.8
	// thin is the altitude, in local spacings, under which a triangle on the hull
	// has no say about the field.
	thin = 0.01
	// digits7 is the altitude, in units of the largest coordinate, that rounding to
	// seven significant digits can give to samples on one line: a unit of the last
	// digit is 1e-6 of a number that starts with 1, both ends and the middle are off
	// by half of it in either direction, 2·√2·½·1e-6 = 1.4e-6.
	digits7 = 1.5e-6
	// lone is how many times as far from its neighbours as these from theirs a stray lies.
	// The one coarse cell among cells eight times finer is 4.5 times as far. Outside of the
	// others no cell can be that coarse.
	lone, loneOutside = 5, 3
	// apart is the same for the shortest edges of a triangle's corners, from which on it is
	// looked at.
	apart = 2.5
	// coincident is the distance, in units of the window's diagonal, under which two
	// samples are copies of one sample that rounding has driven apart.
	coincident = 1e-6
)

// Kept is what remains of a triangulation where the samples cover the plane.
type Kept struct {
	// Triangles are the remaining ones, corners and order as before.
	Triangles []int32
	// Bridges are the others, and DroppedArea is their area.
	Bridges     []int32
	DroppedArea float64
	// Wide are triangles that remain though they bridge a gap by the finest spacing of
	// their corners.
	Wide []int32
	// Openings are the connected groups of dropped triangles. Those that touch in a
	// sample only count each.
	Openings []Opening
	// Strays are samples, or pairs, that lie far from all others: see DropBridges. Where
	// there are any, nothing else is set.
	Strays []int32
}

// Stretch states the areas and bounds for points whose second coordinate has been
// multiplied by a positive factor.
func (k *Kept) Stretch(by float64) {
	k.DroppedArea *= by
	for i := range k.Openings {
		o := &k.Openings[i]
		o.Area *= by
		o.Box.Min.Y *= by
		o.Box.Max.Y *= by
	}
}

// Opening is a connected group of dropped triangles, a gap whose sides are not told yet;
// Closed says whether kept triangles surround it; one that reaches the hull is open.
type Opening struct {
	grid.Gap
	Closed bool
}

// DropBridges takes out the triangles that bridge regions without samples: a body,
// contact patches, a concave rim. What counts as missing is a matter of the spacing
// nearby, so planes with any grading can be treated with one factor.
//
// Local spacing. Each sample has the third shortest of its edges, on the hull, where
// a corner may have no more, the second shortest. A sample on the rim of a gap keeps
// as many edges to its own side, so the gap does not raise the value; and as two
// short edges do not count, neither does the fine direction of stretched cells
// lower it. Copies of a sample that rounding has separated (by less than 1e-6 of
// the diagonal of the window) are passed over. The spacing at a sample is the root mean square over the
// sample and its neighbours, which evens out chance, and where the spacing jumps
// leans to the coarse side; but not less than 0.8 of the sample's own value. A
// triangle has the largest spacing of its corners.
//
// No sample lies within the circle round a triangle. A triangle is dropped where
// the diameter of that circle exceeds factor local spacings, that is, where samples
// are missing. Obtuse triangles flow across their longest edge to a triangle with a
// larger circle and so on; where the flow leaves the hull the circle lies outside,
// mostly or in part, and is empty for want of plane, not of samples. There the
// size of the gap is the least of the diameter, the length of the hull edge and
// twice the depth of the triangle below that edge. From a dropped triangle the gap
// spreads to the one that it flows into, if the diameter there exceeds 0.6 factor,
// and to any that flow into it, or lie across an edge longer than factor times the
// spacing at both its ends, if their own size exceeds that.
//
// A stray is a sample whose own value is more than five times (on the hull three times)
// those of its neighbours, all but one of them, since strays may come in pairs: a slipped coordinate, say. Its
// triangles bridge what lies between, and long as they are its own value would keep them.
// They are for the caller to take out: a mesh with them is of no use.
//
// Thin triangles at the hull, which rounded coordinates on a straight side make, are
// dropped, too: those whose altitude is below 0.01 local spacings and below
// 1.5e-6 of the largest coordinate, the effect of seven digits, from the hull
// inwards as long as they are such.
//
// A factor that is not positive (or NaN) means DefaultGap; +Inf keeps all but the
// thin triangles. Smaller factors open smaller gaps and begin to hurt: below 2.5,
// jittered samples lose triangles.
//
// Limits. In a corner of a gap that regular triangles can fill, one or two of them
// stay. A gap smaller than the factor times the coarsest spacing at its rim stays
// closed, unless part of it lies between finer samples; so does the surrounding of a
// lone sample within a gap, or of one that juts out into it, as far as its own edges justify. Samples that are spread at
// random, without any regularity, have gaps by chance and lose about one triangle in
// a thousand. A coarse cell all of whose neighbours are four or more times finer is a
// gap if only the corners of the cells are known. Irregular samples that are much
// denser in one direction than in the other look like rows with gaps between them:
// at a ratio of 10 the gaps measure up to 5.3, at 30 up to 9; raise the factor there, or
// stretch the plane first (Kept.Stretch).
//
// If nothing is dropped the result shares t.Triangles.
func DropBridges(t *Triangulation, factor float64) *Kept {
	if !(factor > 0) {
		factor = DefaultGap
	}
	g := newGaps(t)
	suspects := g.suspects(factor)
	if strays := g.strays(suspects); strays != nil {
		return &Kept{Strays: strays}
	}
	g.open(suspects, factor)
	g.peel()
	r := g.kept()
	r.Wide = g.wide(factor)
	return r
}

// gaps works on a triangulation whose lengths are measured in diagonals of the window.
type gaps struct {
	points  []grid.Point
	tri     []int32
	adj     []int32
	unit    float64 // 1 / diagonal
	largest float64 // greatest coordinate
	// size is the diameter of the circle of each triangle.
	size []float32
	// short is the shortest edge of each sample, as the bits of a float32: these
	// have the order of the numbers, and workers can update them together.
	short []uint32
	// third is the thirdShortest edge of each sample and spacing what the rule makes of
	// it, as bits of float32 too; 0 until wanted, as most samples are nowhere near a gap.
	third, spacing []uint32
	dropped        []bool
	scratch
}

// scratch is what each worker has for itself.
type scratch struct {
	ring, rim, path []int32
	// ends is where flows end, as end has it, for triangles that were asked for and
	// those on their way.
	ends map[int32]int32
}

// worker is the same gaps with a scratch of its own.
func (g *gaps) worker() *gaps {
	w := *g
	w.scratch = scratch{ends: map[int32]int32{}}
	return &w
}

func newGaps(t *Triangulation) *gaps {
	points := t.Points
	n := len(t.Triangles) / 3
	box := grid.EmptyBox()
	for _, i := range t.Hull {
		box = box.Extend(points[i])
	}
	g := &gaps{
		points: points, tri: t.Triangles, adj: t.Adjacent,
		unit:    1 / math.Hypot(box.Width(), box.Height()),
		largest: largest(box),
		size:    make([]float32, n),
		short:   make([]uint32, len(points)),
		third:   make([]uint32, len(points)),
		spacing: make([]uint32, len(points)),
		dropped: make([]bool, n),
		scratch: scratch{ends: map[int32]int32{}},
	}
	share(len(points), func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			g.short[i] = math.MaxUint32
		}
	})
	share(n, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			l, cross := g.squares(i)
			d, _ := diameter(l, cross)
			g.size[i] = float32(d)
			for c, sq := range l {
				if k := 3*i + c; int(g.adj[k]) < i && sq > coincident*coincident {
					bits := math.Float32bits(float32(math.Sqrt(sq)))
					lower(&g.short[g.tri[k]], bits)
					lower(&g.short[g.tri[following(k)]], bits)
				}
			}
		}
	})
	return g
}

// number is the one of such bits.
func number(bits uint32) float64 { return float64(math.Float32frombits(bits)) }

// lower sets *v to x if that is less.
func lower(v *uint32, x uint32) {
	for {
		old := atomic.LoadUint32(v)
		if x >= old || atomic.CompareAndSwapUint32(v, old, x) {
			return
		}
	}
}

// following is the place of the next corner of the triangle that place k is in.
func following(k int) int {
	if k%3 == 2 {
		return k - 2
	}
	return k + 1
}

// previous is the place of the corner before, in the same triangle.
func previous(k int) int {
	if k%3 == 0 {
		return k + 2
	}
	return k - 1
}

// edge is the vector along edge k, in diagonals.
func (g *gaps) edge(k int) (dx, dy float64) {
	a, b := g.points[g.tri[k]], g.points[g.tri[following(k)]]
	return (b.X - a.X) * g.unit, (b.Y - a.Y) * g.unit
}

// squares returns the squared lengths of the edges of triangle i and twice its area.
func (g *gaps) squares(i int) (l [3]float64, cross float64) {
	a, b, c := g.points[g.tri[3*i]], g.points[g.tri[3*i+1]], g.points[g.tri[3*i+2]]
	ax, ay := (b.X-a.X)*g.unit, (b.Y-a.Y)*g.unit
	bx, by := (c.X-b.X)*g.unit, (c.Y-b.Y)*g.unit
	cx, cy := (a.X-c.X)*g.unit, (a.Y-c.Y)*g.unit
	return [3]float64{ax*ax + ay*ay, bx*bx + by*by, cx*cx + cy*cy}, math.Abs(ax*by - ay*bx)
}

// diameter returns the diameter of the circle of a triangle from its squared edges
// and twice its area, and the number of the edge that it flows across, or -1 if it
// is not obtuse.
func diameter(l [3]float64, cross float64) (float64, int) {
	k := 0
	if l[1] > l[k] {
		k = 1
	}
	if l[2] > l[k] {
		k = 2
	}
	d := math.Sqrt(l[0]*l[1]*l[2]) / cross // abc / 2A = 2R
	// Two triangles cannot both be obtuse beyond rounding across one edge, or the
	// circle of one would hold a corner of the other. So the longest edges grow
	// along the flow, and it comes to an end.
	if others := l[0] + l[1] + l[2] - l[k]; l[k] > others*(1+1e-9) {
		if !(d < 10) { // for NaN, and to stay within float32
			d = 10
		}
		return d, k
	}
	// The angle against the longest edge is 60° to 90°.
	return min(d, math.Sqrt(l[k])*2/math.Sqrt(3)), -1
}

// across is the place of the edge that triangle i flows across, or -1 if its flow
// ends.
func (g *gaps) across(i int) int {
	if _, k := diameter(g.squares(i)); k >= 0 {
		return 3*i + k
	}
	return -1
}

// gap is the size of the gap that triangle i would belong to.
func (g *gaps) gap(i int) float64 {
	size := float64(g.size[i])
	k := int(g.end(int32(i)))
	if k < 0 {
		// Circles grow along the flow, so a larger one is a rounding error of a thin
		// triangle.
		return min(size, float64(g.size[-1-k]))
	}
	dx, dy := g.edge(k)
	length := math.Sqrt(dx*dx + dy*dy)
	a := g.points[g.tri[k]]
	depth := 0.0
	for _, v := range g.tri[3*i : 3*i+3] {
		p := g.points[v]
		depth = max(depth, (dx*(p.Y-a.Y)-dy*(p.X-a.X))*g.unit/length)
	}
	return min(size, length, 2*depth)
}

// end is where the flow from triangle i ends: the place of the hull edge that it leaves
// across, or −1−t for triangle t. Where samples lie on a curve, flows are as long as the
// curve, and each is walked once.
func (g *gaps) end(i int32) int32 {
	g.path = g.path[:0]
	for {
		e, ok := g.ends[i]
		if !ok {
			g.path = append(g.path, i)
			k := g.across(int(i))
			if k >= 0 && g.adj[k] >= 0 {
				i = g.adj[k]
				continue
			}
			if e = int32(k); k < 0 {
				e = -1 - i
			}
		}
		for _, t := range g.path {
			g.ends[t] = e
		}
		return e
	}
}

// suspects lists the triangles whose circle is large for the shortest edges at their
// corners. The spacing of a triangle is hardly ever below three quarters of the
// largest of these, so few triangles have to be looked at closely. A corner whose shortest
// edge is large for those of the other two may be a stray.
func (g *gaps) suspects(factor float64) []int32 {
	var found [chunks][]int32
	limit := float32(0.75 * factor)
	share(len(g.size), func(chunk, lo, hi int) {
		for i := lo; i < hi; i++ {
			a, b, c := g.tri[3*i], g.tri[3*i+1], g.tri[3*i+2]
			a, b, c = int32(g.short[a]), int32(g.short[b]), int32(g.short[c]) // they have the order of the numbers
			most := math.Float32frombits(uint32(max(a, b, c)))
			if g.size[i] > limit*most || most > apart*math.Float32frombits(uint32(max(min(a, b), min(max(a, b), c)))) {
				found[chunk] = append(found[chunk], int32(i))
			}
		}
	})
	return slices.Concat(found[:]...)
}

// strays lists the corners of the suspects that lie far from all others.
func (g *gaps) strays(suspects []int32) []int32 {
	var found [chunks][]int32
	share(len(suspects), func(chunk, lo, hi int) {
		g, seen := g.worker(), map[int32]bool{}
		for _, i := range suspects[lo:hi] {
			for k := 3 * int(i); k < 3*int(i)+3; k++ {
				// The first test is quick and leaves few.
				v, limit := g.tri[k], float64(g.size[i])/loneOutside
				if seen[v] || number(g.short[g.tri[following(k)]]) > limit || number(g.short[g.tri[previous(k)]]) > limit {
					continue
				}
				seen[v] = true
				if g.stray(k) {
					found[chunk] = append(found[chunk], v)
				}
			}
		}
	})
	out := slices.Concat(found[:]...)
	slices.Sort(out)
	return slices.Compact(out)
}

// stray reports whether the sample at place k lies far from all others.
func (g *gaps) stray(k int) bool {
	v := g.tri[k]
	g.ring = g.star(k, g.ring)
	ratio := float64(lone)
	for _, j := range g.ring {
		if g.alongHull(v, int(j)) {
			ratio = loneOutside
		}
	}
	own, near := g.thirdShortest(k), 0
	for _, j := range g.ring {
		if own > ratio*g.thirdShortest(int(j)) {
			continue
		}
		a, b := g.points[v], g.points[g.tri[j]]
		if near++; near > 1 || math.Hypot(b.X-a.X, b.Y-a.Y)*g.unit > 1.001*number(g.short[v]) {
			return false // two, or not the other one of a pair
		}
	}
	return true
}

// wide lists the triangles that remain though samples are missing by the finest spacing
// of their corners: a hole beside coarse cells need not be one by theirs.
func (g *gaps) wide(factor float64) []int32 {
	var found [chunks][]int32
	share(len(g.size), func(chunk, lo, hi int) {
		g := g.worker()
		for i := lo; i < hi; i++ {
			t, size := g.tri[3*i:3*i+3], float64(g.size[i])
			if least := min(g.short[t[0]], g.short[t[1]], g.short[t[2]]); g.dropped[i] || size <= factor*number(least) {
				continue
			}
			// A spacing is no less than this part of the sample's own, which is the quicker to tell.
			if least := min(g.thirdShortest(3*i), g.thirdShortest(3*i+1), g.thirdShortest(3*i+2)); size <= 0.999*factor*own*least {
				continue
			}
			limit := factor * min(g.at(3*i), g.at(3*i+1), g.at(3*i+2))
			if size > limit && g.gap(i) > limit {
				found[chunk] = append(found[chunk], t...)
			}
		}
	})
	return slices.Concat(found[:]...)
}

// open drops what belongs to gaps.
func (g *gaps) open(suspects []int32, factor float64) {
	missing := func(i int32) bool {
		size := float64(g.size[i])
		for k := 3 * i; k < 3*i+3; k++ {
			if size <= factor*own*g.thirdShortest(int(k)) {
				return false // the spacing is no less, and this is quicker
			}
		}
		limit := factor * g.local(int(i))
		return size > limit && g.gap(int(i)) > limit
	}
	var queue []int32
	for _, i := range suspects {
		if g.dropped[i] || !missing(i) {
			continue
		}
		g.dropped[i] = true
		queue = append(queue[:0], i)
		for len(queue) > 0 {
			i := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for e := int(3 * i); e < int(3*i)+3; e++ {
				j := g.adj[e]
				if j < 0 || g.dropped[j] {
					continue
				}
				size := 0.0
				if k := g.across(int(i)); k == e {
					size = float64(g.size[j])
				} else if k := g.across(int(j)); k >= 0 && g.adj[k] == i || g.bridges(e, factor) {
					size = g.gap(int(j))
				}
				if size > spread*factor*g.local(int(j)) || missing(j) {
					g.dropped[j] = true
					queue = append(queue, j)
				}
			}
		}
	}
}

// bridges reports whether edge k is longer than factor times the larger spacing of its ends. Such an edge joins two
// fine sides of a gap, even if the triangle beyond has a coarse corner.
func (g *gaps) bridges(k int, factor float64) bool {
	dx, dy := g.edge(k)
	return math.Hypot(dx, dy) > factor*max(g.at(k), g.at(following(k)))
}

// peel drops thin triangles from the hull inwards.
func (g *gaps) peel() {
	var queue []int32
	for k, s := range g.adj {
		if s < 0 {
			queue = append(queue, int32(k/3))
		}
	}
	for len(queue) > 0 {
		i := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if g.dropped[i] {
			continue
		}
		l, cross := g.squares(int(i))
		altitude := cross / math.Sqrt(max(l[0], l[1], l[2]))
		if !(altitude <= digits7*g.largest*g.unit && altitude <= thin*g.local(int(i))) {
			continue
		}
		g.dropped[i] = true
		for _, j := range g.adj[3*i : 3*i+3] {
			if j >= 0 {
				queue = append(queue, j)
			}
		}
	}
}

// kept collects the result.
func (g *gaps) kept() *Kept {
	r := &Kept{}
	var area grid.Sum
	var count [chunks + 1]int
	share(len(g.dropped), func(chunk, lo, hi int) {
		for _, d := range g.dropped[lo:hi] {
			if !d {
				count[chunk+1]++
			}
		}
	})
	for i := range chunks {
		count[i+1] += count[i]
	}
	if count[chunks] == len(g.dropped) {
		r.Triangles = g.tri
		return r
	}
	r.Triangles = make([]int32, 3*count[chunks])
	share(len(g.dropped), func(chunk, lo, hi int) {
		at := 3 * count[chunk]
		for i := lo; i < hi; i++ {
			if !g.dropped[i] {
				copy(r.Triangles[at:at+3], g.tri[3*i:])
				at += 3
			}
		}
	})
	for i, d := range g.dropped {
		if d {
			c := g.tri[3*i : 3*i+3]
			r.Bridges = append(r.Bridges, c...)
			area.Add(grid.TriangleArea(g.points[c[0]], g.points[c[1]], g.points[c[2]]))
		}
	}
	r.DroppedArea = area.Value()
	// Connected openings; done marks triangles that belong to one.
	done := make([]bool, len(g.dropped))
	var stack []int32
	for i, d := range g.dropped {
		if !d || done[i] {
			continue
		}
		o := Opening{Gap: grid.Gap{Box: grid.EmptyBox()}, Closed: true}
		done[i] = true
		stack = append(stack, int32(i))
		for len(stack) > 0 {
			k := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			a, b, c := g.points[g.tri[3*k]], g.points[g.tri[3*k+1]], g.points[g.tri[3*k+2]]
			o.Area += grid.TriangleArea(a, b, c)
			o.Box = o.Box.Extend(a).Extend(b).Extend(c)
			for _, j := range g.adj[3*k : 3*k+3] {
				switch {
				case j < 0:
					o.Closed = false
				case g.dropped[j] && !done[j]:
					done[j] = true
					stack = append(stack, j)
				}
			}
		}
		r.Openings = append(r.Openings, o)
	}
	return r
}
