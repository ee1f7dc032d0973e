package wake_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// at makes samples of positions, with a u of their own.
func at(points ...[3]float64) *wake.Samples {
	s := &wake.Samples{File: "s.csv", N: len(points), LineOf: func(i int) int { return i + 2 }}
	for i, p := range points {
		for a := range 3 {
			s.Col[a] = append(s.Col[a], p[a])
		}
		s.Col[wake.U] = append(s.Col[wake.U], float64(i))
	}
	return s
}

// grid3 is nx × ny × nz points from (1, −1, 0), the last two over 3 m and 2 m.
func grid3(nx int, dx float64, ny, nz int) (out [][3]float64) {
	for i := range nx {
		for j := range ny {
			for k := range nz {
				out = append(out, [3]float64{1 + dx*float64(i), -1 + 3*float64(j)/float64(ny-1), 2 * float64(k) / float64(nz-1)})
			}
		}
	}
	return out
}

// Samples fall into the planes that they were surveyed on: stations keep apart however near
// they stand, and one traverse that strays is not two.
func TestStations(t *testing.T) {
	noisy := grid3(1, 0, 30, 20)
	staggered := grid3(1, 0, 30, 20)
	rounded := slices.Concat(grid3(1, 0, 30, 20), grid3(1, 0, 30, 20))
	doubled := slices.Concat(grid3(1, 0, 30, 20), grid3(1, 0, 30, 20))
	for i := range noisy {
		noisy[i][0] += 0.0012 * math.Sin(float64(i*i))
		staggered[i][0] += 0.003 * float64(i/20%2)
		rounded[i][0] += 1e-7
		doubled[i][0] += 0.0012 * math.Sin(float64(i*i))
	}
	for _, c := range []struct {
		name    string
		points  [][3]float64
		opt     wake.PlaneOptions
		normal  wake.Axis
		planes  int
		samples int // of the first plane's mesh
		doubt   string
	}{
		{"five stations of three rows", grid3(5, 0.5, 20, 3), wake.PlaneOptions{}, wake.AxisX, 5, 60, "several-normals"},
		{"the same by z", grid3(5, 0.5, 20, 3), wake.PlaneOptions{Normal: wake.AxisZ, NormalBy: "flag"}, wake.AxisZ, 3, 100, ""},
		{"two stations", grid3(2, 0.5, 20, 10), wake.PlaneOptions{}, wake.AxisX, 2, 200, ""},
		{"two planes normal to z", func() [][3]float64 { return grid3(30, 0.1, 20, 2) }(), wake.PlaneOptions{}, wake.AxisZ, 2, 600, ""},
		{"stations 3 mm apart", grid3(2, 0.003, 30, 20), wake.PlaneOptions{}, wake.AxisX, 2, 600, ""},
		{"three of them", grid3(3, 0.003, 30, 20), wake.PlaneOptions{}, wake.AxisX, 3, 600, ""},
		{"stations 4 mm apart", grid3(2, 0.004, 30, 20), wake.PlaneOptions{}, wake.AxisX, 2, 600, ""},
		{"a traverse with scatter", noisy, wake.PlaneOptions{}, wake.AxisX, 1, 600, ""},
		{"the same positions twice with scatter", doubled, wake.PlaneOptions{}, wake.AxisX, 1, 600, "duplicates"},
		{"a rake with tubes at two places", staggered, wake.PlaneOptions{}, wake.AxisX, 1, 600, ""},
		{"repeats but for rounding", rounded, wake.PlaneOptions{}, wake.AxisX, 1, 600, "duplicates"},
	} {
		planes, err := wake.Planes(at(c.points...), c.opt)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var doubts []string
		for _, w := range planes[0].Warnings {
			doubts = append(doubts, w.Code)
		}
		p := planes[0]
		if len(planes) != c.planes || p.Normal != c.normal || len(p.Mesh.Points) != c.samples || strings.Join(doubts, " ") != c.doubt {
			t.Errorf("%s: %d planes normal to %s, the first of %d samples, doubts %v; want %d, %s, %d, %q",
				c.name, len(planes), p.Normal, len(p.Mesh.Points), doubts, c.planes, c.normal, c.samples, c.doubt)
		}
	}
	_, err := wake.Planes(at(noisy...), wake.PlaneOptions{Normal: wake.AxisZ, NormalBy: "flag"})
	if want := "s.csv: the samples do not fall into planes normal to z within 0.0036 m; leave out --normal, or export planes normal to z"; err == nil || err.Error() != want {
		t.Errorf("a normal that the samples do not have: %v, want %s", err, want)
	}
}

// The sample that strays from a plane is blamed, not the one furthest from the mean
// along an axis.
func TestStraySample(t *testing.T) {
	flat := func(s *wake.Samples) (out [][3]float64) {
		for i := range s.N {
			out = append(out, [3]float64{s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i]})
		}
		return out
	}
	f := waketest.Gaussian(0.5, 0.2, 0, 0)
	leaning := flat(waketest.Scatter(f, -1, 1, 0, 1, 20, 12, 5))
	for i := range leaning {
		leaning[i][0] += 0.5*leaning[i][1] - 0.2*leaning[i][2]
	}
	for name, points := range map[string][][3]float64{
		"lattice": grid3(1, 0, 20, 15), "scattered": flat(waketest.Scatter(f, -1, 1, 0, 1, 20, 12, 5)), "leaning": leaning,
	} {
		for _, k := range []int{0, 57, len(points) - 1} {
			for _, off := range []float64{0.02, 1, 40, -1e5} {
				moved := slices.Clone(points)
				moved[k][0] += off
				if off < 0 {
					moved[k][1] += off // along the plane, too
				}
				_, err := wake.Planes(at(moved...), wake.PlaneOptions{})
				var e *wake.InputError
				if !errors.As(err, &e) || e.Line != k+2 || !strings.Contains(e.Text, fmt.Sprintf("sample %d at", k+1)) {
					t.Errorf("%s, sample %d off by %g m: %v", name, k+1, off, err)
				}
			}
		}
	}
}
