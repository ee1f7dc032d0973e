package main

import (
	"fmt"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// measureLedger puts single results in the form that the ledger tables take: a
// station for each plane.
func measureLedger(results []*measure.Result) *study.Outcome {
	o := &study.Outcome{}
	for _, r := range results {
		o.Stations = append(o.Stations, study.StationOutcome{
			Name: fmt.Sprintf("%s = %.4g m", r.Station.Normal, r.Station.Position), Normal: r.Station.Normal, Position: r.Station.Position,
			Surveys: []study.StationSurvey{{Configuration: r.File, Result: r}},
		})
	}
	return o
}

// compareLedger does the same for a comparison: one station.
func compareLedger(c *compare.Comparison, names []string) *study.Outcome {
	s := c.Baseline.Station
	st := study.StationOutcome{
		Name: fmt.Sprintf("%s = %.4g m", s.Normal, s.Position), Normal: s.Normal, Position: s.Position,
		Surveys:    []study.StationSurvey{{Configuration: names[0], Result: c.Baseline}},
		Comparison: c, Variants: names[1:],
	}
	for k, v := range c.Variants {
		st.Surveys = append(st.Surveys, study.StationSurvey{Configuration: names[k+1], Result: v.Survey})
	}
	return &study.Outcome{Baseline: names[0], Stations: []study.StationOutcome{st}}
}
