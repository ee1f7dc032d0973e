package compare_test

// Scratch only, never commit. DIAG_PAIRS, DIAG_SHAPES (|-separated names), DIAG_MESH, DIAG_NUM, DIAG_FIRST (seed)
import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
)

type zcell struct {
	off, exp []float64
	parts    map[string]float64
	lack map[string]float64
	n        int
	nulls, called int
}

func (c *zcell) add(off, exp float64, std float64, items []uncertainty.Item) {
	c.off, c.exp = append(c.off, off), append(c.exp, exp)
	if c.parts == nil {
		c.parts = map[string]float64{}
		c.lack = map[string]float64{}
	}
	c.n++
	for _, it := range items {
		if it.Standard > 0 {
			c.parts[it.Name] += it.Standard * it.Standard / (std * std)
			c.lack[it.Name] += it.Lack
		}
	}
}

func TestZDiag(t *testing.T) {
	pairs, _ := strconv.Atoi(os.Getenv("DIAG_PAIRS"))
	if pairs == 0 {
		pairs = 200
	}
	first, _ := strconv.Atoi(os.Getenv("DIAG_FIRST"))
	const angles = 6
	shapes, truths := make([][]coverShape, angles), make([][]coverTruth, angles)
	var wg sync.WaitGroup
	for a := range angles {
		wg.Go(func() {
			shapes[a] = coverShapes(math.Pi / 2 * (float64(a) + 0.3) / angles)
			for i := range shapes[a] {
				truths[a] = append(truths[a], shapes[a][i].truth())
			}
		})
	}
	wg.Wait()
	has := func(env, v string) bool {
		e := os.Getenv(env)
		if e == "" {
			return true
		}
		for _, x := range strings.Split(e, "|") {
			if x == v {
				return true
			}
		}
		return false
	}
	for i := range shapes[0] {
		if !has("DIAG_SHAPES", shapes[0][i].name) {
			continue
		}
		for _, mesh := range []string{"lattice", "scattered", "octree"} {
			if !has("DIAG_MESH", mesh) {
				continue
			}
			cells := map[string]*zcell{}
			var mu sync.Mutex
			for w := range 2 {
				wg.Go(func() {
					for p := w + first; p < pairs+first; p += 2 {
						if v, err := strconv.Atoi(os.Getenv("DIAG_PROFILE")); err == nil && p/4%angles%3 != v {
							continue
						}
						zpair(t, &shapes[p/4%angles][i], truths[p/4%angles][i], mesh, uint64(p), func(q string, off, exp, std float64, items []uncertainty.Item, null bool, verdict string) {
							if !has("DIAG_NUM", q) {
								return
							}
							mu.Lock()
							defer mu.Unlock()
							c := cells[q]
							if c == nil {
								c = &zcell{}
								cells[q] = c
							}
							if verdict != "" && null {
								c.nulls++
								if verdict == uncertainty.Resolved {
									c.called++
								}
							}
							if items != nil || exp > 0 {
								c.add(off, exp, std, items)
							}
						})
					}
				})
			}
			wg.Wait()
			var names []string
			for q := range cells {
				names = append(names, q)
			}
			sort.Strings(names)
			for _, q := range names {
				c := cells[q]
				var mean, sq, half, held, z, z2 float64
				for k, o := range c.off {
					mean += o
					sq += o * o
					half += c.exp[k]
					r := o / c.exp[k] * 2
					z += r
					z2 += r * r
					if math.Abs(o) <= c.exp[k] {
						held++
					}
				}
				n := float64(c.n)
				fmt.Printf("%s, %s: %s n %d held %.1f width %.2f mean/rms %.2f; in u: mean %.2f rms %.2f; null %d/%d |", shapes[0][i].name, mesh, q, c.n, 100*held/n, half/n/(2*math.Sqrt(sq/n)), mean/n/math.Sqrt(sq/n), z/n, math.Sqrt(z2/n), c.called, c.nulls)
				var its []string
				for it := range c.parts {
					its = append(its, it)
				}
				sort.Slice(its, func(a, b int) bool { return c.parts[its[a]] > c.parts[its[b]] })
				for _, it := range its {
					if s := 100 * c.parts[it] / n; s >= 1 {
						fmt.Printf(" %s %.0f%%,", it, s)
						if c.lack[it] != 0 {
							fmt.Printf(" (lack %.3g of mean %.3g)", c.lack[it]/n, mean/n)
						}
					}
				}
				fmt.Println()
			}
		}
	}
}

