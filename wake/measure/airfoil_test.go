package measure_test

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// profiles reads an airfoil's wake profiles, u/U over y/c in increasing y, by station.
func profiles(t *testing.T, path string, chord float64) map[float64][][2]float64 {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[float64][][2]float64{}
	for _, r := range rows[1:] {
		var v [3]float64 // x, y, u
		for k := range v {
			if v[k], err = strconv.ParseFloat(r[k], 64); err != nil {
				t.Fatalf("%s: %q", path, r)
			}
		}
		out[v[0]] = append(out[v[0]], [2]float64{v[1] / chord, v[2]})
	}
	for _, p := range out {
		slices.SortStableFunc(p, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	}
	return out
}

// strip makes a pitot plane of unit span from the part of a profile within reach of its
// least speed. No pressure was tabulated: by Bernoulli at both ends, cp = 1 − u_e² with
// u_e² linear in between.
func strip(t *testing.T, profile [][2]float64, reach float64) *wake.Plane {
	t.Helper()
	least := slices.MinFunc(profile, func(a, b [2]float64) int { return cmp.Compare(a[1], b[1]) })
	var part [][2]float64
	for _, q := range profile {
		if math.Abs(q[0]-least[0]) < reach {
			part = append(part, q)
		}
	}
	first, last := part[0], part[len(part)-1]
	s := &wake.Samples{File: "airfoil", N: 2 * len(part)}
	for _, q := range []wake.Quantity{wake.X, wake.Y, wake.Z, wake.U, wake.P, wake.Pt} {
		s.Col[q] = make([]float64, s.N)
	}
	for k := range s.N {
		q := part[k%len(part)]
		f := (q[0] - first[0]) / (last[0] - first[0])
		p := (1 - (1-f)*first[1]*first[1] - f*last[1]*last[1]) / 2
		s.Col[wake.Y][k], s.Col[wake.Z][k] = q[0], 1+float64(k/len(part))
		s.Col[wake.U][k], s.Col[wake.P][k], s.Col[wake.Pt][k] = q[1], p, p+q[1]*q[1]/2
	}
	return plane(t, s, grid.Nodes)
}

// Profiles behind an airfoil from the NASA Turbulence Modeling Resource: a flow solver's
// on its finest grid, whose surface-integrated drag coefficient is 0.010069, and A.
// Nakayama's hot-wire traverses, J. Fluid Mech. 160 (1985) 155, Model A. Jones's
// coefficients and those of the velocity alone were worked out from the tables with the
// trapezoid rule by another program. Jones holds from about one chord on, where the
// velocity alone is 5 to 70 % high.
func TestAirfoilWakes(t *testing.T) {
	type station struct {
		x, jones, deficit float64
	}
	for _, c := range []struct {
		file         string
		chord, reach float64
		stations     []station
	}{
		{"solver.csv", 1, 0.08, []station{
			{1.05, 0.01328, 0.025406}, {1.2, 0.01056, 0.018249}, {1.8, 0.01007, 0.01213}, {2.19, 0.01005, 0.011243}, {3.0, 0.01005, 0.01057},
		}},
		{"traverses.csv", 24, math.Inf(1), []station{
			{1.01, 0.01238, 0.01948}, {1.05, 0.01130, 0.01900}, {1.2, 0.01140, 0.01417}, {1.4, 0.01110, 0.01317},
			{1.8, 0.01032, 0.01361}, {2.19, 0.01072, 0.01521}, {3.0, 0.01097, 0.01695},
		}},
	} {
		all := profiles(t, waketest.Shared(t, "airfoil_wake", c.file), c.chord)
		var sum, square float64
		for _, s := range c.stations {
			profile := all[s.x]
			if profile == nil {
				t.Fatalf("%s has no station %g", c.file, s.x)
			}
			d := run(t, strip(t, profile, c.reach), measure.Options{Floor: "none"}).Drag
			near(t, fmt.Sprintf("%s %g: Jones", c.file, s.x), d.Jones.DragArea, s.jones, 2e-5)
			near(t, fmt.Sprintf("%s %g: velocity only", c.file, s.x), d.VelocityOnly.DragArea, s.deficit, 2e-5)
			if d.Headline != "jones" {
				t.Errorf("headline %q", d.Headline)
			}
			sum += d.Jones.DragArea
			square += d.Jones.DragArea * d.Jones.DragArea
		}
		if n := float64(len(c.stations)); c.file == "traverses.csv" {
			mean := sum / n
			near(t, "mean over the stations", mean, 0.01117, 1e-5)
			near(t, "scatter of the stations", math.Sqrt((square-n*mean*mean)/(n-1))/mean, 0.058, 1e-3)
		}
	}
}
