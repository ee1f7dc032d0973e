package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// A random survey: a wake whose momentum integral is known in closed form, on a mesh of
// one kind, with noise, and perhaps with one injury.
type randomSurvey struct {
	seed                uint64
	mesh, field, injury string
	noise, drag         float64
	csv                 []byte
}

func (s *randomSurvey) String() string {
	return fmt.Sprintf("seed %d: %s on %s, noise %g, %s, %.4f m2", s.seed, s.field, s.mesh, s.noise, s.injury, s.drag)
}

// injuries are what may be wrong with a survey, each with the codes of the warnings that
// name it. A run that is refused, or that quotes no drag, names it, too.
var injuries = map[string][]string{
	"none":     nil,
	"hole":     {"area-without-samples", "cuts-body"},
	"nan":      {"area-without-samples"},
	"stray":    {"stray-samples", "window-open"},
	"patch":    {"area-without-samples"},
	"far":      {"area-without-samples"},
	"notch":    {"area-without-samples", "window-open"},
	"sentinel": {"missing-value", "no-flow"},
	"rows":     {"area-without-samples"},
}

var randomBox = grid.Box{Min: grid.Point{X: -1.5, Y: 0.6}, Max: grid.Point{X: 1.5, Y: 2.8}}

// newRandomSurvey draws a survey; every number follows from the seed.
func newRandomSurvey(seed uint64) *randomSurvey {
	r := rand.New(rand.NewPCG(seed, 0x5eed))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	s := &randomSurvey{seed: seed, injury: "none"}
	// The field: u/U = 1 − d, cp. Its integral is −∫cp + 2∫d − 2∫d².
	var deficit func(y, z float64) float64
	y0, z0 := between(-0.4, 0.4), between(1.5, 1.9)
	switch r.IntN(3) {
	case 0:
		s.field = "Gaussian"
		e, g := between(0.1, 0.6), between(0.12, 0.25)
		deficit = func(y, z float64) float64 {
			return e * math.Exp(-((y-y0)*(y-y0)+(z-z0)*(z-z0))/(2*g*g))
		}
		s.drag = 2 * math.Pi * g * g * e * (2 - e)
	case 1:
		s.field = "two Gaussians"
		e1, e2, g1, g2 := between(0.1, 0.4), between(0.1, 0.4), between(0.1, 0.2), between(0.12, 0.2)
		y1 := y0 + between(-0.5, 0.5)
		deficit = func(y, z float64) float64 {
			q := (z - z0) * (z - z0)
			return e1*math.Exp(-((y-y0)*(y-y0)+q)/(2*g1*g1)) + e2*math.Exp(-((y-y1)*(y-y1)+q)/(2*g2*g2))
		}
		sum := g1*g1 + g2*g2
		s.drag = 2*math.Pi*(g1*g1*e1*(2-e1)+g2*g2*e2*(2-e2)) - 8*math.Pi*e1*e2*g1*g1*g2*g2/sum*math.Exp(-(y1-y0)*(y1-y0)/(2*sum))
	case 2:
		s.field = "steep square"
		e, a, t := between(0.2, 0.6), between(0.2, 0.35), between(0.015, 0.06)
		side := func(x float64) float64 {
			return (math.Erf((x+a)/(t*math.Sqrt2)) - math.Erf((x-a)/(t*math.Sqrt2))) / 2
		}
		deficit = func(y, z float64) float64 { return e * side(y-y0) * side(z-z0) }
		// ∫Φ(1−Φ) = t/√π at each of two sides.
		sq := 2*a - 2*t/math.Sqrt(math.Pi)
		s.drag = 2 * (e*4*a*a - e*e*sq*sq)
	}
	cp0, gp := between(-0.1, 0.05), between(0.15, 0.25)
	s.drag -= 2 * math.Pi * gp * gp * cp0
	turn := between(-0.2, 0.2)

	// The mesh.
	var pts []grid.Point
	switch r.IntN(3) {
	case 0:
		s.mesh = "lattice"
		pts = gridtest.LatticePoints(30+r.IntN(40), 25+r.IntN(30), randomBox)
	case 1:
		s.mesh = "scattered"
		pts = gridtest.JitteredPoints(30+r.IntN(40), 25+r.IntN(30), randomBox, between(0.1, 0.45), seed)
	case 2:
		s.mesh = "octree"
		pts = gridtest.OctreeCentres(14+r.IntN(10), 10+r.IntN(8), randomBox, 2, func(p grid.Point) int {
			d := math.Hypot(p.X-y0, p.Y-z0)
			switch {
			case d < 0.45:
				return 2
			case d < 0.8:
				return 1
			}
			return 0
		})
	}
	s.noise = []float64{0, 0, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1}[r.IntN(8)]
	core := func() grid.Point { return grid.Point{X: y0 + between(-0.2, 0.2), Y: z0 + between(-0.2, 0.2)} }
	near := func(c grid.Point, d float64) func(grid.Point) bool {
		return func(p grid.Point) bool { return math.Hypot(p.X-c.X, p.Y-c.Y) < d }
	}
	moved, slip := -1, 0.0
	marked := func(grid.Point) bool { return false }
	mark := "nan,nan,nan,nan"
	if r.IntN(2) == 0 {
		switch r.IntN(8) {
		case 0:
			s.injury = "hole"
			pts = gridtest.Without(pts, near(core(), between(0.1, 0.3)))
		case 1:
			s.injury, marked = "nan", near(core(), between(0.03, 0.12))
		case 2:
			s.injury, moved = "stray", r.IntN(len(pts))
			slip = []float64{10, 0.1, -1, 100}[r.IntN(4)]
		case 3:
			s.injury = "patch"
			h := math.Pow(10, between(-4, -2))
			c := core()
			for _, q := range gridtest.LatticePoints(12, 12, grid.Box{Max: grid.Point{X: 12 * h, Y: 12 * h}}) {
				pts = append(pts, grid.Point{X: c.X + q.X, Y: c.Y + q.Y})
			}
		case 4:
			s.injury = "far"
			away := math.Pow(10, between(1, 4))
			for _, q := range gridtest.LatticePoints(6, 6, grid.Box{Max: grid.Point{X: 0.3, Y: 0.3}}) {
				pts = append(pts, grid.Point{X: away + q.X, Y: 1 + q.Y})
			}
		case 5:
			s.injury = "notch"
			c := core()
			right, up := r.IntN(2) == 0, r.IntN(2) == 0
			wide := between(0.3, 3)
			pts = gridtest.Without(pts, func(p grid.Point) bool {
				return (p.X > c.X) == right && (p.Y > c.Y) == up && math.Abs(p.X-c.X) < wide
			})
		case 6:
			s.injury, marked = "sentinel", near(core(), between(0.05, 0.15))
			mark = []string{"-999,-999,-999,-999", "9999,9999,9999,9999", "0,0,0,0"}[r.IntN(3)]
		case 7:
			s.injury = "rows"
			pts = pts[:0]
			nz := 14 + r.IntN(8)
			for j := range nz {
				z := randomBox.Min.Y + randomBox.Height()*(float64(j)+0.5)/float64(nz)
				ny := 100 + r.IntN(3)
				d := randomBox.Width() / float64(ny)
				for i := range ny {
					pts = append(pts, grid.Point{X: randomBox.Min.X + d*(float64(i)+0.5+between(-0.2, 0.2)), Y: z + d*between(-0.05, 0.05)})
				}
			}
			s.mesh = "rows"
		}
	}
	var b bytes.Buffer
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	const U, q = 25, 375
	for i, p := range pts {
		d := deficit(p.X, p.Y)
		cp := cp0 * math.Exp(-((p.X-y0)*(p.X-y0)+(p.Y-z0)*(p.Y-z0))/(2*gp*gp))
		u, v, w := 1-d, -turn*(p.Y-z0)*d, turn*(p.X-y0)*d
		u, v, w, cp = u+s.noise*r.NormFloat64(), v+s.noise*r.NormFloat64(), w+s.noise*r.NormFloat64(), cp+s.noise*r.NormFloat64()
		if i == moved {
			p.X *= slip
		}
		fmt.Fprintf(&b, "2.9,%.6g,%.6g,", p.X, p.Y)
		if marked(p) {
			fmt.Fprintln(&b, mark)
			continue
		}
		fmt.Fprintf(&b, "%.6g,%.6g,%.6g,%.6g\n", U*u, U*v, U*w, q*cp)
	}
	s.csv = b.Bytes()
	return s
}

