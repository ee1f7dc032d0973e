package report

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Whatever a budget holds and lacks, the number, its ± and the verdict are the same in text,
// CSV, JSON and page, and the verdict is that of the value and the budget alone.
func TestVerdictIsOne(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		o := sampleOutcome()
		var deltas []*compare.Delta
		for k := range o.Stations {
			if o.Stations[k].Comparison == nil {
				continue
			}
			for i := range o.Stations[k].Comparison.Variants {
				v := &o.Stations[k].Comparison.Variants[i]
				if v.Delta == nil {
					continue
				}
				var items []uncertainty.Item
				for _, c := range uncertainty.Categories {
					how := rapid.SampledFrom([]string{"none", "", uncertainty.Stated, uncertainty.Absent, uncertainty.Unknown}).Draw(r, string(c))
					switch it := (uncertainty.Item{Name: string(c), Category: c, Kind: uncertainty.Random, How: how}); how {
					case "none":
					case "", uncertainty.Stated:
						it.Standard = rapid.Float64Range(1e-3, 0.05).Draw(r, "u")
						if rapid.Bool().Draw(r, "few") {
							dof := rapid.Float64Range(1, 60).Draw(r, "dof")
							it.DOF = &dof
						}
						items = append(items, it)
					default:
						items = append(items, it)
					}
				}
				d := v.Delta
				d.DragArea = rapid.Float64Range(-0.2, 0.2).Draw(r, "Δ") + 1e-9*float64(1+len(deltas))
				d.Budget = uncertainty.NewBudget(items...)
				d.Judgement, d.Interval = uncertainty.Judge(d.DragArea, &d.Budget), d.Budget.Interval(d.DragArea)
				d.Percent = ptr(100 * d.DragArea / areaBare)
				text := deltaFinding("", d).Text
				if c := changed(d); d.Verdict != uncertainty.NotJudged && d.Expanded > 0 && !strings.HasPrefix(text, c[0]+" ± "+c[1]+" m²") {
					r.Errorf("the sentence %q has not the number of the table, %s ± %s", text, c[0], c[1])
				}
				deltas = append(deltas, d)
			}
		}
		text := func(f func(io.Writer) error) string { return strings.Join(strings.Fields(write(t, f)), " ") }
		ledger := text(func(w io.Writer) error { return StudyText(w, o) })
		_, page := parsePage(t, write(t, func(w io.Writer) error { return Page(w, o, nil, nil) }))
		page = strings.Join(strings.Fields(page), " ")
		rows, err := csv.NewReader(strings.NewReader(write(t, func(w io.Writer) error { return LedgerCSV(w, o) }))).ReadAll()
		if err != nil {
			r.Fatal(err)
		}
		type stated struct {
			DragArea float64 `json:"drag_area_m2"`
			uncertainty.Budget
			uncertainty.Judgement
		}
		var doc struct {
			Stations []struct {
				Comparison struct {
					Variants []struct {
						Delta *stated `json:"delta"`
					} `json:"variants"`
				} `json:"comparison"`
			} `json:"stations"`
		}
		if err := json.Unmarshal([]byte(write(t, func(w io.Writer) error { return StudyJSON(w, o) })), &doc); err != nil {
			r.Fatal(err)
		}
		n := 0
		for _, st := range doc.Stations {
			for _, v := range st.Comparison.Variants {
				if v.Delta == nil {
					continue
				}
				d, j := deltas[n], v.Delta
				n++
				again := uncertainty.NewBudget(j.Items...)
				if want := uncertainty.Judge(j.DragArea, &again); j.DragArea != d.DragArea || j.Expanded != d.Expanded || want.Verdict != j.Verdict || j.Verdict != d.Verdict || uncertainty.Words(want.Missing) != uncertainty.Words(j.Missing) {
					r.Errorf("JSON: %v ± %v, %+v; by value and budget %+v", j.DragArea, j.Expanded, j.Judgement, want)
				}
				// On the page the badge has the verdict, once.
				text := deltaFinding("", d).Text
				for want, out := range map[string]string{text: ledger, d.Verdict + " " + strings.Replace(text, ": "+d.Verdict, "", 1): page} {
					if !strings.Contains(out, want) {
						r.Errorf("%q is not said in %q", want, out[:40])
					}
				}
				found := false
				for _, row := range rows[1:] {
					cell := map[string]string{}
					for c, head := range rows[0] {
						cell[head] = row[c]
					}
					if cell["change of drag area [m2]"] != number(d.DragArea) {
						continue
					}
					found = true
					if cell["change expanded uncertainty [m2]"] != number(d.Expanded) || cell["change verdict"] != d.Verdict || cell["change margin [m2]"] != csvCell(d.Margin) {
						r.Errorf("CSV: %v, want %v ± %v, %+v", row, d.DragArea, d.Expanded, d.Judgement)
					}
				}
				if !found {
					r.Errorf("the CSV lacks %v", d.DragArea)
				}
			}
		}
		if n != len(deltas) || math.IsNaN(deltas[0].Standard) {
			r.Fatalf("%d changes of %d", n, len(deltas))
		}
	})
}

// The wake beside the force, in one sentence over all configurations.
func TestForceWords(t *testing.T) {
	check := func(wake, force float64, verdict string, changes ...string) study.ForceCheck {
		f := study.ForceCheck{Wake: wake, Force: force, Closure: compare.Closure{Difference: wake - force, Verdict: verdict}}
		if verdict == uncertainty.NotJudged {
			f.Missing = []uncertainty.Category{uncertainty.Reference}
		}
		for _, v := range changes {
			f.Delta = &compare.ForceDelta{Closure: compare.Closure{Difference: 0.001, Verdict: v}}
		}
		return f
	}
	const open = uncertainty.NotJudged
	for want, forces := range map[string][]study.ForceCheck{
		"": nil,
		"Wake minus force: −0.009 to −0.007 m² in 2 planes (2 not judged: the reference not known), +0.001 m² in 1 change (1 agree).": {check(2.1365, 2.1435, open), check(2.0708, 2.0794, open, "agree")},
		"Wake minus force: +0.010 m² in 1 plane (1 agree).":                                                        {check(2.01, 2, "agree")},
		"Wake minus force: −0.010 to +0.110 m² in 2 planes (1 agree, 1 differ), +0.001 m² in 1 change (1 differ).": {check(1.99, 2, "agree"), check(2.11, 2, "differ", "differ")},
	} {
		if got := forceWords(&study.Outcome{Forces: forces}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
