package rake

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// File is a log or a layout by its path and the name that messages and results use.
type File struct{ Path, Name string }

// Read reduces a log by a layout as Reduce does.
func Read(ctx context.Context, logs []File, layout File, opt Options) (*Result, error) {
	lay, err := ReadLayout(layout)
	if err != nil {
		return nil, err
	}
	l, err := ReadLogs(logs)
	if err != nil {
		return nil, err
	}
	return Reduce(ctx, l, lay, opt)
}

// Stream is the undisturbed stream that velocities and pressures are given for: speed,
// m/s, dynamic pressure, Pa (NaN: no pressures can be given), and static pressure, Pa.
type Stream struct{ Speed, Dynamic, Pressure float64 }

// Nominal is the stream of the layout, with p∞ = 0 Pa.
func (r *Result) Nominal() Stream {
	s := Stream{Speed: r.Reference.Speed, Dynamic: nan}
	if q := r.Reference.Dynamic; q != nil {
		s.Dynamic = *q
	}
	return s
}

type field struct {
	q          wake.Quantity
	name, unit string // of what is no quantity
	of         func(s *Sample) float64
}

func (r *Result) fields(in Stream) []field {
	out := []field{
		{q: wake.X, of: func(s *Sample) float64 { return s.X }},
		{q: wake.Y, of: func(s *Sample) float64 { return s.Y }},
		{q: wake.Z, of: func(s *Sample) float64 { return s.Z }},
		{q: wake.U, of: func(s *Sample) float64 {
			if s.tube >= 0 && math.IsNaN(s.Cp) {
				return nan // not measured: what assumes a pressure is for measure to say
			}
			return in.Speed * s.axial()
		}},
		{q: wake.V, of: func(s *Sample) float64 { return in.Speed * s.Velocity[1] }},
		{q: wake.W, of: func(s *Sample) float64 { return in.Speed * s.Velocity[2] }},
		{q: wake.P, of: func(s *Sample) float64 { return in.Pressure + in.Dynamic*s.Cp }},
		{q: wake.Pt, of: func(s *Sample) float64 { return in.Pressure + in.Dynamic*s.Cpt }},
		{q: wake.Cp, of: func(s *Sample) float64 { return s.Cp }},
		{q: wake.Cpt, of: func(s *Sample) float64 { return s.Cpt }},
	}
	for k, f := range out {
		out[k].name, out[k].unit = f.q.String(), f.q.Unit()
	}
	return slices.DeleteFunc(out, func(f field) bool {
		return slices.ContainsFunc(r.Samples, func(s Sample) bool { return math.IsNaN(f.of(&s)) })
	})
}

// Survey gives the result as samples in a stream: x, y, z, u (|V| where directions are not
// known), v and w, p, pt, cp and cpt, as far as all samples have them. The coefficients are
// the tunnel's; the other columns are theirs in that stream.
func (r *Result) Survey(in Stream) *wake.Samples {
	s := &wake.Samples{File: r.Log, N: len(r.Samples), Dropped: r.Counts.Missing + r.Counts.Outside, Warnings: r.Warnings}
	for _, f := range r.fields(in) {
		s.Col[f.q] = r.values(f)
		s.Source[f.q] = wake.Source{Name: "rake", Unit: f.unit, By: "file", Factor: 1}
	}
	s.Errors = r.sampleErrors(in)
	return s
}

// planeDigits are far below any tube's noise.
const planeDigits = 8

// WriteCSV writes the survey as a plane file, after comments that say where it comes from
// and what each correction did. Behind the quantities are standard uncertainties, under names
// that readers of planes leave alone.
func (r *Result) WriteCSV(w io.Writer) error {
	fields := r.fields(r.Nominal())
	has := func(q wake.Quantity) bool { return slices.ContainsFunc(fields, func(f field) bool { return f.q == q }) }
	speed, pressure := has(wake.U), has(wake.Cpt)
	if speed {
		fields = append(fields, field{name: "uncertainty u", unit: "m/s", of: func(s *Sample) float64 { return r.Reference.Speed * s.SigmaSpeed }})
	}
	if pressure {
		fields = append(fields,
			field{name: "uncertainty cp", unit: "1", of: func(s *Sample) float64 { return s.SigmaCp }},
			field{name: "uncertainty cpt", unit: "1", of: func(s *Sample) float64 { return s.SigmaCpt }})
	}
	var out []survey.Column
	for _, f := range fields {
		out = append(out, survey.Column{Name: f.name, Unit: f.unit, Values: r.values(f), Digits: planeDigits})
	}
	return survey.Write(w, r.preface(speed), out)
}

func (r *Result) values(f field) []float64 {
	return grid.Fill(len(r.Samples), func(i int) float64 { return f.of(&r.Samples[i]) })
}

// preface is the provenance in words.
func (r *Result) preface(speed bool) []string {
	out := []string{"corrected rake survey"}
	add := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if r.Title != "" {
		add("title: %s", r.Title)
	}
	logs := ""
	for _, name := range r.Logs {
		logs += "+" + base(name)
	}
	add("log: %s, layout: %s", strings.TrimPrefix(logs, "+"), base(r.Layout))
	s := fmt.Sprintf("nominal stream: U = %.6g m/s", r.Reference.Speed)
	if r.Reference.Density != nil {
		s += fmt.Sprintf(", density %.6g kg/m3", *r.Reference.Density)
	}
	if r.Reference.Dynamic != nil {
		s += fmt.Sprintf(", dynamic pressure %.6g Pa; p and pt are against p_ref = 0 Pa", *r.Reference.Dynamic)
	}
	out = append(out, s)
	switch {
	case !speed:
		add("no static pressure is known with all samples, so no velocity is")
	case r.Velocity == "speed":
		add("u is the speed |V| from total and static pressure: flow angles are not known")
	default:
		add("u is the axial velocity of the probe")
	}
	for _, s := range r.Steps {
		add("correction %s: %s; %s", s.Name, s.State(), s.Text)
	}
	for _, t := range r.Tubes {
		if t.State != "good" {
			add("tube %s: %s, %s; %s", t.Name, t.State, t.Treated, t.Why)
		}
	}
	add("uncertainties are standard uncertainties of one sample: scatter, zeros, displacement, static interpolation, fill, and position and dynamic pressure where the layout states them")
	return out
}

// base is the last part of a path, for outputs that hold no folder of a machine.
func base(path string) string { return path[strings.LastIndexAny(path, `/\`)+1:] }
