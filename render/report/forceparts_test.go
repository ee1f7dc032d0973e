package report

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"wakeledger/wake/force"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// randomLedger is a ledger of n parts, of which the variant has the last alone.
func randomLedger(r *rand.Rand, n int) *force.Ledger {
	l := &force.Ledger{Total: force.Change{Name: "total", Baseline: new(float64), Variant: new(float64)}}
	for i := range n {
		c := force.Change{Name: string(rune('a' + i)), Delta: r.NormFloat64()}
		if i < n-1 {
			base := r.Float64()
			after := base + c.Delta
			c.Baseline, c.Variant = &base, &after
			*l.Total.Baseline += base
		} else {
			alone := c.Delta
			c.Variant = &alone
		}
		*l.Total.Variant += *c.Variant
		l.Total.Delta += c.Delta
		l.Parts = append(l.Parts, c)
	}
	device := l.Parts[n-1]
	l.Itself, l.Others = &device, &force.Change{Name: "the rest", Baseline: l.Total.Baseline, Variant: ptr(*l.Total.Variant - device.Delta), Delta: l.Total.Delta - device.Delta}
	l.Total.Expanded = 0.01
	for _, c := range append([]*force.Change{&l.Total, l.Itself, l.Others}, pointersTo(l.Parts)...) {
		c.Verdict, c.Percent = uncertainty.Resolved, ptr(100*c.Delta / *l.Total.Baseline)
	}
	return l
}

func pointersTo(c []force.Change) (out []*force.Change) {
	for i := range c {
		out = append(out, &c[i])
	}
	return out
}

// Each column of the ledger by part adds up to its total in the last digit that is printed: on
// its own, in the summary of a study, and in the CSV; and what the device carries itself and
// all else add up to the total.
func TestForcePartsAddUp(t *testing.T) {
	value := func(s string) float64 {
		s, _, _ = strings.Cut(s, " ")
		v, err := strconv.ParseFloat(strings.NewReplacer("−", "-", "±", "", "–", "0", "+", "").Replace(s), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	// sums checks that the rows before the total add up to it, and so do the last part and the row
	// of all but it.
	sums := func(what string, rows [][]string, columns ...int) {
		total := 0
		for rows[total][0] != "total" {
			total++
		}
		for _, k := range columns {
			add := func(rows [][]string) (sum float64) {
				for _, r := range rows {
					sum += value(r[k])
				}
				return sum
			}
			want := value(rows[total][k])
			if got := add(rows[:total]); math.Abs(got-want) > 1e-9 {
				t.Errorf("%s, column %d: parts add up to %g, the total is %g", what, k, got, want)
			}
			if total+1 < len(rows) {
				if got := value(rows[total-1][k]) + value(rows[total+1][k]); math.Abs(got-want) > 1e-9 {
					t.Errorf("%s, column %d: the device and all else add up to %g, the total is %g", what, k, got, want)
				}
			}
		}
	}
	r := rand.New(rand.NewPCG(18, 0))
	for range 50 {
		l := randomLedger(r, 2+r.IntN(6))
		rows := forceParts(l).Rows
		sums("ledger", rows, 1, 2, 3, 5)
		for k, want := range map[int]float64{1: *l.Total.Baseline, 2: *l.Total.Variant, 3: l.Total.Delta, 5: *l.Total.Percent} {
			if got, half := value(rows[len(rows)-2][k]), map[bool]float64{true: 0.05, false: 0.0005}[k == 5]; math.Abs(got-want) > 1.001*half {
				t.Errorf("column %d: the total is %g, printed %g", k, want, got)
			}
		}
		o := &study.Outcome{Baseline: "bare", ByPart: []study.ForceLedger{{Configuration: "fairing", Ledger: l}}}
		summary := forceSummary(o)
		for _, row := range summary.Rows {
			if row[1] == "" { // the baseline has no device
				row[1] = "0"
			}
		}
		sums("summary", summary.Rows, 1, 2)
		var b strings.Builder
		if err := ForcesCSV(&b, o); err != nil {
			t.Fatal(err)
		}
		cells, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for i := range cells {
			cells[i] = cells[i][1:]
			for k := range cells[i] {
				if cells[i][k] == "" {
					cells[i][k] = "0"
				}
			}
		}
		sums("forces.csv", cells[1:], 3, 4, 5)
	}
}

// A ± that is a lower bound says so, with the length of record that would judge and why this one
// does not.
func TestForceAtLeast(t *testing.T) {
	l := randomLedger(rand.New(rand.NewPCG(1, 0)), 3)
	for i, doubt := range []string{uncertainty.RecordShort, uncertainty.RecordDrifts} {
		c := &l.Parts[1+i]
		c.Verdict, c.AtLeast, c.Doubt, c.Needed = uncertainty.NotJudged, true, doubt, 8.81
		c.Expanded = 0.0097
	}
	for i, want := range [][2]string{{"", "|resolved|"}, {"≥ 0.010|", "|not judged|8.9 s"}, {"≥ 0.010|", "|not judged|drifts, 8.9 s"}} {
		if got := strings.Join(forceParts(l).Rows[i][4:], "|"); !strings.HasPrefix(got, want[0]) || !strings.HasSuffix(got, want[1]) {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
