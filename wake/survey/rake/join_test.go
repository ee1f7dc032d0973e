package rake

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wakeledger/wake/waketest"
)

// partLog keeps, of an invented log, the wind-off rows and those with the traverse from
// lo to hi, mm, and multiplies the tubes' readings by gain.
func partLog(t *testing.T, name string, k waketest.Rake, lo, hi, gain float64) (*Log, []byte) {
	t.Helper()
	text, layout, _ := k.Log()
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	for i, row := range rows {
		if i > 0 {
			y, _ := strconv.ParseFloat(row[1], 64)
			q, _ := strconv.ParseFloat(row[2], 64)
			if q > 100 && !(lo <= y && y <= hi) {
				continue
			}
			for c := 4; c < len(row) && q > 100; c++ {
				x, _ := strconv.ParseFloat(row[c], 64)
				row[c] = strconv.FormatFloat(gain*x, 'g', -1, 64)
			}
		}
		w.Write(row)
	}
	w.Flush()
	log, err := ParseLog(name, b.String())
	if err != nil {
		t.Fatal(err)
	}
	return log, layout
}

// Two logs that each hold a part of a plane, with zeros of their own and a tube blocked
// in one of them, give the closed-form drag together, and what they share is averaged.
func TestJoin(t *testing.T) {
	const sigma, eps = 0.02, 0.5
	want := 2 * math.Pi * sigma * sigma * eps * (2 - eps)
	a := wakeRake(eps)
	a.Step, a.Blocked = 0.01, 4
	b := a
	b.Seed, b.Blocked = 99, 0
	first, layout := partLog(t, "a.csv", a, -1000, 20, 1)
	second, _ := partLog(t, "b.csv", b, -20, 1000, 1)
	lay, err := ParseLayout("rake.toml", append(layout, constantLaw...))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Reduce(context.Background(), []*Log{first, second}, lay, Options{Worth: true})
	if err != nil {
		t.Fatal(err)
	}
	// 21 × 21 places, of which five columns are in both.
	if r.Counts.Kept != 21*21 || r.Log != "a.csv+b.csv" || !slices.Equal(r.Logs, []string{"a.csv", "b.csv"}) {
		t.Fatalf("%d samples of %s", r.Counts.Kept, r.Log)
	}
	if d, u, _ := dragOf(t, r); !(math.Abs(d-want) <= 2*u) || !(u < 0.02*want) {
		t.Errorf("drag %.7f m2, standard %.7f, closed form %.7f", d, u, want)
	}
	for _, tube := range r.Tubes {
		state := "good"
		if tube.Name == "T04" && tube.Log == "a.csv" {
			state = "blocked"
		}
		if tube.State != state {
			t.Errorf("%s of %s is %s (%s)", tube.Name, tube.Log, tube.State, tube.Why)
		}
	}
	for _, s := range r.Samples {
		column := int(math.Round(s.Y * 100))
		n := 1
		if math.Abs(float64(column)) <= 2 {
			n = 2
		}
		if column%5 == 0 {
			n *= 2 // every fifth place is logged twice
		}
		if s.Readings != n {
			t.Fatalf("%d readings at y = %g, %d are expected", s.Readings, s.Y, n)
		}
	}
	if hasCode(r, "logs-disagree") || hasCode(r, "logs-apart") {
		t.Errorf("%v", r.Warnings)
	}
	step := r.Steps[slices.IndexFunc(r.Steps, func(s Step) bool { return s.Name == Repeats && s.Log == "" })]
	// Noise of 0.0005 in either log, and zeros known to about 0.0004.
	if !(0.0005 < step.Size && step.Size < 0.002) || !strings.HasPrefix(step.Text, "105 pairs") {
		t.Errorf("%+v", step)
	}
	if len(r.Worth) < 6 || r.Worth[0].Name != Zero {
		t.Errorf("worth %+v", r.Worth)
	}
	strips, off := r.Strips()
	if len(strips[0].Values) != first.Rows()+second.Rows() || len(off) != len(strips[0].Values) || strips[3].State != "blocked" {
		t.Errorf("%d rows in the strips, %d in the logs", len(strips[0].Values), first.Rows()+second.Rows())
	}
	// One log's pressures 2 % high: it shows where they meet, and the uncertainty holds
	// the truth all the same.
	second, _ = partLog(t, "b.csv", b, -20, 1000, 1.02)
	r, err = Reduce(context.Background(), []*Log{first, second}, lay, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if d, u, _ := dragOf(t, r); !hasCode(r, "logs-disagree") || !(math.Abs(d-want) <= 2*u) || !(math.Abs(d/want-1) > 0.05) {
		t.Errorf("%.7f m2, standard %.7f, closed form %.7f: %v", d, u, want, r.Warnings)
	}
	// Nothing shared.
	second, _ = partLog(t, "b.csv", b, 30, 1000, 1)
	r, err = Reduce(context.Background(), []*Log{first, second}, lay, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !hasCode(r, "logs-apart") || r.Counts.Kept != 21*21 {
		t.Errorf("%d samples, %v", r.Counts.Kept, r.Warnings)
	}
}

// Joining a log with itself changes no sample and halves the variance of its scatter.
func TestJoinWithItself(t *testing.T) {
	k := wakeRake(0.5)
	k.Step = 0.02
	log, layout := partLog(t, "a.csv", k, -1000, 1000, 1)
	lay, err := ParseLayout("rake.toml", append(layout, constantLaw...))
	if err != nil {
		t.Fatal(err)
	}
	one, err := Reduce(context.Background(), []*Log{log}, lay, Options{})
	if err != nil {
		t.Fatal(err)
	}
	two, err := Reduce(context.Background(), []*Log{log, log}, lay, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(one.Samples) != len(two.Samples) {
		t.Fatalf("%d samples and %d", len(one.Samples), len(two.Samples))
	}
	for i, s := range one.Samples {
		o := two.Samples[i]
		if !(math.Abs(s.Cpt-o.Cpt) < 1e-12) || !(math.Abs(s.parts[byNoise]/o.parts[byNoise]-math.Sqrt2) < 1e-9) {
			t.Fatalf("sample %d: Cpt %g and %g, scatter %g and %g", i, s.Cpt, o.Cpt, s.parts[byNoise], o.parts[byNoise])
		}
	}
}
