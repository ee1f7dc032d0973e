package average

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// digits of a mean in the plane file: far beyond any survey, and 1e-9 of a drag.
const digits = 10

// renamed are columns that keep out of the reader's sight where there is a static
// pressure: these means hold the kinetic energy of the fluctuations, and a reader
// would hold them against p and the mean velocities.
var renamed = map[wake.Quantity]string{wake.Pt: "pt_with_fluctuations", wake.Cpt: "cpt_with_fluctuations"}

// WritePlane writes the mean plane for the reader of surveys, which passes over the shear
// stresses and the uncertainty of u. Comments say where it comes from.
func (r *Result) WritePlane(w io.Writer) error {
	var out []survey.Column
	for k, v := range r.mean.Col {
		q := wake.Quantity(k)
		c := survey.Column{Name: q.String(), Unit: q.Unit(), Values: v, Digits: digits}
		if q <= wake.Z {
			c.Digits = -1
		}
		if other := renamed[q]; other != "" && r.mean.Has(wake.P) {
			c.Name = other
		}
		if v != nil {
			out = append(out, c)
		}
	}
	return survey.Write(w, r.provenance(), append(out, r.beside...))
}

// provenance says what the plane is, line by line.
func (r *Result) provenance() []string {
	out := []string{r.What()}
	if len(r.Stresses) > 0 {
		out = append(out, "uu vv ww uv uw vw: resolved stresses, <u'u'> over the snapshots, divided by their number")
	}
	if r.Blocks > 0 {
		out = append(out, fmt.Sprintf("%s: by leaving out each of %d blocks of the record", uncertaintyColumn, r.Blocks))
	}
	for _, v := range r.Series {
		line := fmt.Sprintf("momentum integral, %s: %.6g m2", clean(v.Name), v.Mean)
		if v.Standard != nil {
			line += fmt.Sprintf(", standard uncertainty %.2g m2, time scale %s", *v.Standard, r.Time(v.Scale, v.ScaleSeconds))
		}
		out = append(out, line)
	}
	if ref := r.Reference; ref != nil {
		out = append(out, fmt.Sprintf("reference U = %g m/s, density = %g kg/m3, p = %g Pa; %s plane, samples as %s", ref.Speed, ref.Density, ref.Pressure, ref.Symmetry, ref.Support))
	}
	return out
}

// What says of which snapshots the mean is.
func (r *Result) What() string {
	if r.Snapshots == 1 {
		return fmt.Sprintf("one snapshot, number %d: %s", r.First, clean(r.Files[0]))
	}
	s := fmt.Sprintf("time mean of %d snapshots, numbers %d to %d: %s to %s", r.Snapshots, r.First, r.Last, clean(r.Files[0]), clean(r.Files[1]))
	if r.TimeStep != nil {
		s += fmt.Sprintf(", %.6g s apart", *r.TimeStep)
	}
	return s
}

// Time writes a time in snapshots, and in s where that is known.
func (r *Result) Time(snapshots float64, seconds *float64) string {
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
	for i, n := range r.index {
		row = append(row[:0], strconv.FormatInt(n, 10))
		if r.TimeStep != nil {
			row = append(row, fmt.Sprintf("%.9g", float64(n-1)**r.TimeStep))
		}
		row = append(row, clean(r.names[i]))
		for _, v := range r.Series {
			row = append(row, fmt.Sprintf("%.9g", v.values[i]))
		}
		out.Write(row)
	}
	out.Flush()
	return out.Error()
}