// sentenced is what became of a survey.
type sentenced struct {
	survey  *randomSurvey
	outcome string // within, beyond, named, refused, wrong
	say     string
}

// Each run has to end in two seconds of two cores and within 500 MB. What lies further off
// than surely times U is no chance.
const (
	randomSeconds = 2 * 2
	randomBytes   = 500 << 20
	surely        = 2.5
)

func (s *randomSurvey) judge(dir string) sentenced {
	file := filepath.Join(dir, fmt.Sprintf("s%d.csv", s.seed))
	bad := func(format string, a ...any) sentenced { return sentenced{s, "wrong", fmt.Sprintf(format, a...)} }
	if err := os.WriteFile(file, s.csv, 0o644); err != nil {
		return bad("%v", err)
	}
	defer os.Remove(file)
	// The clock here only ends a hang; what counts is the processor's time below.
	ctx, stop := context.WithTimeout(context.Background(), 60*time.Second)
	defer stop()
	cmd := exec.CommandContext(ctx, "wakeledger", "measure", file, "--speed", "25", "--density", "1.2", "--pressure", "0", "--json")
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	state := cmd.ProcessState
	if ctx.Err() != nil {
		return bad("hangs")
	}
	if cpu := state.UserTime() + state.SystemTime(); cpu > randomSeconds*time.Second {
		return bad("%v of processor", cpu)
	}
	if u, ok := state.SysUsage().(*syscall.Rusage); ok && runtime.GOOS == "linux" && u.Maxrss<<10 > randomBytes {
		return bad("%d MB", u.Maxrss>>10)
	}
	if err != nil {
		if state.ExitCode() != 1 || strings.Count(strings.TrimSpace(errs.String()), "\n") > 4 {
			return bad("exit %d: %.300s", state.ExitCode(), errs.String())
		}
		return sentenced{s, "refused", strings.TrimSpace(errs.String())}
	}
	var got measured
	if err := json.Unmarshal(out.Bytes(), &got); err != nil || len(got.Surveys) != 1 {
		return bad("%v, %d surveys", err, len(got.Surveys))
	}
	v, codes := got.Surveys[0], codes(got.Warnings)
	var value float64
	switch v.Drag.Headline {
	case "momentum":
		value = v.Drag.Momentum.DragArea
	case "wake_only":
		value = v.Drag.WakeOnly.DragArea
	default:
		return sentenced{s, "refused", fmt.Sprintf("headline %q: %v", v.Drag.Headline, codes)}
	}
	off, U := math.Abs(value-s.drag), v.Uncertainty.DragArea.Expanded
	say := fmt.Sprintf("%s %.4f ± %.4f, off by %.4f (%.1f U): %v", v.Drag.Headline, value, U, off, off/U, codes)
	named := slices.ContainsFunc(codes, func(c string) bool { return slices.Contains(injuries[s.injury], c) })
	switch {
	case off <= U:
		return sentenced{s, "within", say}
	case named:
		return sentenced{s, "named", say}
	case off <= surely*U:
		return sentenced{s, "beyond", say}
	}
	return sentenced{s, "wrong", say}
}

