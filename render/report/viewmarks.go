package report

import (
	"slices"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// viewClear are the named regions of a variant whose change against the baseline is resolved, in drag or in their
// move; nil where none is judged.
func viewClear(st *study.StationOutcome, configuration string) *pageClear {
	v := variantOf(st, configuration)
	if v == nil || v.Survey == nil {
		return nil
	}
	out, judged := &pageClear{Of: "regions", Boxes: []pageBox{}}, false
	for _, r := range v.Regions {
		var verdicts []string
		if r.Delta != nil {
			verdicts = append(verdicts, r.Delta.Verdict)
		}
		if r.Shift != nil {
			verdicts = append(verdicts, r.Shift.Verdict)
		}
		resolved := slices.Contains(verdicts, uncertainty.Resolved)
		judged = judged || resolved || slices.Contains(verdicts, uncertainty.NotResolved)
		if i := slices.IndexFunc(v.Survey.Regions, func(of measure.Region) bool { return of.Name == r.Name }); resolved && i >= 0 {
			out.Boxes = append(out.Boxes, pageBox{clean(r.Name), v.Survey.Regions[i].Box.Y, v.Survey.Regions[i].Box.Z})
		}
	}
	if !judged {
		return nil
	}
	return out
}

// viewShifts are the moves of a variant's regions against the baseline, with their
// uncertainty where there is one.
func viewShifts(st *study.StationOutcome, configuration string) (out []pageShift) {
	v := variantOf(st, configuration)
	if v == nil || v.Survey == nil || st.Comparison.Baseline == nil {
		return nil
	}
	for k, r := range v.Regions {
		if r.Shift == nil || k >= len(v.Survey.Regions) || k >= len(st.Comparison.Baseline.Regions) {
			continue
		}
		if a, b := st.Comparison.Baseline.Regions[k].Centroid, v.Survey.Regions[k].Centroid; a != nil && b != nil {
			out = append(out, pageShift{round2(*a), round2(*b), moveWords(r.Shift), boxName(r.Name), r.Shift.Verdict})
		}
	}
	return out
}

// moveWords are the size and the direction of a box's move, to a millimetre.
func moveWords(s *compare.Shift) string {
	move, way := s.Centroid[0], [2]string{"to the right", "to the left"}
	if s.Inboard != nil {
		move, way = *s.Inboard, [2]string{"inboard", "outboard"}
	}
	if move < 0 {
		move, way[0] = -move, way[1]
	}
	u := ""
	if s.Expanded > 0 {
		u = " ± " + fixed(1000*s.Expanded, 0)
	}
	return fixed(1000*move, 0) + u + " mm " + way[0]
}

func stationOf(o *study.Outcome, name string) *study.StationOutcome {
	for i := range o.Stations {
		if o.Stations[i].Name == name {
			return &o.Stations[i]
		}
	}
	return nil
}

// boxesOf are the regions of a station.
func boxesOf(st *study.StationOutcome) []pageBox {
	out := []pageBox{}
	for _, s := range st.Surveys {
		if s.Result == nil {
			continue
		}
		for _, r := range s.Result.Regions {
			out = append(out, pageBox{clean(r.Name), r.Box.Y, r.Box.Z})
		}
		break
	}
	return out
}

// viewWords is what the caption says of a configuration at a station: its drag, or
// the change where there is one.
func viewWords(o *study.Outcome, st *study.StationOutcome, configuration string) string {
	for _, r := range ledgerRows(o) {
		if r.station.Name != st.Name || r.configuration != configuration || r.region != nil {
			continue
		}
		area, _, ok := headline(r.result)
		if !ok {
			return "no total drag at this station"
		}
		what := "drag area "
		if r.method() == measure.ByVelocityOnly {
			what = "momentum deficit "
		}
		s := what + plusMinus(area, expandedOf(r.result.Uncertainty), areaDecimals, "m²")
		if d := r.delta; d != nil {
			s += ", change " + d.Number(d.DragArea, &d.Budget, uncertainty.Format{Scale: 1, Decimals: maxDecimals, Unit: "m²"}) + " (" + clean(d.Verdict) + ")"
		}
		return s
	}
	return ""
}
