package compare_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// coverShape is a wake of the coverage table, with a box in it.
type coverShape struct {
	name  string
	field func(y, z float64) waketest.State
	// body is what no sample lies in; empty for none. With one, z = 0 is the floor.
	body, region, window grid.Box
}

func box(y0, z0, y1, z1 float64) grid.Box {
	return grid.Box{Min: grid.Point{X: y0, Y: z0}, Max: grid.Point{X: y1, Y: z1}}
}

// coverShapes are the wakes, turned by an angle where they stand clear of a floor.
func coverShapes(angle float64) []coverShape {
	sin, cos := math.Sincos(angle)
	turned := func(f func(a, b float64) waketest.State) func(y, z float64) waketest.State {
		return func(y, z float64) waketest.State { return f(cos*y+sin*z, cos*z-sin*y) }
	}
	bell := func(y, z, s float64) float64 { return math.Exp(-(y*y + z*z) / (2 * s * s)) }
	side := func(x float64) float64 {
		const half, steep = 0.3, 0.03
		return (math.Erf((x+half)/(steep*math.Sqrt2)) - math.Erf((x-half)/(steep*math.Sqrt2))) / 2
	}
	square := func(y, z float64) waketest.State { return waketest.State{U: 1 - 0.4*side(y)*side(z)} }
	clear, part := box(-0.9, -0.9, 0.9, 0.9), box(0.03, -0.55, 0.62, 0.5)
	return []coverShape{
		{"Gaussian", turned(func(y, z float64) waketest.State { return waketest.State{U: 1 - 0.5*bell(y, z/0.8, 0.2)} }), grid.Box{}, part, clear},
		{"vortex pair with deficit", turned(func(y, z float64) waketest.State {
			l, r := bell(y+0.2, z, 0.09), bell(y-0.2, z, 0.09)
			s := waketest.State{U: 1 - 0.3*bell(y, z, 0.22) - 0.15*(l+r), P: -0.04 * (l + r)}
			s.V, s.W = 2.5*z*(l-r), 2.5*((y-0.2)*r-(y+0.2)*l)
			return s
		}), grid.Box{}, part, clear},
		{"steep-sided square", turned(square), grid.Box{}, part, clear},
		{"the same along the lines", square, grid.Box{}, part, clear},
		{"floor, cut by a body", func(y, z float64) waketest.State {
			y = math.Abs(y) - 0.45
			d := bell(y, z-0.16, 0.12)
			return waketest.State{U: 1 - 0.4*d, P: -0.02 * bell(y, z-0.16, 0.14)}
		}, box(-0.25, -1, 0.25, 0.35), box(0.1, -0.01, 0.85, 0.6), box(-1.1, 0, 1.1, 1.1)},
	}
}

// coverThresholds bound the areas of the table.
var coverThresholds = []float64{0.1, 0.3}

// coverTruth is what sums over cells of 2 mm make of a wake.
type coverTruth struct {
	drag, region, y float64
	areas           []float64
}

func (s *coverShape) truth() coverTruth {
	t := coverTruth{areas: make([]float64, len(coverThresholds))}
	each := func(b grid.Box, f func(y, z, cell, local, loss float64)) {
		const h = 0.002
		nx, ny := math.Ceil(b.Width()/h), math.Ceil(b.Height()/h)
		dx, dy := b.Width()/nx, b.Height()/ny
		for j := range int(ny) {
			for i := range int(nx) {
				// Each row, and each column, has its places elsewhere in the cells: else a side along
				// the lines would be off by one part of a cell all along.
				_, a := math.Modf(float64(j+1) * math.Phi)
				_, c := math.Modf(float64(i+1) * math.Phi)
				y, z := b.Min.X+(float64(i)+a)*dx, b.Min.Y+(float64(j)+c)*dy
				v := s.field(y, z)
				f(y, z, dx*dy, 2*v.U*(1-v.U)-2*v.P, 1-2*v.P-v.U*v.U-v.V*v.V-v.W*v.W)
			}
		}
	}
	var sum float64
	for _, b := range s.without(s.window) {
		each(b, func(y, z, cell, local, loss float64) {
			t.drag += cell * local
			sum += cell * loss
			t.y += cell * loss * y
			for k, th := range coverThresholds {
				if loss > th {
					t.areas[k] += cell
				}
			}
		})
	}
	t.y /= sum
	for _, b := range s.without(s.region) {
		each(b, func(y, z, cell, local, loss float64) { t.region += cell * local })
	}
	return t
}