// TestRandomSurveys measures surveys that no other test was tuned on: each has to end in
// time and memory, and either the drag lies within its U of the closed form, or a warning
// names the injury, or nothing is quoted. An interval of 95 % may miss now and then: a
// miss of more than 2.5 U never is chance, and misses up to that are counted.
func TestRandomSurveys(t *testing.T) {
	n := 48
	if gridtest.Large() {
		n = 2000
	}
	// A child's peak of memory begins at that of its parent, in which other tests ran before:
	// 5 sets it back (proc(5)).
	debug.FreeOSMemory()
	if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0); err != nil && runtime.GOOS == "linux" {
		t.Log(err)
	}
	dir := t.TempDir()
	all := make([]sentenced, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				all[i] = newRandomSurvey(uint64(i)).judge(dir)
			}
		})
	}
	for i := range all {
		next <- i
	}
	close(next)
	wg.Wait()
	count := map[string]map[string]int{}
	for _, j := range all {
		for _, key := range []string{"all", j.survey.injury} {
			if count[key] == nil {
				count[key] = map[string]int{}
			}
			count[key][j.outcome]++
		}
		if j.outcome == "wrong" {
			t.Errorf("%v\n\t%s", j.survey, j.say)
		}
		if j.outcome == "beyond" && testing.Verbose() {
			t.Logf("beyond: %v\n\t%s", j.survey, j.say)
		}
	}
	for _, key := range append([]string{"all"}, slices.Sorted(maps.Keys(injuries))...) {
		t.Logf("%-9s %v", key, count[key])
	}
	// Three standard errors above one in twenty.
	if c := count["none"]; float64(c["beyond"]) > 0.05*float64(c["within"]+c["beyond"])+3*math.Sqrt(0.05*0.95*float64(c["within"]+c["beyond"])) {
		t.Errorf("of %d sound surveys %d lie beyond U", c["within"]+c["beyond"], c["beyond"])
	}
}