func zpair(t testing.TB, s *coverShape, truth coverTruth, mesh string, seed uint64, add func(q string, off, exp, std float64, items []uncertainty.Item, null bool, verdict string)) {
	r := rand.New(rand.NewPCG(seed, 0xc0))
	noise, fine := 0.002*math.Pow(10, r.Float64()), 1/(30+20*r.Float64())
	if v, err := strconv.ParseFloat(os.Getenv("DIAG_NOISE"), 64); err == nil {
		noise = v
	}
	move := 0.0
	if seed%2 == 1 {
		move = 0.004
	}
	points := s.points(r, mesh, fine)
	plane := s.plane(t, r, "a", points, 0, noise)
	if seed/2%2 == 1 {
		points = s.points(r, mesh, fine)
	}
	second := s.plane(t, r, "b", points, move, noise)
	opt := nullOptions()
	opt.Measure.Section = [2]float64{}
	opt.Measure.Thresholds = coverThresholds
	opt.Measure.Regions = []measure.Box{{Name: "box", Side: "right", Box: s.region}}
	if s.body.Area() > 0 {
		opt.Measure.Floor = "slip"
	}
	one := func(res *measure.Result) {
		u := res.Uncertainty
		if u.DragArea != nil && s.body.Area() > 0 {
			add("drag", quotedDrag(res)-truth.drag, u.DragArea.Expanded, u.DragArea.Standard, u.DragArea.Items, false, "")
		}
		if u.Centroid != nil && s.body.Area() == 0 {
			add("centroid", res.Wake.Centroid[0]-truth.y, u.Centroid[0].Expanded, u.Centroid[0].Standard, u.Centroid[0].Items, false, "")
		}
		for n, a := range res.Wake.Areas {
			if !a.InScatter {
				b := u.Areas[n]
				add("area", a.Area-truth.areas[n], b.Expanded, b.Standard, b.Items, false, "")
				add(fmt.Sprintf("area%g", a.Threshold), a.Area-truth.areas[n], b.Expanded, b.Standard, b.Items, false, "")
			}
		}
		b := res.Regions[0].Uncertainty.DragArea
		add("region", *res.Regions[0].DragArea-truth.region, b.Expanded, b.Standard, b.Items, false, "")
	}
	if os.Getenv("DIAG_NOPAIRS") == "" {
		opt.Structures = &parts.Options{}
		got, _, err := comparison([]*wake.Plane{plane, second}, opt)
		if err != nil {
			t.Errorf("%s, %s, seed %d: %v", s.name, mesh, seed, err)
			return
		}
		v := got.Variants[0]
		for i, res := range []*measure.Result{got.Baseline, v.Survey} {
			if i == 1 && move != 0 {
				break
			}
			one(res)
		}
		shifts := []*compare.Shift{v.Shift, v.Regions[0].Shift}
		if move != 0 {
			shifts = shifts[:1]
		}
		for _, m := range shifts {
			if m != nil {
				add("move", m.Centroid[0]-move, m.Expanded, m.Standard, m.Items, move == 0, m.Verdict)
			}
		}
		for _, m := range v.Structures.Shifts {
			if m.Headline != nil {
				want := s.partMove(move, m.Threshold, m.Side)
				add("part", m.Headline.Lateral-want, m.Headline.Expanded, m.Headline.Standard, m.Headline.Items, move == 0, m.Verdict)
			}
		}
		if move == 0 {
			if v.Delta != nil {
				add("drag", 0, 0, 0, nil, true, v.Delta.Verdict)
			}
			add("region", 0, 0, 0, nil, true, v.Regions[0].Delta.Verdict)
			for _, a := range v.Areas {
				add("area", 0, 0, 0, nil, true, a.Verdict)
			}
		}
	} else {
		m, err := measure.Take(plane, opt.Measure)
		if err != nil {
			t.Error(err)
			return
		}
		one(m.Result)
	}
	if s.body.Area() == 0 {
		cut := *s
		part := 0.6 + 0.4*r.Float64()
		cut.window = box(part*s.window.Min.X, part*s.window.Min.Y, part*s.window.Max.X, part*s.window.Max.Y)
		opt.Measure.Regions = nil
		got, err := measure.Take(cut.plane(t, r, "c", cut.points(r, mesh, fine), 0, noise), opt.Measure)
		if err != nil {
			t.Error(err)
			return
		}
		if u := got.Result.Uncertainty.DragArea; u != nil {
			add("drag", quotedDrag(got.Result)-truth.drag, u.Expanded, u.Standard, u.Items, false, "")
		}
	}
}
