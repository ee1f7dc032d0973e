package rake

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey"
	"wakeledger/wake/waketest"
)

// slice is a solver's plane on its lattice.
type slice struct {
	lattice *grid.Lattice
	locator *grid.Locator
	cpt, cp []float64
}

// readSlice forms Cpt from p and the velocities of an exported plane, by itself and
// with ½·1.2·25² = 375 Pa.
func readSlice(t *testing.T, file string) slice {
	t.Helper()
	in, err := survey.Read(context.Background(), file, survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var s slice
	var points []grid.Point
	for i, p := range in.Col[wake.P] {
		u, v, w := in.Col[wake.U][i], in.Col[wake.V][i], in.Col[wake.W][i]
		points = append(points, grid.Point{X: in.Col[wake.Y][i], Y: in.Col[wake.Z][i]})
		s.cpt = append(s.cpt, (p+0.6*(u*u+v*v+w*w))/375)
		s.cp = append(s.cp, p/375)
	}
	lattice, _ := grid.DetectLattice(points)
	if lattice == nil {
		t.Fatalf("%s is no lattice", file)
	}
	s.lattice = lattice
	s.locator = grid.NewLocator(&grid.Mesh{Kind: grid.KindLattice, Points: points, Lattice: lattice})
	return s
}

func (s slice) at(y, z float64) (cpt, cp float64, ok bool) {
	shares, n, ok := s.locator.At(grid.Point{X: y, Y: z})
	for _, h := range shares[:n] {
		cpt += h.Weight * s.cpt[h.Sample]
		cp += h.Weight * s.cp[h.Sample]
	}
	return cpt, cp, ok
}

func shuttleRake(t *testing.T, name string) *Result {
	t.Helper()
	log, err := ReadLog(File{Path: waketest.Shared(t, "shuttle2", name+"_rake.csv")})
	if err != nil {
		t.Fatal(err)
	}
	lay, err := ReadLayout(File{Path: filepath.Join("..", "..", "..", "examples", "rake", "rake.toml")})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Reduce(context.Background(), log, lay, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The invented logs of the campus shuttle against the slices that they were made
// from. The second log has one blocked tube.
func TestShuttleLogs(t *testing.T) {
	type point struct{ y, z, rake, sigma, slice float64 }
	var surveys [2][]point
	for c, name := range []string{"bare", "fairing"} {
		r := shuttleRake(t, name)
		for _, tube := range r.Tubes {
			want := "good"
			if name == "fairing" && tube.Name == "T07" {
				want = "blocked"
			}
			if tube.State != want {
				t.Errorf("%s: %s is %s (%s)", name, tube.Name, tube.State, tube.Why)
			}
		}
		if r.Rows.WindOff != 6 || r.Rows.WindOn != 32 || r.Rows.Places != 26 || r.Rows.Repeated != 6 {
			t.Errorf("%s: rows %+v", name, r.Rows)
		}
		s := readSlice(t, waketest.Shared(t, "shuttle2", name+"_x-0.62.csv.gz"))
		cptIn, cpIn, n := 0, 0, 0
		for _, p := range r.Samples {
			cpt, cp, ok := s.at(p.Y, p.Z)
			if !ok {
				continue // inside the body
			}
			n++
			if math.Abs(p.Cpt-cpt) <= 2*p.SigmaCpt {
				cptIn++
			}
			if math.Abs(p.Cp-cp) <= 2*p.SigmaCp {
				cpIn++
			}
			surveys[c] = append(surveys[c], point{p.Y, p.Z, p.Cpt, p.SigmaCpt, cpt})
		}
		t.Logf("%s: Cpt within twice its standard uncertainty at %d of %d points (%.1f %%), Cp at %.1f %%", name, cptIn, n, 100*float64(cptIn)/float64(n), 100*float64(cpIn)/float64(n))
		if n < 390 || float64(cptIn) < 0.93*float64(n) {
			t.Errorf("%s: Cpt agrees at %d of %d points", name, cptIn, n)
		}
		if float64(cpIn) < 0.8*float64(n) {
			t.Errorf("%s: Cp between the static tubes agrees at %d of %d points", name, cpIn, n)
		}
	}
	// The shift of the centroid of 1−Cpt over the points that both have, by the rake
	// and by the slices.
	common := func(a, b []point) []point {
		return slices.DeleteFunc(slices.Clone(a), func(p point) bool {
			return !slices.ContainsFunc(b, func(q point) bool { return math.Hypot(p.y-q.y, p.z-q.z) < 1e-6 })
		})
	}
	var rakeY, sliceY, variance [2]float64
	for c := range surveys {
		list := common(surveys[c], surveys[1-c])
		var m, my, n, ny float64
		for _, p := range list {
			m += 1 - p.rake
			my += (1 - p.rake) * p.y
			n += 1 - p.slice
			ny += (1 - p.slice) * p.y
		}
		rakeY[c], sliceY[c] = my/m, ny/n
		for _, p := range list {
			v := p.sigma * (p.y - rakeY[c]) / m
			variance[c] += v * v
		}
	}
	shift, want := rakeY[0]-rakeY[1], sliceY[0]-sliceY[1]
	u := math.Sqrt(variance[0] + variance[1])
	t.Logf("inboard shift %.2f mm (expanded uncertainty %.2f mm), by the slices %.2f mm", 1000*shift, 2000*u, 1000*want)
	if !(math.Abs(shift-want) <= 2*u) || !(u < 0.002) {
		t.Errorf("inboard shift %.5f m with standard uncertainty %.5f m, %.5f m by the slices", shift, u, want)
	}
}

// Static tubes stand 20 mm inboard: moved to the total tubes' y, they agree with the
// slice there better than where they are.
func TestShuttleStaticOffset(t *testing.T) {
	r := shuttleRake(t, "bare")
	s := readSlice(t, waketest.Shared(t, "shuttle2", "bare_x-0.62.csv.gz"))
	log, err := survey.TextFile(waketest.Shared(t, "shuttle2", "bare_rake.csv"))
	if err != nil {
		t.Fatal(err)
	}
	layout, err := os.ReadFile(filepath.Join("..", "..", "..", "examples", "rake", "rake.toml"))
	if err != nil {
		t.Fatal(err)
	}
	o := mustReduce(t, []byte(log), off(layout, Static), Options{})
	miss := func(r *Result) float64 {
		var ss, n float64
		for _, p := range r.Samples {
			if _, cp, ok := s.at(p.Y, p.Z); ok {
				ss += (p.Cp - cp) * (p.Cp - cp)
				n++
			}
		}
		return math.Sqrt(ss / n)
	}
	with, without := miss(r), miss(o)
	t.Logf("Cp misses the slice by %.4f rms with interpolation, %.4f without", with, without)
	if !(with < 0.75*without) {
		t.Errorf("Cp misses the slice by %.4f rms with interpolation, %.4f without", with, without)
	}
}
