package force

import (
	"math"
	"slices"
	"testing"

	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// The shuttle's forces by part, against the table in the data's README: what the fairing
// carries itself, what it takes off the wheels, and what the body takes back. The parts add up to
// the total, and a record against itself, and the other way round, does what it must.
func TestLedgerOfTheShuttle(t *testing.T) {
	read := func(name string) *Mean {
		m, err := Read([]File{{waketest.Shared(t, "shuttle2", name+"_force.csv"), name}}, Options{Start: new(float64), Dynamic: 375})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	bare := read("bare")
	for _, c := range []struct {
		name    string
		parts   map[string]float64
		verdict string
	}{
		{"fairing", map[string]float64{"body": 0.097, "front wheels": -0.188, "rear wheels": 0.047, "device": -0.022}, uncertainty.Resolved},
		{"lip", map[string]float64{"body": -0.003, "front wheels": -0.089, "rear wheels": -0.034, "device": 0.136}, uncertainty.NotResolved},
		{"flare", map[string]float64{"body": -0.035, "front wheels": -0.170, "rear wheels": -0.036, "device": 0.345}, uncertainty.Resolved},
	} {
		l := NewLedger(bare, read(c.name))
		var sum float64
		for _, p := range l.Parts {
			sum += p.Delta
			// The table has three decimals of each mean.
			if want, ok := c.parts[p.Name]; !ok || !(math.Abs(p.Delta-want) < 0.0015) {
				t.Errorf("%s, %s: %.4f, want %.3f", c.name, p.Name, p.Delta, want)
			}
		}
		if len(l.Parts) != 4 || !(math.Abs(sum-l.Total.Delta) < 1e-12) || !(math.Abs(l.Left) < 1e-4) || l.Total.Verdict != c.verdict {
			t.Errorf("%s: parts sum to %g, total %g (%s), left %g", c.name, sum, l.Total.Delta, l.Total.Verdict, l.Left)
		}
		if l.Itself == nil || l.Itself.Delta != l.Parts[3].Delta || !(math.Abs(l.Itself.Delta+l.Others.Delta-sum) < 1e-12) {
			t.Errorf("%s: itself %+v, others %+v", c.name, l.Itself, l.Others)
		}
		back := NewLedger(read(c.name), bare)
		if back.Total.Delta != -l.Total.Delta || back.Total.Expanded != l.Total.Expanded {
			t.Errorf("%s: %g forward, %g back", c.name, l.Total.Delta, back.Total.Delta)
		}
	}
	// The fairing's record is too short for its device and front wheels, and its body's drifts: the
	// ± is at least what the record shows. Another run of bare judges a part whose own record
	// shows no wider interval, and says nothing of a device that bare does not have.
	alone, again := NewLedger(bare, read("fairing")), NewLedger(bare, read("fairing"), []*Mean{bare, read("bare2")})
	for _, c := range []struct {
		l              *Ledger
		part           int
		verdict, doubt string
		standard       float64
	}{
		{alone, 0, uncertainty.NotJudged, uncertainty.RecordDrifts, 0.0075}, {alone, 1, uncertainty.NotJudged, uncertainty.RecordShort, 0.0041},
		{alone, 2, uncertainty.NotJudged, uncertainty.RecordShort, 0.0099}, {alone, 3, uncertainty.NotJudged, uncertainty.RecordShort, 0.0025},
		{again, 0, uncertainty.Resolved, "", 0.00265}, {again, 1, uncertainty.NotJudged, uncertainty.RecordShort, 0.0041},
		{again, 2, uncertainty.NotJudged, uncertainty.RecordShort, 0.0099}, {again, 3, uncertainty.NotJudged, uncertainty.RecordShort, 0.0025},
	} {
		p := c.l.Parts[c.part]
		if p.Verdict != c.verdict || p.Doubt != c.doubt || p.AtLeast != (c.doubt != "") || (p.Needed > 0) != p.AtLeast || !(math.Abs(p.Standard-c.standard) < 0.00006) {
			t.Errorf("%s: %s, %q, at least %v, needs %g s, u %g; want %+v", p.Name, p.Verdict, p.Doubt, p.AtLeast, p.Needed, p.Standard, c)
		}
		if p.AtLeast && !slices.Equal(p.Missing, []uncertainty.Category{uncertainty.TimeAverage}) {
			t.Errorf("%s lacks %v", p.Name, p.Missing)
		}
	}
	if alone.Total.Verdict != uncertainty.Resolved || again.Total.Standard != alone.Total.Standard {
		t.Errorf("a total that its records judge is judged by %g and with repeats %g", alone.Total.Standard, again.Total.Standard)
	}
	again.Over(2.5, 0.001)
	if c := again.Total; c.Cd == nil || *c.Cd != c.Delta/2.5 || *c.Counts != *c.Cd/0.001 || again.Parts[3].Counts == nil || alone.Total.Cd != nil {
		t.Errorf("coefficients over 2.5 m²: %+v", c)
	}
	same := NewLedger(bare, bare)
	if same.Total.Delta != 0 || same.Total.Verdict != uncertainty.NotResolved || same.Itself != nil || len(same.Parts) != 3 {
		t.Errorf("against itself: %+v", same.Total)
	}
	// What is stated beside two records is √2 u beside what they scatter by, in the total and in every part,
	// but one u in a part of one of them.
	u := 0.1
	for _, runs := range [][][]*Mean{nil, {{bare, read("bare2")}}} {
		a, b := read("bare"), read("fairing")
		was := NewLedger(a, b, runs...).all()
		a.Stated, b.Stated = &u, &u
		for i, c := range NewLedger(a, b, runs...).all() {
			n := 2.0
			if c.Baseline == nil {
				n = 1
			}
			if want := math.Hypot(was[i].Standard, u*math.Sqrt(n)); !(math.Abs(c.Standard-want) < 1e-12) || c.Doubt != was[i].Doubt || c.Name == "total" && c.Verdict != uncertainty.NotResolved {
				t.Errorf("%s: u %g, want %g, %s", c.Name, c.Standard, want, c.Verdict)
			}
		}
	}
}
