package vtk

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
)

// sums are the library's order-knowing sums of a list of numbers, see
// testdata/gen.py.
type sums struct {
	Sum, Scale float64
	Count, Nan int
	Components int
}

func sumsOf[T float64 | int32](v []T) sums {
	var s sums
	for k, x := range v {
		f := float64(x)
		if f != f {
			s.Nan++
			continue
		}
		s.Sum += f * math.Cos(0.37*float64(k))
		s.Scale += math.Abs(f)
	}
	s.Count = len(v)
	return s
}

type truth struct {
	Points       sums
	Corners      sums
	Sizes        sums
	HiddenPoints int             `json:"hidden points"`
	HiddenCells  int             `json:"hidden cells"`
	PointArrays  map[string]sums `json:"point arrays"`
	CellArrays   map[string]sums `json:"cell arrays"`
	Area, Lin    float64
	CellLin      float64 `json:"cell lin"`
}

type truthFile struct {
	File, Shape string
	Digits      float64
	Pieces      int
	Blocks      []string
	Unplaced    bool
}

// checkTruth reads all files that dir/truth.json lists and compares them with the
// library's account of the same data.
func checkTruth(t *testing.T, dir string) {
	t.Helper()
	var all struct {
		Shapes map[string]truth
		Files  []truthFile
	}
	b, err := os.ReadFile(filepath.Join(dir, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatal(err)
	}
	if len(all.Files) == 0 {
		t.Fatal("truth.json lists no files")
	}
	for _, f := range all.Files {
		t.Run(f.File, func(t *testing.T) {
			d, err := readFile(filepath.Join(dir, f.File))
			if err != nil {
				t.Fatal(err)
			}
			once(d)
			var sum truth // of blocks that cover one window
			for _, s := range f.Blocks {
				of := all.Shapes[s]
				sum.Area, sum.Lin, sum.CellLin = sum.Area+of.Area, sum.Lin+of.Lin, sum.CellLin+of.CellLin
			}
			if f.Blocks != nil {
				compareIntegrals(t, d, sum, f)
				return
			}
			want, ok := all.Shapes[f.Shape]
			if !ok {
				t.Fatalf("no truth for %s", f.Shape)
			}
			compareTruth(t, d, want, f)
		})
	}
}

// once takes out the copies that the library writes of cells in several pieces of a grid:
// those with the corners of an earlier one.
func once(d *Dataset) {
	seen := map[string]bool{}
	var keep []int32
	cells := Polygons{Start: []int32{0}}
	for e := range d.Cells.Len() {
		var places []string
		for _, id := range d.Cells.Corners(e) {
			places = append(places, fmt.Sprint(d.Points[3*id:3*id+3]))
		}
		slices.Sort(places)
		key := fmt.Sprint(places)
		if seen[key] {
			continue
		}
		seen[key] = true
		keep = append(keep, int32(e))
		cells.Index = append(cells.Index, d.Cells.Corners(e)...)
		cells.Start = append(cells.Start, int32(len(cells.Index)))
	}
	d.Cells = cells
	for k := range d.CellArrays {
		pick(&d.CellArrays[k], keep)
	}
}

func readFile(name string) (*Dataset, error) {
	b, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	return Read(name, b, func(rel string) ([]byte, error) {
		return os.ReadFile(filepath.Join(filepath.Dir(name), filepath.FromSlash(rel)))
	}, nil)
}

func compareTruth(t *testing.T, d *Dataset, want truth, f truthFile) {
	t.Helper()
	check := func(what string, got, want sums, digits float64) {
		t.Helper()
		if got.Count != want.Count || got.Nan != want.Nan {
			t.Errorf("%s: %d values with %d NaN, want %d with %d", what, got.Count, got.Nan, want.Count, want.Nan)
		}
		if !(math.Abs(got.Sum-want.Sum) <= digits*want.Scale) {
			t.Errorf("%s: weighted sum %.17g, want %.17g within %g of %g", what, got.Sum, want.Sum, digits, want.Scale)
		}
	}
	if f.Pieces <= 1 { // pieces number their points apart
		if n := count(d.Points); n != 3*want.HiddenPoints {
			t.Errorf("%d coordinates are left out, want 3 of %d points", n, want.HiddenPoints)
		} else if n == 0 && !f.Unplaced {
			check("points", sumsOf(d.Points), want.Points, f.Digits)
		}
		if want.HiddenCells == 0 {
			check("corners", sumsOf(d.Cells.Index), want.Corners, 1e-13)
		}
		if len(d.PointArrays) != len(want.PointArrays) {
			t.Errorf("%d point arrays, want %d", len(d.PointArrays), len(want.PointArrays))
		}
		for name, w := range want.PointArrays {
			a := find(d.PointArrays, name)
			if a == nil {
				t.Errorf("no point array %q", name)
				continue
			}
			if a.Components != w.Components {
				t.Errorf("point array %q has %d components, want %d", name, a.Components, w.Components)
			}
			if want.HiddenPoints == 0 {
				check("point array "+name, sumsOf(a.Values), w, math.Max(f.Digits, 1e-13))
			}
		}
	}
	if n := want.Sizes.Count - want.HiddenCells; d.Cells.Len() != n {
		t.Errorf("%d polygons, want %d", d.Cells.Len(), n)
	}
	if want.HiddenCells == 0 { // the library lists what is hidden too
		sizes := make([]int32, d.Cells.Len())
		for e := range sizes {
			sizes[e] = int32(len(d.Cells.Corners(e)))
		}
		check("sizes", sumsOf(sizes), want.Sizes, 1e-13)
		if len(d.CellArrays) != len(want.CellArrays) {
			t.Errorf("%d cell arrays, want %d", len(d.CellArrays), len(want.CellArrays))
		}
		for name, w := range want.CellArrays {
			a := find(d.CellArrays, name)
			if a == nil {
				t.Errorf("no cell array %q", name)
				continue
			}
			check("cell array "+name, sumsOf(a.Values), w, math.Max(f.Digits, 1e-13))
		}
	}
	compareIntegrals(t, d, want, f)
	if find(d.PointArrays, "vel <m/s> 100%") != nil {
		got := strings.Join(find(d.PointArrays, "vel <m/s> 100%").ComponentNames, "|")
		if got != "U||W up" && !f.Unplaced && !strings.HasSuffix(f.File, ".vtk") {
			t.Errorf("component names %q", got)
		}
	}
}

func compareIntegrals(t *testing.T, d *Dataset, want truth, f truthFile) {
	t.Helper()
	area, lin, cell := integrals(d)
	// float32 points cost 1e-8; text of a double has at least 6 digits.
	tol := math.Max(1e-6, f.Digits)
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"area", area, want.Area}, {"integral of lin", lin, want.Lin}, {"integral of cell lin", cell, want.CellLin}} {
		if !(math.Abs(c.got-c.want) <= tol*math.Abs(c.want)) {
			t.Errorf("%s: %.12g, want %.12g", c.what, c.got, c.want)
		}
	}
	if want.HiddenCells == 0 && f.Blocks == nil {
		// The whole window: 2.4 × 1.2 m with the centre (0.2, 0.6), in closed form.
		const a, l = 2.4 * 1.2, 2.4 * 1.2 * (1 + 2*0.2 + 3*0.6)
		if !(math.Abs(area-a) <= tol*a && math.Abs(lin-l) <= tol*l) {
			t.Errorf("area %.12g and integral of lin %.12g, want %g and %g", area, lin, a, l)
		}
	}
}

