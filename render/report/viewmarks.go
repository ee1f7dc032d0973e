package report

import (
	"slices"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// judgements are those on the numbers of a region.
func judgements(r compare.RegionDelta) (out []uncertainty.Judgement) {
	if r.Delta != nil {
		out = append(out, r.Delta.Judgement)
	}
	if r.Shift != nil {
		out = append(out, r.Shift.Judgement)
	}
	return out
}

// viewClear are the named regions of a variant whose change against the baseline is resolved, in drag or in their
// move; nil where none is judged.
func viewClear(st *study.StationOutcome, configuration string) (out []viewBox) {
	v := variantOf(st, configuration)
	if v == nil {
		return nil
	}
	for k, r := range v.Regions {
		has := func(verdict string) bool {
			return slices.ContainsFunc(judgements(r), func(j uncertainty.Judgement) bool { return j.Verdict == verdict })
		}
		if out == nil && (has(uncertainty.Resolved) || has(uncertainty.NotResolved)) {
			out = []viewBox{}
		}
		if has(uncertainty.Resolved) {
			out = append(out, boxOf(v.Survey.Regions[k]))
		}
	}
	return out
}

// viewShifts are the moves of a variant's regions against the baseline, with their
// uncertainty where there is one.
func viewShifts(st *study.StationOutcome, configuration string) (out []viewShift) {
	v := variantOf(st, configuration)
	if v == nil {
		return nil
	}
	for k, r := range v.Regions {
		if a, b := st.Comparison.Baseline.Regions[k].Centroid, v.Survey.Regions[k].Centroid; r.Shift != nil && a != nil && b != nil {
			x, mm := moveFormat(toward(r.Shift))
			budget := uncertainty.Budget(r.Shift.LengthBudget)
			out = append(out, viewShift{*a, *b, r.Shift.Number(x, &budget, mm), boxName(r.Name), r.Shift.Verdict})
		}
	}
	return out
}

func stationOf(o *study.Outcome, name string) *study.StationOutcome {
	for i := range o.Stations {
		if o.Stations[i].Name == name {
			return &o.Stations[i]
		}
	}
	return nil
}

func boxOf(r measure.Region) viewBox { return viewBox{clean(r.Name), r.Box.Y, r.Box.Z} }

// boxesOf are the regions of a station.
func boxesOf(st *study.StationOutcome) (out []viewBox) {
	if len(st.Surveys) > 0 {
		for _, r := range st.Surveys[0].Result.Regions {
			out = append(out, boxOf(r))
		}
	}
	return out
}

// viewWords is what the caption says of a configuration at a station: its drag, or
// the change where there is one.
func viewWords(o *study.Outcome, st *study.StationOutcome, configuration string) string {
	i := slices.IndexFunc(st.Surveys, func(sv study.StationSurvey) bool { return sv.Configuration == configuration })
	if i < 0 {
		return ""
	}
	r := planeRow(o, *st, st.Surveys[i])
	if r.area == nil {
		return "no total drag at this station"
	}
	what := "drag area "
	if r.method() == measure.ByVelocityOnly {
		what = "momentum deficit "
	}
	s := what + plusMinus(*r.area, expandedOf(r.result.Uncertainty.DragArea), areaDecimals, "m²")
	if d := r.delta; d != nil {
		s += ", change " + d.Number(d.DragArea, &d.Budget, uncertainty.Format{Scale: 1, Decimals: maxDecimals, Unit: "m²"}) + " (" + clean(d.Verdict) + ")"
	}
	return s
}
