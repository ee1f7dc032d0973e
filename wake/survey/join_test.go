package survey

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// write puts files into a fresh folder and returns it.
func write(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// Two files of 2000 points, the second one in another order, in millimetres with
// the rounding of seven digits, and some points twice: every value finds its
// point.
func TestJoinPermuted(t *testing.T) {
	const n, seed = 2000, 5
	rng := rand.New(rand.NewPCG(seed, 1))
	var one, two strings.Builder
	one.WriteString("x,y,z,u,v,w\n")
	two.WriteString("y [mm],p [kPa],x [mm],z [mm]\n")
	y, z := make([]float64, n), make([]float64, n)
	for i := range n {
		y[i], z[i] = 4*rng.Float64()-2, 2*rng.Float64()
		if i%50 == 1 {
			y[i], z[i] = y[i-1], z[i-1]
		}
		fmt.Fprintf(&one, "2.5,%.17g,%.17g,%d,%.17g,1\n", y[i], z[i], i+20, y[i])
	}
	for _, i := range rng.Perm(n) {
		fmt.Fprintf(&two, "%.7g,%.17g,2500,%.7g\n", 1000*y[i], 3*y[i]-z[i], 1000*z[i])
	}
	dir := write(t, map[string]string{"vel.csv": one.String(), "p.csv": two.String()})
	for _, name := range []string{"vel.csv+p.csv", "vel.csv+" + filepath.Join(dir, "p.csv")} {
		s, err := Read(context.Background(), filepath.Join(dir, name), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if s.N != n || s.File != filepath.Join(dir, name) {
			t.Errorf("%d samples of %s", s.N, s.File)
		}
		for i := range n {
			if want := 1000 * (3*y[i] - z[i]); math.Abs(s.Col[wake.P][i]-want) > 1e-9*math.Abs(want)+1e-9 || s.Col[wake.U][i] != float64(i+20) {
				t.Fatalf("seed %d: sample %d has p = %g and u = %g, want %g and %d", seed, i, s.Col[wake.P][i], s.Col[wake.U][i], want, i+20)
			}
		}
		if s.Source[wake.P].Unit != "kPa" || s.Source[wake.Y].Unit != "" {
			t.Errorf("sources %+v, %+v", s.Source[wake.P], s.Source[wake.Y])
		}
	}
}

const (
	joinU = "x,y,z,u\n1,0,0,9\n1,1,0,8\n1,0,1,7\n1,1,1,6\n"
	joinP = "x,y,z,p,q\n1,1,1,4,0\n1,0,1,3,0\n1,1,0,2,0\n1,0,0,1,0\n"
)

func TestJoinFaults(t *testing.T) {
	dir := write(t, map[string]string{
		"u": joinU, "p": joinP, "moved": strings.Replace(joinP, "1,1,0,2", "1,1,0.01,2", 1), "short": "x,y,z,p\n1,0,0,1\n1,1,0,2\n1,0,1,3\n",
		"gap": strings.Replace(joinP, "1,1,0,2", "1,1,0,nan", 1), "a+b": joinU, "a": joinU, "b": joinP, "b+c": joinP, "c": joinP, "both": "x,y,z,u,p\n1,0,0,1,1\n1,1,0,2,1\n1,0,1,3,1\n1,1,1,3,1\n",
	})
	for _, c := range []struct {
		name string
		opt  Options
		want string
	}{
		{"u+moved", Options{}, "u:3: the point (1, 1, 0) has no partner within 2.8e-06 m in moved; join files of the same points only, in one unit and one frame"},
		{"u+short", Options{}, "short: has 3 points, u has 4; join files of the same points only"},
		{"u+none", Options{}, "u+none: cannot be opened: there is no such file, and it cannot be cut at '+' into files that are there; check the names; the second file is looked for as given and beside the first"},
		{"u+p", Options{Columns: columns{wake.W: "absent"}}, `u:1: --column w="absent": no column has that name; the columns are "x", "y", "z", "u"`},
	} {
		_, err := Read(context.Background(), filepath.Join(dir, c.name), c.opt)
		if err == nil || strings.ReplaceAll(err.Error(), dir+string(filepath.Separator), "") != c.want {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
	}
	// A name with a plus sign that is there is that file; a column is asked for in
	// the file that has it; a row without pressure goes; the first file's u counts.
	s, err := Read(context.Background(), filepath.Join(dir, "a+b"), Options{})
	if err != nil || s.Col[wake.P] != nil || s.N != 4 {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = Read(context.Background(), filepath.Join(dir, "u+p"), Options{Columns: columns{wake.P: "p [m2/s2]"}, Density: 1.25})
	if err != nil || s.Col[wake.P][1] != 2.5 || len(s.Warnings) != 1 || s.Warnings[0].Code != "kinematic-pressure" {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = Read(context.Background(), filepath.Join(dir, "u+gap"), Options{})
	if err != nil || s.N != 3 || s.Dropped != 1 || s.Col[wake.U][1] != 7 || s.Col[wake.P][1] != 3 || s.LineOf(1) != 4 {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = Read(context.Background(), filepath.Join(dir, "u+both"), Options{})
	if err != nil || s.Col[wake.U][0] != 9 || len(s.Warnings) != 1 || s.Warnings[0].Code != "joined-twice" {
		t.Errorf("%+v, %v", s, err)
	}
	// Parts in two formats, the second with the polygons.
	s, err = Read(context.Background(), filepath.Join(dir, "u+p+b"), Options{})
	if err != nil || s.Col[wake.P][3] != 4 {
		t.Errorf("%+v, %v", s, err)
	}
}

// FuzzJoin: two files of whatever bytes are joined to samples of one length, finite
// where the reader's are, or refused in one line.
func FuzzJoin(f *testing.F) {
	seeds := waketest.Corpus(f, "join", "velocity.csv", "pressure.csv", "plane.v*", "*.csv")
	for i := range seeds {
		f.Add(seeds[i], seeds[(i+1)%len(seeds)])
		f.Add(seeds[len(seeds)-1-i], seeds[i])
	}
	f.Fuzz(func(t *testing.T, a, b []byte) {
		dir := write(t, map[string]string{"a": string(a), "b": string(b)})
		s, err := Read(context.Background(), filepath.Join(dir, "a+b"), Options{})
		if err != nil {
			var in *wake.InputError
			if !errors.As(err, &in) || strings.ContainsAny(err.Error(), "\n\r") {
				t.Fatalf("%T: %q", err, err)
			}
			return
		}
		if s.N < 0 || s.N > len(a)+len(b) {
			t.Fatalf("%d samples of %d and %d bytes", s.N, len(a), len(b))
		}
		if err := sound(s); err != nil {
			t.Fatal(err)
		}
	})
}

// Two samples at one place with values of their own, as the sides of a thin plate
// have: the first of the one file belongs to the first of the other, and none is
// given away twice.
func TestJoinTwice(t *testing.T) {
	for name, c := range map[string]struct {
		u, p string
		want []float64
	}{
		// u of 2 and 3 are at (1, 0), so are p of 5 and 6.
		"none at its number": {"1,0,0,1\n1,1,0,2\n1,1,0,3\n1,0,1,4\n1,1,1,5\n", "1,1,0,5\n1,0,0,4\n1,1,1,8\n1,1,0,6\n1,0,1,7\n", []float64{4, 5, 6, 7, 8}},
		"one at its number":  {"1,1,0,2\n1,0,0,1\n1,1,0,3\n1,0,1,4\n1,1,1,5\n", "1,1,0,5\n1,0,1,7\n1,1,1,8\n1,1,0,6\n1,0,0,4\n", []float64{5, 4, 6, 7, 8}},
	} {
		dir := write(t, map[string]string{"u": "x,y,z,u\n" + c.u, "p": "x,y,z,p\n" + c.p})
		s, err := Read(context.Background(), filepath.Join(dir, "u+p"), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(s.Col[wake.P], c.want) {
			t.Errorf("%s: p = %v, want %v", name, s.Col[wake.P], c.want)
		}
	}
}