func count(v []float64) (nan int) {
	for _, x := range v {
		if x != x {
			nan++
		}
	}
	return nan
}

// integrals adds up the polygons, each cut into triangles from its first
// corner: area, point array "lin" (exact, since it is linear), cell array "cell
// lin".
func integrals(d *Dataset) (area, lin, cell float64) {
	pl, cl := find(d.PointArrays, "lin"), find(d.CellArrays, "cell lin")
	for e := range d.Cells.Len() {
		c := d.Cells.Corners(e)
		for k := 2; k < len(c); k++ {
			a, b, c := c[0], c[k-1], c[k]
			var u, v [3]float64
			for i := range u {
				u[i] = d.Points[3*b+int32(i)] - d.Points[3*a+int32(i)]
				v[i] = d.Points[3*c+int32(i)] - d.Points[3*a+int32(i)]
			}
			n := [3]float64{u[1]*v[2] - u[2]*v[1], u[2]*v[0] - u[0]*v[2], u[0]*v[1] - u[1]*v[0]}
			s := math.Sqrt(n[0]*n[0]+n[1]*n[1]+n[2]*n[2]) / 2
			area += s
			if pl != nil {
				lin += s * (pl.Values[a] + pl.Values[b] + pl.Values[c]) / 3
			}
			if cl != nil {
				cell += s * cl.Values[e]
			}
		}
	}
	return area, lin, cell
}

// TestFixedFiles reads the files kept in testdata, one or more for each encoding.
func TestFixedFiles(t *testing.T) {
	checkTruth(t, filepath.Join("testdata", "fixed"))
	names, err := filepath.Glob(filepath.Join("testdata", "fixed", "*"))
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(names, " ")
	parts := []string{"-ascii-", "-h32-", "-h64-", "-le-", "-be-", "-id32.", "-id64.", ".vtp", ".vtu", ".vts", ".vtr", ".vti", ".pvts", ".vtm",
		"-v42-ascii", "-v42-binary", "-v51-ascii", "-v51-binary"}
	for _, mode := range []string{"binary", "raw", "base64"} {
		for _, comp := range []string{"none", "zlib", "lz4", "lzma"} {
			parts = append(parts, "-"+mode+"-"+comp+"-")
		}
	}
	for _, p := range parts {
		if !strings.Contains(all, p) {
			t.Errorf("no file with %q in its name", p)
		}
	}
}

// TestLibrary has the library write every shape in every encoding, here and now.
func TestLibrary(t *testing.T) {
	python := gridtest.Python(t, "vtk", "python3-vtk9")
	for _, set := range []string{"all", "large"} {
		t.Run(set, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			cmd := exec.Command(python, filepath.Join("testdata", "gen.py"), set, dir)
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			checkTruth(t, dir)
		})
	}
}