// TestTruthOfSides: the table's square is as large along the lines as turned.
func TestTruthOfSides(t *testing.T) {
	s := coverShapes(0.3)
	turned, along := s[2].truth(), s[3].truth()
	for k, a := range along.areas {
		if math.Abs(a-turned.areas[k]) > 1e-4 {
			t.Errorf("above %g: %.6g m² along the lines, %.6g turned", coverThresholds[k], a, turned.areas[k])
		}
	}
}

// partMove is that of the centroid of the weight above a threshold on one side of the centre
// plane when the wake moves by dy. A body that stays cuts off another part of the wake then.
func (s *coverShape) partMove(dy, threshold float64, side string) float64 {
	if s.body.Area() == 0 || dy == 0 {
		return dy
	}
	const h = 0.004
	var sum, moment [2]float64
	for _, b := range s.without(s.window) {
		for z := b.Min.Y + h/2; z < b.Max.Y; z += h {
			for y := b.Min.X + h/2; y < b.Max.X; y += h {
				if (y < 0) != (side == "left") {
					continue
				}
				for k, at := range [2]float64{y, y - dy} {
					v := s.field(at, z)
					w := math.Max(0, 1-2*v.P-v.U*v.U-v.V*v.V-v.W*v.W-threshold)
					sum[k] += w
					moment[k] += w * y
				}
			}
		}
	}
	return moment[1]/sum[1] - moment[0]/sum[0]
}

// without is a box less the body, in boxes.
func (s *coverShape) without(b grid.Box) []grid.Box {
	if s.body.Area() == 0 {
		return []grid.Box{b}
	}
	b.Min.Y = math.Max(b.Min.Y, 0)
	var out []grid.Box
	for _, c := range []grid.Box{
		box(b.Min.X, b.Min.Y, s.body.Min.X, b.Max.Y), box(s.body.Max.X, b.Min.Y, b.Max.X, b.Max.Y),
		box(s.body.Min.X, s.body.Max.Y, s.body.Max.X, b.Max.Y),
	} {
		if c = c.Intersect(b); !c.Empty() && c.Area() > 0 {
			out = append(out, c)
		}
	}
	return out
}

// points draws samples in the window.
func (s *coverShape) points(r *rand.Rand, mesh string, fine float64) []grid.Point {
	w := s.window
	// A cell or less off, along the floor where there is one.
	h := fine * w.Width()
	off := grid.Point{X: h * (r.Float64() - 0.5), Y: h * (r.Float64() - 0.5)}
	if s.body.Area() > 0 {
		off.Y = 0
	}
	w = box(w.Min.X+off.X, w.Min.Y+off.Y, w.Max.X+off.X, w.Max.Y+off.Y)
	nx, ny := int(1/fine), int(w.Height()/w.Width()/fine)
	var p []grid.Point
	switch mesh {
	case "lattice":
		p = gridtest.LatticePoints(nx, ny, w)
	case "scattered":
		s := waketest.Scatter(waketest.Uniform(waketest.State{U: 1}), w.Min.X, w.Max.X, w.Min.Y, w.Max.Y, nx, ny, r.Uint64())
		for i := range s.N {
			p = append(p, grid.Point{X: s.Col[wake.Y][i], Y: s.Col[wake.Z][i]})
		}
	default:
		// Roots of three samples of a lattice, as many as fill the window.
		nx, ny = nx/3+1, ny/3+1
		w.Max = grid.Point{X: w.Min.X + 3*h*float64(nx), Y: w.Min.Y + 3*h*float64(ny)}
		p = gridtest.OctreeNodes(nx, ny, w, 2, func(q grid.Point) int {
			switch l := s.field(q.X, q.Y); {
			case l.U < 0.97:
				return 2
			case l.U < 0.999:
				return 1
			}
			return 0
		})
	}
	if s.body.Area() == 0 {
		return p
	}
	return gridtest.Without(p, s.body.Contains)
}

