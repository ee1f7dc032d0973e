package force

import (
	"compress/gzip"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// write puts text into a file of a new folder.
func write(t *testing.T, name, text string) File {
	t.Helper()
	f, err := os.Create(filepath.Join(t.TempDir(), name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var w io.WriteCloser = f
	if strings.HasSuffix(name, ".gz") {
		w = gzip.NewWriter(f)
		defer w.Close()
	}
	io.WriteString(w, text)
	return File{f.Name(), name}
}

// TestSimulatedRecords writes 200 histories of coefficients of a known mean as a solver
// does, in two packed files with a comment header: a start-up that dies away, then a
// first-order autoregressive series; the second file begins before the first ends. Each
// mean is within 0.1 % of the known one; u is within 30 % of what the means scatter by, on
// the mean and in nine of ten.
func TestSimulatedRecords(t *testing.T) {
	const seed, runs, n = 8, 200, 3000
	const known, area, rho, sd, step = 0.78, 2.58, 0.8, 0.003, 0.002
	r := rand.New(rand.NewPCG(seed, 0))
	var means, us []float64
	for run := range runs {
		var text [2]strings.Builder
		for k := range text {
			fmt.Fprint(&text[k], "# history of the shuttle\n# time [s]\tC_D\tC_L\n")
		}
		v := r.NormFloat64()
		for i := range n {
			cd := known*(1+0.6*math.Exp(-float64(i)/40)) + sd*v
			v = rho*v + math.Sqrt(1-rho*rho)*r.NormFloat64()
			row := "%.3f\t%.6f\t0.1\n"
			if i < 1600 {
				// What the second file replaces is wrong.
				fmt.Fprintf(&text[0], row, step*float64(i), cd+map[bool]float64{true: 0.2}[i >= 1500])
			}
			if i >= 1500 {
				fmt.Fprintf(&text[1], row, step*float64(i), cd)
			}
		}
		var files []File
		for k, name := range []string{"b.dat", "a.dat.gz"} {
			files = append(files, write(t, name, text[k].String()))
		}
		m, err := Read(files, Options{Dynamic: 375, Area: area})
		if err != nil {
			t.Fatal(err)
		}
		if m.StartUp == nil || m.StartUp.Rule != "found" || !(100 < m.StartUp.Values && m.StartUp.Values < 800) {
			t.Fatalf("seed %d, run %d: start-up %+v", seed, run, m.StartUp)
		}
		if !(math.Abs(m.TimeMean.Mean/(known*area)-1) < 1e-3) {
			t.Errorf("seed %d, run %d: mean %.6f m², %.6f m² is known", seed, run, m.TimeMean.Mean, known*area)
		}
		means = append(means, m.TimeMean.Mean)
		if m.Standard != nil {
			us = append(us, *m.Standard)
		}
	}
	truth := uncertainty.NewSample(means).SD
	on := uncertainty.NewSample(us).Mean
	within := 0
	for _, u := range us {
		if math.Abs(u/truth-1) < 0.3 {
			within++
		}
	}
	t.Logf("%d of %d judged; means scatter by %.2e m², u is %.2e m² on the mean, within 30 %% in %d; bias %.1e", len(us), runs, truth, on, within, uncertainty.NewSample(means).Mean/(known*area)-1)
	if len(us) < 9*runs/10 || !(math.Abs(on/truth-1) < 0.15) || within < 8*len(us)/10 {
		t.Errorf("seed %d: u is not that of the means", seed)
	}
}

// TestStartUpFalseAlarm: of 1,000 steady records, three at most lose a start-up.
func TestStartUpFalseAlarm(t *testing.T) {
	const seed, runs = 5, 1000
	r := rand.New(rand.NewPCG(seed, 0))
	index := make([]int64, 600)
	for i := range index {
		index[i] = int64(i)
	}
	for _, rho := range []float64{0, 0.9} {
		cut := 0
		for range runs {
			x := make([]float64, len(index))
			v := r.NormFloat64()
			for i := range x {
				x[i] = v
				v = rho*v + math.Sqrt(1-rho*rho)*r.NormFloat64()
			}
			if findStart(index, x) > 0 {
				cut++
			}
		}
		t.Logf("ρ = %g: %d", rho, cut)
		if cut > 3 {
			t.Errorf("seed %d, ρ = %g: %d steady records are cut", seed, rho, cut)
		}
	}
}

// TestNoStartUp: neither a spike within a steady record nor a change that leaves no steady half
// is a start-up; values far off at the beginning are.
func TestNoStartUp(t *testing.T) {
	const seed = 6
	r := rand.New(rand.NewPCG(seed, 0))
	for name, c := range map[string]struct {
		of          func(i int) float64
		least, most int
	}{
		"a spike":      {func(i int) float64 { return map[bool]float64{true: 1000}[i == 150] }, 0, 0},
		"two spikes":   {func(i int) float64 { return map[bool]float64{true: 1000}[i == 60 || i == 250] }, 0, 0},
		"no end of it": {func(i int) float64 { return 100 * math.Exp(-float64(i)/200) }, 0, 0},
		"a start-up":   {func(i int) float64 { return 100 * math.Exp(-float64(i)/20) }, 60, 150},
		"first values": {func(i int) float64 { return map[bool]float64{true: 1000}[i < 2] }, 2, 20},
	} {
		index, x := make([]int64, 600), make([]float64, 600)
		for i := range x {
			index[i], x[i] = int64(i), c.of(i)+r.NormFloat64()
		}
		if n := findStart(index, x); n < c.least || n > c.most {
			t.Errorf("seed %d, %s: %d values are left out, %d to %d are expected", seed, name, n, c.least, c.most)
		}
	}
}

// TestSpacing: missing rows leave gaps, uneven steps are interpolated and said.
func TestSpacing(t *testing.T) {
	rows := func(at func(i int) float64) string {
		var b strings.Builder
		for i := range 200 {
			fmt.Fprintf(&b, "%.9f %.9f\n", at(i), 375*(1+0.01*math.Sin(at(i))))
		}
		return b.String()
	}
	for _, c := range []struct {
		name string
		at   func(i int) float64
		step float64
		code string
	}{
		{"even", func(i int) float64 { return 0.1 * float64(i) }, 0.1, ""},
		{"a gap", func(i int) float64 { return 0.1 * float64(i+i/100*50) }, 0.1, ""},
		{"growing", func(i int) float64 { return 0.1 * math.Pow(float64(i), 1.3) }, 0.1 * math.Pow(199, 1.3) / 199, "force-steps"},
	} {
		zero := 0.0
		m, err := Read([]File{write(t, "f", rows(c.at))}, Options{Dynamic: 375, Start: &zero})
		if err != nil {
			t.Fatal(err)
		}
		said := slices.ContainsFunc(m.Warnings, func(w wake.Warning) bool { return w.Code == "force-steps" })
		if math.Abs(m.Step/c.step-1) > 1e-9 || said != (c.code != "") || math.Abs(m.To-c.at(199)) > 1e-6 {
			t.Errorf("%s: step %g, to %g, %v", c.name, m.Step, m.To, m.Warnings)
		}
	}
}

// TestParts: groups of columns, what is left of the total, and what is refused.
func TestParts(t *testing.T) {
	var b strings.Builder
	b.WriteString("time [s],drag [N],body [N],front wheels [N],rear wheels [N],lift [N]\n")
	for i := range 40 {
		fmt.Fprintf(&b, "%d,%g,%g,%g,%g,9\n", i, 100.0, 60+float64(i%2), 20-float64(i%2), 10.0)
	}
	f := write(t, "force.csv.gz", b.String())
	for _, c := range []struct {
		groups []Group
		want   string
	}{
		{nil, "body 0.605 front wheels 0.195 rear wheels 0.1 rest 0.1"},
		{[]Group{{"wheels", []string{"Rear wheels", "front wheels"}}}, "wheels 0.295 body 0.605 rest 0.1"},
		{[]Group{{"wheels", []string{"tyres"}}}, `force.csv.gz: the record has no column "tyres" of the part "wheels" among "body", "front wheels", "rear wheels"; name the columns as the record does, without units`},
		{[]Group{{"a", []string{"body"}}, {"b", []string{"body"}}}, `force.csv.gz: the column "body" is in two parts; give each column to one part`},
	} {
		m, err := Read([]File{f}, Options{Dynamic: 100, Parts: c.groups})
		got := fmt.Sprint(err)
		if err == nil {
			var words []string
			for _, p := range m.Parts {
				words = append(words, fmt.Sprintf("%s %.3g", p.Name, p.Mean))
			}
			got = strings.Join(words, " ")
		}
		if got != c.want {
			t.Errorf("%v:\n got %s\nwant %s", c.groups, got, c.want)
		}
	}
	other := write(t, "other.csv", "time [s],drag [N]\n50,1\n51,2\n")
	if _, err := Read([]File{other, f}, Options{Dynamic: 100}); err == nil || !strings.Contains(err.Error(), "other.csv: the columns are") {
		t.Errorf("files of other columns: %v", err)
	}
}

// TestShuttleRecords reads the records of the second computation of the shuttle, by part:
// the means are those of its README, and the parts sum to the total.
func TestShuttleRecords(t *testing.T) {
	dir := waketest.Shared(t, "shuttle2")
	for name, want := range map[string][]float64{
		"bare": {2.1436, 1.561, 0.448, 0.135, 0}, "fairing": {2.0794, 1.658, 0.260, 0.182, -0.022},
		"lip": {2.1547, 1.558, 0.359, 0.101, 0.136}, "flare": {2.2475, 1.526, 0.278, 0.099, 0.345}, "bare2": {2.1438, 1.558, 0.447, 0.139, 0},
	} {
		m, err := Read([]File{{filepath.Join(dir, name+"_force.csv"), name}}, Options{Dynamic: 375})
		if err != nil {
			t.Fatal(err)
		}
		if m.StartUp != nil || len(m.Parts) != 4 || m.Standard == nil || m.N != 2220 || math.Abs(m.TimeMean.Mean-want[0]) > 6e-5 || m.Total != `column "drag"` {
			t.Errorf("%s: %.5f m² from %d values, start-up %+v, %d parts, %s", name, m.TimeMean.Mean, m.N, m.StartUp, len(m.Parts), m.Total)
			continue
		}
		line := fmt.Sprintf("%s: %.4f ± u %.4f m², T_i %.3g s, %d blocks;", name, m.TimeMean.Mean, *m.Standard, m.ScaleSeconds, len(m.Blocks))
		sum := 0.0
		for k, p := range m.Parts {
			sum += p.Mean
			if math.Abs(p.Mean-want[k+1]) > 7e-4 {
				t.Errorf("%s, %s: %.4f m², want %.3f", name, p.Name, p.Mean, want[k+1])
			}
			u := "not judged, " + p.Doubt
			if p.Standard != nil {
				u = fmt.Sprintf("%.4f", *p.Standard)
			}
			line += fmt.Sprintf(" %s %.4f (%s)", p.Name, p.Mean, u)
		}
		t.Log(line)
		if math.Abs(sum-m.TimeMean.Mean) > 3e-5 {
			t.Errorf("%s: parts sum to %.6f m², the total is %.6f m²", name, sum, m.TimeMean.Mean)
		}
	}
}
