package rake

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"wakeledger/wake"
)

// Read reads logs of one plane and the layout of their rake, and reduces them.
func Read(ctx context.Context, logs []string, layout string, opt Options) (*Result, error) {
	lay, err := ReadLayout(layout)
	if err != nil {
		return nil, err
	}
	list := make([]*Log, len(logs))
	for k, name := range logs {
		if list[k], err = ReadLog(name); err != nil {
			return nil, err
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return Reduce(ctx, list, lay, opt)
}

// Stream is the undisturbed stream that velocities and pressures are given for: speed,
// m/s, dynamic pressure, Pa (NaN: no pressures can be given), and static pressure, Pa.
type Stream struct{ Speed, Dynamic, Pressure float64 }

// Nominal is the stream of the layout, with p∞ = 0 Pa.
func (r *Result) Nominal() Stream {
	s := Stream{Speed: r.Reference.Speed, Dynamic: math.NaN()}
	if q := r.Reference.Dynamic; q != nil {
		s.Dynamic = *q
	}
	return s
}

// field is a column of the survey.
type field struct {
	q    wake.Quantity
	name string // for columns that are no quantity
	unit string
	of   func(s *Sample) float64
}

// fields lists the columns that all samples have.
func (r *Result) fields(in Stream) []field {
	speed := in.Speed
	out := []field{
		{q: wake.X, unit: "m", of: func(s *Sample) float64 { return s.X }},
		{q: wake.Y, unit: "m", of: func(s *Sample) float64 { return s.Y }},
		{q: wake.Z, unit: "m", of: func(s *Sample) float64 { return s.Z }},
		{q: wake.U, unit: "m/s", of: func(s *Sample) float64 { return speed * s.axial() }},
		{q: wake.V, unit: "m/s", of: func(s *Sample) float64 { return speed * s.Velocity[1] }},
		{q: wake.W, unit: "m/s", of: func(s *Sample) float64 { return speed * s.Velocity[2] }},
	}
	if !math.IsNaN(in.Dynamic) {
		out = append(out,
			field{q: wake.P, unit: "Pa", of: func(s *Sample) float64 { return in.Pressure + in.Dynamic*s.Cp }},
			field{q: wake.Pt, unit: "Pa", of: func(s *Sample) float64 { return in.Pressure + in.Dynamic*s.Cpt }})
	}
	out = append(out,
		field{q: wake.Cp, unit: "1", of: func(s *Sample) float64 { return s.Cp }},
		field{q: wake.Cpt, unit: "1", of: func(s *Sample) float64 { return s.Cpt }})
	kept := out[:0]
	for _, f := range out {
		whole := true
		for i := range r.Samples {
			if math.IsNaN(f.of(&r.Samples[i])) {
				whole = false
				break
			}
		}
		if whole {
			kept = append(kept, f)
		}
	}
	return kept
}

// Survey gives the result as the samples of a survey in a stream, as reading a slice
// would: x, y, z, u (which is |V| where directions are not known, and a warning says
// so), v and w where they are, p, pt, cp and cpt. The coefficients are the tunnel's;
// the other columns are theirs in that stream. Columns that cannot be had for all
// samples are left out.
func (r *Result) Survey(in Stream) *wake.Samples {
	s := &wake.Samples{File: r.Log, N: len(r.Samples), Dropped: r.Counts.Missing + r.Counts.Outside, Warnings: r.Warnings}
	for _, f := range r.fields(in) {
		col := make([]float64, len(r.Samples))
		for i := range col {
			col[i] = f.of(&r.Samples[i])
		}
		s.Col[f.q] = col
		s.Source[f.q] = wake.Source{Name: "rake", Unit: f.unit, By: "file", Factor: 1}
	}
	s.Errors = r.sampleErrors(in)
	return s
}

// WriteCSV writes the survey as a plane file: a preface of comment lines that says
// where it comes from and what each correction did, a header with units, a row a
// sample. After the quantities come standard uncertainties, the number of readings,
// the number of the tube in the layout (0 for a probe) and flags, under names that
// readers of planes leave alone.
func (r *Result) WriteCSV(w io.Writer) error {
	b := bufio.NewWriter(w)
	for _, line := range r.preface() {
		fmt.Fprintf(b, "# %s\n", strings.NewReplacer("\n", " ", "\r", " ").Replace(line))
	}
	flag := func(state string) func(s *Sample) float64 {
		return func(s *Sample) float64 {
			if s.State == state {
				return 1
			}
			return 0
		}
	}
	speed := r.Reference.Speed
	fields := r.fields(r.Nominal())
	pressure := false
	for _, f := range fields {
		pressure = pressure || f.q == wake.Cpt
	}
	fields = append(fields, field{name: "uncertainty u", unit: "m/s", of: func(s *Sample) float64 { return speed * s.SigmaSpeed }})
	if pressure {
		fields = append(fields,
			field{name: "uncertainty cp", unit: "1", of: func(s *Sample) float64 { return s.SigmaCp }},
			field{name: "uncertainty cpt", unit: "1", of: func(s *Sample) float64 { return s.SigmaCpt }})
	}
	fields = append(fields,
		field{name: "readings averaged", unit: "1", of: func(s *Sample) float64 { return float64(s.Readings) }},
		field{name: "tube number", unit: "1", of: func(s *Sample) float64 { return float64(s.tube + 1) }},
		field{name: "filled", unit: "1", of: flag("filled")},
		field{name: "reversed", unit: "1", of: flag("reversed")})
	for k, f := range fields {
		name := f.name
		if name == "" {
			name = f.q.String()
		}
		if k > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(b, "%s [%s]", name, f.unit)
	}
	b.WriteByte('\n')
	for i := range r.Samples {
		for k, f := range fields {
			if k > 0 {
				b.WriteByte(',')
			}
			b.Write(strconv.AppendFloat(nil, round(f.of(&r.Samples[i])), 'g', -1, 64))
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}

// round keeps eight significant digits, far below any tube's noise.
func round(x float64) float64 {
	if x == 0 || math.IsNaN(x-x) {
		return x + 0
	}
	v, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 7, 64), 64)
	return v
}

// preface is the provenance in words.
func (r *Result) preface() []string {
	out := []string{"corrected rake survey"}
	if r.Title != "" {
		out = append(out, "title: "+r.Title)
	}
	logs := []string{base(r.Log)}
	for k, name := range r.Logs {
		logs = append(logs[:k], base(name))
	}
	out = append(out, "log: "+strings.Join(logs, " and ")+", layout: "+base(r.Layout))
	of := func(log string) string {
		if log == "" {
			return ""
		}
		return " of " + base(log)
	}
	s := fmt.Sprintf("nominal stream: U = %.6g m/s", r.Reference.Speed)
	if r.Reference.Density != nil {
		s += fmt.Sprintf(", density %.6g kg/m3", *r.Reference.Density)
	}
	if r.Reference.Dynamic != nil {
		s += fmt.Sprintf(", dynamic pressure %.6g Pa; p and pt are against p_ref = 0 Pa", *r.Reference.Dynamic)
	}
	out = append(out, s)
	if r.Velocity == "speed" {
		out = append(out, "u is the speed |V| from total and static pressure: flow angles are not known")
	} else {
		out = append(out, "u is the axial velocity of the probe")
	}
	for _, s := range r.Steps {
		state := "applied"
		switch {
		case s.Off:
			state = "switched off"
		case !s.Applied:
			state = "nothing to do"
		}
		out = append(out, fmt.Sprintf("correction %s%s: %s; %s", s.Name, of(s.Log), state, s.Text))
	}
	for _, t := range r.Tubes {
		if t.State != "good" {
			out = append(out, fmt.Sprintf("tube %s%s: %s, %s; %s", t.Name, of(t.Log), t.State, t.Treated, t.Why))
		}
	}
	out = append(out, "uncertainties are standard uncertainties of one sample: scatter, zeros, displacement, static interpolation, fill, and position and dynamic pressure where the layout states them")
	return out
}

// base is the last part of a path, for outputs that hold no folder of a machine.
func base(path string) string {
	return path[strings.LastIndexAny(path, `/\`)+1:]
}
