package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/force"
	"wakeledger/wake/plan"
	"wakeledger/wake/study"
	"wakeledger/wake/survey/settings"
)

// runPlan says what it takes to resolve a change, from a pilot run.
func runPlan(e *env, fs *pflag.FlagSet) work {
	s := addSettings(fs, func(g *settings.Flag) bool { return g.Table != "structures" && g.Table != "maps" })
	change := fs.String("change", "", "the `CHANGE` of drag to resolve: \"5 counts\", \"1 %\" or \"0.02 m2\"")
	forces := fs.StringArray("force", nil, "`FILE` with a record of the pilot's force; of several runs, once for each")
	return func(ctx context.Context) error {
		if len(*forces) == 0 {
			if s.ForceStart != nil {
				return &usageError{"--start without --force", "give the record that it is the start of"}
			}
			if fs.NArg() == 0 {
				return &usageError{"plan needs a PLANE or --force FILE", e.command.usage()}
			}
		}
		p, warnings, err := e.pilot(ctx, s, fs.Args(), *forces)
		if err != nil {
			return err
		}
		d, err := changeOf(*change, &s.Reference, p.DragArea)
		if err != nil {
			return err
		}
		out := plan.New(d, *p)
		out.Warnings = warnings
		return e.finish(result{
			warnings: warnings, name: "plan",
			text: func(w io.Writer, _ bool) error { return report.PlanText(w, out) },
			json: document(struct {
				Schema   string         `json:"schema"`
				Warnings []wake.Warning `json:"warnings"`
				*plan.Plan
			}{"wakeledger.plan/1", warnings, out}),
		})
	}
}

// pilot reads what is known of the pilot: files are runs of its plane, forces records of runs.
func (e *env) pilot(ctx context.Context, s *stated, files, forces []string) (*plan.Pilot, []wake.Warning, error) {
	c, _, err := s.study(files, study.Apart)
	if err != nil {
		return nil, nil, err
	}
	if len(files) == 0 {
		c.Configurations = make([]study.Configuration, 1)
	}
	if len(forces) > 0 {
		c.Configurations[0].Force = &study.Force{Records: forces[:1], Repeats: forces[1:], Start: s.ForceStart}
	}
	c.Structures.By = "none"
	outcome, fields, err := e.run(ctx, c, "")
	if err != nil {
		return nil, nil, err
	}
	p, warnings := &plan.Pilot{DragArea: math.NaN()}, outcome.Warnings
	if f := outcome.Configurations[0].Force; f != nil {
		m := f.Record
		p.DragArea = m.TimeMean.Mean
		p.Record = &plan.Record{File: forces[0], TimeMean: m.TimeMean, Step: m.Step, Scale: m.Scale, Rerun: true}
		for _, run := range append([]*force.Mean{m}, f.Repeats...) {
			p.Runs = append(p.Runs, run.TimeMean.Mean)
		}
	}
	var values []float64
	for k, f := range fields {
		m := f.Single[0]
		r := m.Result
		if r.Drag == nil || r.Uncertainty.DragArea == nil {
			return nil, nil, &wake.InputError{File: m.Plane.Name(), Text: "the plane has no drag", Cure: "give a plane whose drag is quoted; wakeledger measure says why this one's is not"}
		}
		i := m.Layout.Method(r.Drag.Headline)
		values = append(values, m.Values[i])
		if k > 0 {
			continue
		}
		warnings = append(warnings, r.Warnings...)
		p.DragArea = m.Values[i]
		p.Plane = &plan.Plane{File: m.Plane.Name(), Samples: len(m.Plane.Mesh.Points), Spacing: m.Plane.Mesh.Spacing(), Items: r.Uncertainty.DragArea.Items}
	}
	if len(values) > 1 {
		p.Runs = values
	}
	if len(files) > 0 && p.Record == nil && average.IsState(files[0]) {
		if p.Record, err = stateRecord(files[0]); err != nil {
			return nil, nil, err
		}
	}
	return p, warnings, nil
}

// stateRecord is the record behind the mean of snapshots; nil where it has no series.
func stateRecord(name string) (*plan.Record, error) {
	s, err := average.ReadState(name)
	if err != nil {
		return nil, err
	}
	r, err := s.Result()
	if err != nil || len(r.Series) == 0 {
		return nil, err
	}
	return &plan.Record{File: name, TimeMean: r.Series[0].TimeMean, Scale: r.Series[0].Scale, Step: wake.Deref(r.TimeStep)}, nil
}

// changeOf reads a change of drag area, m²: counts of C_D, a part of the drag, or an area.
func changeOf(text string, r *study.Reference, drag float64) (float64, error) {
	bad := func(cure string) (float64, error) { return 0, &usageError{fmt.Sprintf("--change %q", text), cure} }
	number, unit, _ := strings.Cut(strings.TrimSpace(text), " ")
	if n, ok := strings.CutSuffix(number, "%"); ok && unit == "" {
		number, unit = n, "%"
	}
	x, err := strconv.ParseFloat(number, 64)
	if err != nil || !(0 < x && x < 1e9) {
		return bad(`a positive number with its unit is expected, as in "5 counts", "1 %" or "0.02 m2"`)
	}
	switch strings.TrimSpace(unit) {
	case "count", "counts":
		if r.FrontalArea == nil {
			return bad("counts are of C_D: give --area")
		}
		return x * r.Count * *r.FrontalArea, nil
	case "%":
		return x / 100 * math.Abs(drag), nil
	}
	area, _, err := wake.ParseValue(text, wake.Surface)
	if err != nil || unit == "" {
		return bad(`counts, % or m2 are expected, as in "5 counts"`)
	}
	return area, nil
}
