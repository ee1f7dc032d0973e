package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/wake/uncertainty"
)

func judged(u float64, n int, scale float64) *Record {
	dof := 19.0
	return &Record{File: "f.csv", TimeMean: uncertainty.TimeMean{N: n, Mean: 2, Standard: &u, DOF: &dof, Scale: scale}, Scale: scale, Step: 0.1, Rerun: true}
}

// TestNeeds: the lengths, runs and samples against U² = k²·2(u² + …) by hand.
func TestNeeds(t *testing.T) {
	k := uncertainty.Coverage(19)
	near := func(what string, got *float64, want float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > 1e-9*want {
			t.Errorf("%s: %v, want %g", what, got, want)
		}
	}
	// A record: four times as long halves u.
	p := New(k*math.Sqrt2*0.01/2, Pilot{DragArea: 2, Record: judged(0.01, 1000, 5)})
	if p.Verdict != uncertainty.NotResolved || p.Dominates != uncertainty.TimeAverage || len(p.Needs) != 1 {
		t.Errorf("%+v", p)
	}
	near("factor", p.Needs[0].Factor, 4)
	near("length", p.Needs[0].Seconds, 400)
	near("runs", p.Needs[0].Runs, 4)
	// With twice the change the pilot is just enough; with more, 24 time scales remain.
	p = New(10, Pilot{DragArea: 2, Record: judged(0.01, 1000, 5)})
	if p.Verdict != uncertainty.Resolved {
		t.Errorf("%+v", p)
	}
	near("least length", p.Needs[0].Values, 120)
	// Three runs of each: s_p √(2/3).
	runs := []float64{1.99, 2, 2.01}
	p = New(uncertainty.Coverage(2)*0.01*math.Sqrt(2.0/3), Pilot{DragArea: 2, Record: judged(0.01, 1000, 5), Runs: runs})
	near("runs of each", p.Needs[0].Runs, 3)
	if len(p.Needs) != 1 || p.Needs[0].Category != uncertainty.RunToRun {
		t.Errorf("the time average is in the repeats: %+v", p.Needs)
	}
	// A record that is too short: what it shows already is a floor; one that shows nothing judges nothing.
	floor, short := 0.01, judged(0.01, 100, 10)
	short.Standard, short.AtLeast, short.AtLeastDOF, short.Doubt, short.Need, short.Chance = nil, &floor, short.DOF, uncertainty.RecordShort, 240, 0.5
	p = New(0.001, Pilot{DragArea: 2, Record: short})
	near("of what is known at least", p.Needs[0].Values, math.Ceil(100*k*k*2*1e-4/1e-6))
	if p.Verdict != uncertainty.NotResolved || math.Abs(p.Expanded-k*math.Sqrt2*0.01) > 1e-9 || len(p.Missing) != 1 {
		t.Errorf("below the floor: %+v, U %g", p.Judgement, p.Expanded)
	}
	if p = New(1, Pilot{DragArea: 2, Record: short}); p.Verdict != uncertainty.NotJudged || *p.Needs[0].Values < 240 {
		t.Errorf("above the floor: %+v, %+v", p.Judgement, p.Needs)
	}
	index, same := make([]int64, 400), make([]float64, 400)
	for i := range index {
		index[i] = int64(i)
	}
	p = New(1, Pilot{DragArea: 2, Record: &Record{TimeMean: *uncertainty.NewTimeMean(index, same, nil), Rerun: true}})
	if p.Verdict != uncertainty.NotJudged || p.Expanded != 0 || len(p.Needs) != 0 {
		t.Errorf("of no change: %+v, U %g, %+v", p.Judgement, p.Expanded, p.Needs)
	}
	// A plane: sampling of each, the reference cancels; time and reruns are not known.
	plane := &Plane{File: "p.csv", Samples: 1000, Spacing: 0.1, Items: []uncertainty.Item{
		{Name: "interpolation", Category: uncertainty.Sampling, Kind: uncertainty.Random, Standard: 0.01},
		{Name: "speed", Category: uncertainty.Reference, Kind: uncertainty.Common, Standard: 0.5},
	}}
	p = New(2*math.Sqrt2*0.01/2, Pilot{DragArea: 2, Plane: plane})
	near("samples", p.Needs[0].Samples, 4000)
	near("spacing", p.Needs[0].Spacing, 0.05)
	if p = New(1, Pilot{DragArea: 2, Plane: plane}); p.Verdict != uncertainty.NotJudged || len(p.Missing) != 2 {
		t.Errorf("%+v", p.Judgement)
	}
	// The record takes the place of the plane's own time average.
	plane.Items = append(plane.Items, uncertainty.Item{Name: "time average", Category: uncertainty.TimeAverage, Standard: 9})
	if p = New(1, Pilot{DragArea: 2, Plane: plane, Record: judged(0.01, 1000, 5)}); p.Verdict != uncertainty.Resolved {
		t.Errorf("%+v", p.Judgement)
	}
	// Where the rest alone is too much nothing is promised.
	plane.Items[0].Standard = 1
	if p = New(0.1, Pilot{DragArea: 2, Plane: plane, Record: judged(0.01, 1000, 5)}); len(p.Needs) != 1 || p.Needs[0].Category != uncertainty.Sampling {
		t.Errorf("%+v", p.Needs)
	}
}

// TestPlanHolds: records as long as the plan asks for resolve the change in about half of
// the pairs: the change is then as large as U.
func TestPlanHolds(t *testing.T) {
	const seed, pairs, rho, change = 12, 200, 0.8, 0.3
	r := rand.New(rand.NewPCG(seed, 0))
	record := func(n int, mean float64) *uncertainty.TimeMean {
		index, x := make([]int64, n), make([]float64, n)
		v := r.NormFloat64()
		for i := range x {
			index[i], x[i] = int64(i), mean+v
			v = rho*v + math.Sqrt(1-rho*rho)*r.NormFloat64()
		}
		return uncertainty.NewTimeMean(index, x, nil)
	}
	var length float64
	for range 20 {
		pilot := record(500, 2)
		p := New(change, Pilot{DragArea: 2, Record: &Record{TimeMean: *pilot, Scale: pilot.Scale, Rerun: true}})
		length += *p.Needs[0].Values / 20
	}
	resolved := 0
	for range pairs {
		a, b := record(int(length), 2), record(int(length), 2+change)
		if a.Standard == nil || b.Standard == nil {
			continue
		}
		budget := uncertainty.Only("none", uncertainty.Item{Category: uncertainty.TimeAverage, Standard: *a.Standard, DOF: a.DOF}, uncertainty.Item{Category: uncertainty.TimeAverage, Standard: *b.Standard, DOF: b.DOF})
		if uncertainty.Judge(b.Mean-a.Mean, &budget).Verdict == uncertainty.Resolved {
			resolved++
		}
	}
	t.Logf("%.0f values; %d of %d resolved", length, resolved, pairs)
	if !(resolved > pairs*35/100 && resolved < pairs*70/100) {
		t.Errorf("seed %d: records of %.0f values resolve %d of %d", seed, length, resolved, pairs)
	}
}