// plane surveys the wake, moved by dy, at the points.
func (s *coverShape) plane(t testing.TB, r *rand.Rand, name string, points []grid.Point, dy, noise float64) *wake.Plane {
	var y, z []float64
	for _, p := range points {
		y, z = append(y, p.X), append(z, p.Y)
	}
	in := waketest.Samples(func(y, z float64) waketest.State {
		v := s.field(y-dy, z)
		v.U += noise * r.NormFloat64()
		v.V += noise * r.NormFloat64()
		v.W += noise * r.NormFloat64()
		v.P += noise / 2 * r.NormFloat64()
		return v
	}, y, z)
	in.File = name
	return waketest.Plane(t, in, wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"})
}

var coverNumbers = []string{"drag", "region", "centroid", "area", "move", "part"}

// coverCell counts what became of one kind of number.
type coverCell struct {
	n, held, nulls, resolved int
	half, square             float64
}

func (c *coverCell) add(off, expanded float64) {
	c.n++
	if math.Abs(off) <= expanded {
		c.held++
	}
	c.half += expanded
	c.square += off * off
}

func (c *coverCell) null(verdict string) {
	c.nulls++
	if verdict == uncertainty.Resolved {
		c.resolved++
	}
}

// share is that of held and called that of resolved null pairs, in per cent, width the mean
// half interval over twice the true scatter.
func (c *coverCell) share() float64 { return 100 * float64(c.held) / float64(max(c.n, 1)) }
func (c *coverCell) called() float64 {
	return 100 * float64(c.resolved) / float64(max(c.nulls, 1))
}
func (c *coverCell) width() float64 {
	return c.half / float64(c.n) / (2 * math.Sqrt(c.square/float64(c.n)))
}

// coverCounts are those of one wake on one kind of mesh.
type coverCounts map[string]*coverCell

// pair surveys a wake twice, on the samples of one lattice or on meshes of its own: of
// every second pair the second wake is moved.
func (k coverCounts) pair(t testing.TB, s *coverShape, truth coverTruth, mesh string, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 0xc0))
	noise, fine := 0.002*math.Pow(10, r.Float64()), 1/(30+20*r.Float64())
	move := 0.0
	if seed%2 == 1 {
		move = 0.004
	}
	points := s.points(r, mesh, fine)
	planes := []*wake.Plane{s.plane(t, r, "a", points, 0, noise)}
	if seed/2%2 == 1 {
		points = s.points(r, mesh, fine)
	}
	planes = append(planes, s.plane(t, r, "b", points, move, noise))
	opt := nullOptions()
	opt.Measure.Section = [2]float64{}
	opt.Measure.Thresholds = coverThresholds
	opt.Measure.Regions = []measure.Box{{Name: "box", Side: "right", Box: s.region}}
	if s.body.Area() > 0 {
		opt.Measure.Floor = "slip"
	}
	opt.Structures = &parts.Options{}
	got, _, err := comparison(planes, opt)
	if err != nil {
		t.Errorf("%s, %s, seed %d: %v", s.name, mesh, seed, err)
		return
	}
	if s.body.Area() == 0 {
		k.drag(t, s, truth.drag, mesh, opt.Measure, r, fine, noise)
	}
	v := got.Variants[0]
	for i, res := range []*measure.Result{got.Baseline, v.Survey} {
		if i == 1 && move != 0 {
			break
		}
		u := res.Uncertainty
		if u.DragArea != nil && s.body.Area() > 0 {
			k["drag"].add(quotedDrag(res)-truth.drag, u.DragArea.Expanded)
		}
		if u.Centroid != nil && s.body.Area() == 0 {
			k["centroid"].add(res.Wake.Centroid[0]-truth.y, u.Centroid[0].Expanded)
		}
		for n, a := range res.Wake.Areas {
			if !a.InScatter {
				k["area"].add(a.Area-truth.areas[n], u.Areas[n].Expanded)
			}
		}
		k["region"].add(*res.Regions[0].DragArea-truth.region, res.Regions[0].Uncertainty.DragArea.Expanded)
	}
	shifts := []*compare.Shift{v.Shift, v.Regions[0].Shift}
	if move != 0 {
		shifts = shifts[:1] // a fixed box does not go with the wake
	}
	for _, m := range shifts {
		if m == nil {
			continue
		}
		k["move"].add(m.Centroid[0]-move, m.Expanded)
		if move == 0 {
			k["move"].null(m.Verdict)
		}
	}
	for _, m := range v.Structures.Shifts {
		if m.Headline == nil {
			continue
		}
		want := s.partMove(move, m.Threshold, m.Side)
		k["part"].add(m.Headline.Lateral-want, m.Headline.Expanded)
		if move == 0 {
			k["part"].null(m.Verdict)
		}
	}
	if move != 0 {
		return
	}
	if v.Delta != nil {
		k["drag"].null(v.Delta.Verdict)
	}
	k["region"].null(v.Regions[0].Delta.Verdict)
	for _, a := range v.Areas {
		k["area"].null(a.Verdict)
	}
}

// drag surveys the wake in a window of its own, from one that cuts some hundredths of the wake to
// one that cuts none: what a border hides is part of what the ± of a drag has to hold.
func (k coverCounts) drag(t testing.TB, s *coverShape, truth float64, mesh string, opt measure.Options, r *rand.Rand, fine, noise float64) {
	cut := *s
	part := 0.6 + 0.4*r.Float64()
	cut.window = box(part*s.window.Min.X, part*s.window.Min.Y, part*s.window.Max.X, part*s.window.Max.Y)
	opt.Regions = nil
	got, err := measure.Take(cut.plane(t, r, "c", cut.points(r, mesh, fine), 0, noise), opt)
	if err != nil {
		t.Errorf("%s, %s, window of %.2f: %v", s.name, mesh, part, err)
		return
	}
	// A border well inside the wake leaves nothing to quote.
	if u := got.Result.Uncertainty.DragArea; u != nil {
		k["drag"].add(quotedDrag(got.Result)-truth, u.Expanded)
	}
}

