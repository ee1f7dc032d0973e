package average

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// Schema names the JSON document of WriteJSON.
const Schema = "wakeledger.average/1"

// digits of a mean in the plane file: far beyond any survey, and 1e-9 of a drag.
const digits = 10

// renamed are columns that keep out of the reader's sight where there is a static
// pressure: these means hold the kinetic energy of the fluctuations, and a reader
// would hold them against p and the mean velocities.
var renamed = map[string]string{"pt": "pt_with_fluctuations", "cpt": "cpt_with_fluctuations"}

// WritePlane writes the mean plane for the reader of surveys, which passes over the shear
// stresses and the uncertainty of u. Comments say where it comes from.
func (r *Result) WritePlane(w io.Writer) error {
	p := r.plane
	var out []survey.Column
	for k, v := range p.pos {
		out = append(out, survey.Column{Name: wake.Quantity(k).String(), Unit: "m", Values: v, Digits: -1})
	}
	for _, c := range p.columns {
		if other := renamed[c.name]; other != "" && p.get("p") != nil {
			c.name = other
		}
		out = append(out, survey.Column{Name: c.name, Unit: c.unit, Values: c.values, Digits: digits})
	}
	return survey.Write(w, r.provenance(), out)
}

// provenance says what the plane is, line by line.
func (r *Result) provenance() []string {
	out := []string{r.what()}
	if l := r.Local; l != nil {
		out = append(out,
			fmt.Sprintf("integral time scale of u %s, effective number of snapshots %.4g", r.scale(l.Scale, l.ScaleSeconds), l.Effective),
			"uu vv ww uv uw vw: resolved stresses, <u'u'> over the snapshots, divided by their number",
			uncertaintyColumn+": sqrt(uu/(effective number - 1))")
	}
	for _, v := range r.Series {
		line := fmt.Sprintf("momentum integral, %s: %.6g m2", clean(v.Name), v.Mean)
		if v.Standard != nil {
			line += fmt.Sprintf(", standard uncertainty %.2g m2, time scale %s", *v.Standard, r.scale(v.Scale, v.ScaleSeconds))
		}
		out = append(out, line)
	}
	if ref := r.Reference; ref != nil {
		out = append(out, fmt.Sprintf("reference U = %g m/s, density = %g kg/m3, p = %g Pa; %s plane, samples as %s", ref.Speed, ref.Density, ref.Pressure, ref.Symmetry, ref.Support))
	}
	return out
}

func (r *Result) what() string {
	if r.Snapshots == 1 {
		return fmt.Sprintf("one snapshot, number %d: %s", r.First, clean(r.Files[0]))
	}
	s := fmt.Sprintf("time mean of %d snapshots, numbers %d to %d: %s to %s", r.Snapshots, r.First, r.Last, clean(r.Files[0]), clean(r.Files[1]))
	if r.TimeStep != nil {
		s += fmt.Sprintf(", %.6g s apart", *r.TimeStep)
	}
	return s
}

func (r *Result) scale(snapshots float64, seconds *float64) string {
	s := fmt.Sprintf("%.3g snapshots", snapshots)
	if seconds != nil {
		s += fmt.Sprintf(" (%.3g s)", *seconds)
	}
	return s
}

// clean keeps a name from breaking lines.
func clean(s string) string {
	return strings.Map(func(c rune) rune {
		if c < ' ' || c == 0x7f {
			return '·'
		}
		return c
	}, strings.ToValidUTF8(s, "·"))
}

// WriteSeries writes the time series as comma-separated text.
func (r *Result) WriteSeries(w io.Writer) error {
	out := csv.NewWriter(w)
	row := []string{"number"}
	if r.TimeStep != nil {
		row = append(row, "time [s]")
	}
	row = append(row, "file")
	for _, v := range r.Series {
		row = append(row, "drag area "+clean(v.Name)+" [m2]")
	}
	out.Write(row)
	for i, n := range r.plane.index {
		row = append(row[:0], strconv.FormatInt(n, 10))
		if r.TimeStep != nil {
			row = append(row, fmt.Sprintf("%.9g", float64(n-1)**r.TimeStep))
		}
		row = append(row, clean(r.plane.names[i]))
		for _, v := range r.Series {
			row = append(row, fmt.Sprintf("%.9g", v.values[i]))
		}
		out.Write(row)
	}
	out.Flush()
	return out.Error()
}

// WriteJSON writes the summary as one JSON document.
func (r *Result) WriteJSON(w io.Writer) error {
	doc := struct {
		Schema   string         `json:"schema"`
		Warnings []wake.Warning `json:"warnings"`
		*Result
	}{Schema, append([]wake.Warning{}, r.Warnings...), r}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(doc)
}

// WriteText writes the summary for people.
func (r *Result) WriteText(w io.Writer) error {
	var b bytes.Buffer
	title := strings.ToUpper(r.what()[:1]) + r.what()[1:]
	fmt.Fprintf(&b, "%s\n%s\n", title, strings.Repeat("=", len([]rune(title))))
	fmt.Fprintf(&b, "%d samples. Means of %s", r.Samples, strings.Join(r.Quantities, " "))
	if len(r.Stresses) > 0 {
		fmt.Fprintf(&b, "; resolved stresses %s", strings.Join(r.Stresses, " "))
	}
	b.WriteString(".\n")
	if l := r.Local; l != nil {
		fmt.Fprintf(&b, "Local velocity: time scale of u %s, from %d samples; equivalent to %.1f independent snapshots.\n", r.scale(l.Scale, l.ScaleSeconds), l.Probes, l.Effective)
		fmt.Fprintf(&b, "Standard uncertainty of the mean u: at most %.2g m/s, at (%.4g, %.4g, %.4g) m; times %.2f for 95 %%.\n", l.Largest, l.At[0], l.At[1], l.At[2], l.Coverage)
	}
	if r.Blocks > 0 {
		fmt.Fprintf(&b, "Measure the state file (mean.state): what comes of it includes time averaging, by leaving out each of %d blocks of the record.\n", r.Blocks)
	}
	if ref := r.Reference; ref != nil && len(r.Series) > 0 {
		fmt.Fprintf(&b, "\nMomentum integral of each snapshot, drag area in m2 (U = %g m/s, density %g kg/m3, p = %g Pa, %s plane, samples as %s)\n", ref.Speed, ref.Density, ref.Pressure, ref.Symmetry, ref.Support)
		t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprint(t, "part\tmean\t± 95 %\tstandard\tk\tν\tper snapshot\ttime scale\tdrift\t\n")
		for _, v := range r.Series {
			fmt.Fprintf(t, "%s\t%.4f\t%s\t%s\t%s\t%s\t%.4f\t%s\t%+.4f\t\n", clean(v.Name), v.Mean, number("%.4f", v.Expanded), number("%.4f", v.Standard), number("%.2f", v.Coverage), number("%.0f", v.DOF), v.Deviation, r.scale(v.Scale, v.ScaleSeconds), v.Drift)
		}
		t.Flush()
	}
	if len(r.Warnings) > 0 {
		b.WriteString("\nNotes\n")
		for i, n := range r.Warnings {
			fmt.Fprintf(&b, "[%d] %s (%s)\n", i+1, clean(n.Text), n.Code)
			if n.Cure != "" {
				fmt.Fprintf(&b, "    fix: %s\n", clean(n.Cure))
			}
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

func number(format string, v *float64) string {
	if v == nil {
		return "–"
	}
	return fmt.Sprintf(format, *v)
}
