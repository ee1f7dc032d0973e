package average_test

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
	"wakeledger/wake/waketest"
)

// record averages snapshots in files.
func record(t *testing.T, names []string, opt average.Options) *average.Result {
	t.Helper()
	a, err := average.New(opt)
	if err != nil {
		t.Fatal(err)
	}
	read := func(ctx context.Context, name string) (*wake.Samples, error) {
		return survey.Read(ctx, name, survey.Options{})
	}
	if err := a.Run(context.Background(), names, 1, read, nil); err != nil {
		t.Fatal(err)
	}
	r, err := a.State().Result()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func plane(t *testing.T, r *average.Result) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := r.WritePlane(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// written is the plane file read back.
func written(t *testing.T, r *average.Result) *wake.Samples {
	t.Helper()
	b, file := plane(t, r), filepath.Join(t.TempDir(), "mean.csv")
	if err := os.WriteFile(file, b, 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := survey.Read(context.Background(), file, survey.Options{})
	if err != nil {
		t.Fatalf("%v\n%s", err, b[:min(len(b), 800)])
	}
	return s
}

// TestShuttle averages the 55 snapshots and compares with the stresses of 379 samples
// of the same run, which the solver made itself.
func TestShuttle(t *testing.T) {
	data := waketest.Shared(t, "shuttle")
	names, err := filepath.Glob(filepath.Join(data, "snapshots", "bare_*.csv.gz"))
	if err != nil || len(names) != 55 {
		t.Fatalf("%d snapshots (%v), want 55", len(names), err)
	}
	ref := &wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}
	r := record(t, names, average.Options{Reference: ref, TimeStep: 0.0291})
	mean := written(t, r)
	long, err := survey.Read(context.Background(), filepath.Join(data, "bare_x+2.91.csv.gz"), survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := map[[2]float64]int{}
	for i := range long.N {
		at[[2]float64{long.Col[wake.Y][i], long.Col[wake.Z][i]}] = i
	}
	var uu, uuLong float64
	for i := range mean.N {
		k, ok := at[[2]float64{mean.Col[wake.Y][i], mean.Col[wake.Z][i]}]
		if !ok {
			t.Fatalf("the long mean lacks the point (%g, %g)", mean.Col[wake.Y][i], mean.Col[wake.Z][i])
		}
		uu += mean.Col[wake.UU][i]
		uuLong += long.Col[wake.UU][k]
	}
	if q := uu / uuLong; !(0.85 < q && q < 1.15) {
		t.Errorf("<u'u'> is %.3f of that of the long mean", q)
	}
	if v := r.Series[0]; !(math.Abs(v.Mean-*v.MeanPlane) <= 1e-11) {
		t.Errorf("mean of the integrals %.15g, integral of the mean plane %.15g", v.Mean, *v.MeanPlane)
	}
}

// TestPlaneFile: the reader of surveys takes the plane file, passes over what it
// does not know, and a measurement of it gives the mean of the momentum integrals.
func TestPlaneFile(t *testing.T) {
	const seed, ny, nz = 21, 12, 9
	rnd := rand.New(rand.NewPCG(seed, 0))
	ref := wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}
	for _, rest := range [][]wake.Quantity{{wake.V, wake.W, wake.P}, {wake.V, wake.W, wake.Pt, wake.Cpt, wake.Cp, wake.Rho}} {
		a, err := average.New(average.Options{Reference: &ref, TimeStep: 0.02})
		if err != nil {
			t.Fatal(err)
		}
		for k := range 200 {
			s := &wake.Samples{File: "odd, \"name\"\n.csv", N: ny * nz}
			for _, q := range append([]wake.Quantity{wake.X, wake.Y, wake.Z, wake.U}, rest...) {
				s.Col[q] = make([]float64, s.N)
			}
			for i := range s.N {
				y, z := float64(i%ny)*0.1, float64(i/ny)*0.1
				s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i], s.Col[wake.U][i] = -0.5, y, z, 20+y+2*rnd.NormFloat64()
				for _, q := range rest {
					s.Col[q][i] = z + rnd.NormFloat64()
				}
				if s.Has(wake.Rho) {
					s.Col[wake.Rho][i] = 1.2
				}
			}
			if err := a.Add(k+1, s); err != nil {
				t.Fatal(err)
			}
		}
		r, err := a.State().Result()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := r.WriteSeries(&b); err != nil || bytes.Count(b.Bytes(), []byte("\n")) != 201 || !bytes.HasPrefix(b.Bytes(), []byte("number,time [s],file,drag area whole [m2]\n1,0,")) {
			t.Errorf("%v, series\n%s", err, b.Bytes())
		}
		s := written(t, r)
		_, rows, _ := bytes.Cut(plane(t, r), []byte("standard_uncertainty_of_mean_u [m/s]\n"))
		var u float64
		for row := range bytes.Lines(rows) {
			x, _ := strconv.ParseFloat(string(bytes.TrimSpace(row[bytes.LastIndexByte(row, ',')+1:])), 64)
			u += x / (ny * nz)
		}
		if want := 2 / math.Sqrt(200); !(math.Abs(u/want-1) < 0.15) {
			t.Errorf("the standard uncertainty of the mean u is %.3f m/s, want %.3f", u, want)
		}
		if s.N != ny*nz || len(s.Warnings) > 0 {
			t.Errorf("%d samples read of %d, warnings %v", s.N, ny*nz, s.Warnings)
		}
		if !s.Has(wake.U, wake.V, wake.W, wake.P, wake.UU, wake.VV, wake.WW) || s.Has(wake.Pt) || s.Has(wake.Cpt) {
			t.Errorf("read as %v", s.Source)
		}
		if len(s.Ignored) < 4 {
			t.Errorf("passed over %v, want the shear stresses and the uncertainty", s.Ignored)
		}
		m, err := measure.Take(waketest.Plane(t, s, wake.PlaneOptions{}), measure.Options{Reference: ref})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := m.Drag.Momentum.DragArea, r.Series[0].Mean; !(math.Abs(got-want) <= 1e-8*math.Abs(want)) {
			t.Errorf("seed %d: the plane file measures %.12g m2, the mean of the integrals is %.12g m2", seed, got, want)
		}
	}
}