func quotedDrag(r *measure.Result) float64 {
	if r.Drag.Headline == "wake_only" {
		return r.Drag.WakeOnly.DragArea
	}
	return r.Drag.Momentum.DragArea
}

// merge adds the counts of another.
func (c *coverCell) merge(o *coverCell) {
	c.n, c.held, c.nulls, c.resolved = c.n+o.n, c.held+o.held, c.nulls+o.nulls, c.resolved+o.resolved
	c.half, c.square = c.half+o.half, c.square+o.square
}

func newCoverCounts() coverCounts {
	k := coverCounts{}
	for _, q := range coverNumbers {
		k[q] = &coverCell{}
	}
	return k
}

// coverTable surveys all wakes on all kinds of mesh, pairs times each, turned by so many
// angles, and gives the counts by "wake, mesh" in the order of the names.
func coverTable(t testing.TB, pairs, angles int) (names []string, counts map[string]coverCounts) {
	shapes, truths := make([][]coverShape, angles), make([][]coverTruth, angles)
	var wg sync.WaitGroup
	for a := range angles {
		wg.Go(func() {
			shapes[a] = coverShapes(math.Pi / 2 * (float64(a) + 0.3) / float64(angles))
			for i := range shapes[a] {
				truths[a] = append(truths[a], shapes[a][i].truth())
			}
		})
	}
	wg.Wait()
	counts = map[string]coverCounts{}
	for i, s := range shapes[0] {
		for _, mesh := range []string{"lattice", "scattered", "octree"} {
			name, all := s.name+", "+mesh, newCoverCounts()
			var mu sync.Mutex
			const workers = 4
			for w := range workers {
				wg.Go(func() {
					for p := w; p < pairs; p += workers {
						a, one := p/4%angles, newCoverCounts()
						one.pair(t, &shapes[a][i], truths[a][i], mesh, uint64(p))
						mu.Lock()
						for q, c := range one {
							all[q].merge(c)
						}
						mu.Unlock()
					}
				})
			}
			wg.Wait()
			names, counts[name] = append(names, name), all
		}
	}
	return names, counts
}

// coverLeast is the share, in per cent, below which intervals are too narrow.
const coverLeast = 90.0

// TestCoverage: of surveys drawn by a seed, on meshes and wakes that nothing was chosen
// by, with 0.2 to 2 % of U as noise, the stated 95 % interval holds the truth, is on the
// mean no more than twice as wide as the true scatter asks for, and pairs of surveys of
// one wake are rarely called different. The long version prints the table of
// DEVELOPERS.md.
func TestCoverage(t *testing.T) {
	pairs, angles := 6, 2
	if gridtest.Large() {
		pairs, angles = 1000, 6
	}
	names, counts := coverTable(t, pairs, angles)
	// Three standard errors of a share; the numbers of one pair go together.
	most := func(share float64, n int) float64 { return 300 * math.Sqrt(share*(1-share)*3/float64(max(n, 1))) }
	var table strings.Builder
	all := newCoverCounts()
	for _, name := range names {
		fmt.Fprintf(&table, "| %s |", name)
		for _, q := range coverNumbers {
			c := counts[name][q]
			if c.n == 0 {
				table.WriteString(" – |")
				continue
			}
			all[q].merge(c)
			fmt.Fprintf(&table, " %.0f, %.1f", c.share(), c.width())
			if c.nulls > 0 {
				fmt.Fprintf(&table, ", %.0f", c.called())
			}
			table.WriteString(" |")
			if c.share() < coverLeast-most(coverLeast/100, c.n) {
				t.Errorf("%s: the interval of the %s holds the truth in %.1f %% of %d", name, q, c.share(), c.n)
			}
		}
		table.WriteString("\n")
	}
	t.Logf("%d pairs of surveys each: held, width, null pairs resolved\n| wake, mesh | %s |\n%s", pairs, strings.Join(coverNumbers, " | "), table.String())
	for _, q := range coverNumbers {
		c := all[q]
		if c.share() < coverLeast-most(coverLeast/100, c.n) || c.width() > 2 || c.called() > 6+most(0.06, c.nulls) {
			t.Errorf("all %s: held in %.1f %% of %d, %.2f of the width that the scatter asks for, %.1f %% of %d null pairs resolved", q, c.share(), c.n, c.width(), c.called(), c.nulls)
		}
	}
}
