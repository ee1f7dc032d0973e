package main

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"wakeledger/wake/survey/rake"
)

// rakeText tells what became of each log: rows, tubes, corrections and what each was
// worth, the integrals, the doubts.
func rakeText(w io.Writer, results []*rake.Result) error {
	var b bytes.Buffer
	for k, r := range results {
		if k > 0 {
			b.WriteByte('\n')
		}
		rakeSheet(&b, r)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func rakeTable(b *bytes.Buffer, rows func(add func(cells ...string))) {
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	rows(func(cells ...string) { fmt.Fprintln(t, "  "+strings.Join(cells, "\t")) })
	t.Flush()
}

// rakeWrap writes head and then text, broken at blanks so that lines keep to 100
// columns, the further ones indented by hang.
func rakeWrap(b *bytes.Buffer, head, text string, hang int) {
	const width = 100
	b.WriteString(head)
	n := len([]rune(head))
	for i, word := range strings.Fields(text) {
		w := len([]rune(word))
		if i > 0 && n+1+w > width {
			fmt.Fprintf(b, "\n%*s", hang, "")
			n = hang
		} else if i > 0 {
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += w
	}
	b.WriteByte('\n')
}

// rakeHead says what the log holds.
func rakeHead(b *bytes.Buffer, r *rake.Result) {
	title := "rake " + r.Log
	fmt.Fprintf(b, "%s\n%s\n", title, strings.Repeat("=", len([]rune(title))))
	if r.Title != "" {
		fmt.Fprintln(b, r.Title)
	}
	fmt.Fprintf(b, "layout %s; %d wind-on rows, %d wind-off; %d positions, %d of them repeated\n", r.Layout, r.Rows.WindOn, r.Rows.WindOff, r.Rows.Places, r.Rows.Repeated)
	ref := r.Reference
	fmt.Fprintf(b, "nominal stream U = %.5g m/s", ref.Speed)
	if ref.Dynamic != nil {
		fmt.Fprintf(b, ", q = %.5g Pa", *ref.Dynamic)
	}
	if r.Velocity == "speed" {
		b.WriteString("; velocity is |V|, the flow angles are not known\n")
	} else {
		b.WriteString("; velocity components from the probe\n")
	}
	c := r.Counts
	fmt.Fprintf(b, "%d samples: %d filled, %d reversed; left out: %d readings missing, %d outside acceptance\n", c.Kept, c.Filled, c.Reversed, c.Missing, c.Outside)
}

func rakeSheet(b *bytes.Buffer, r *rake.Result) {
	rakeHead(b, r)
	b.WriteString("\ncorrections\n")
	log := ""
	for _, s := range r.Steps {
		state := "applied"
		switch {
		case s.Off:
			state = "OFF"
		case !s.Applied:
			state = "-"
		}
		if len(r.Logs) > 0 && s.Log != log {
			log = s.Log
			of := log
			if of == "" {
				of = "the samples of all"
			}
			fmt.Fprintf(b, " %s\n", of)
		}
		rakeWrap(b, fmt.Sprintf("  %-12s  %-7s  ", s.Name, state), s.Text, 25)
	}
	if len(r.Worth) > 0 {
		what := "Jones"
		if len(r.Lines) > 0 {
			what = "Jones at " + fmt.Sprintf("x = %.4g m", r.Lines[0].Position)
		}
		fmt.Fprintf(b, "\nwhat each was worth: the result with it less the result without\n")
		rakeTable(b, func(add func(...string)) {
			add("correction", what, "Cpt rms", "Cpt largest", "samples")
			for _, w := range r.Worth {
				add(string(w.Name), worthOf(w, len(r.Lines) > 0 && r.Lines[0].Cd != nil), fmt.Sprintf("%.5f", w.RMS), fmt.Sprintf("%.5f", w.Largest), fmt.Sprintf("%+d", w.Samples))
			}
		})
	}
	rakeTubes(b, r)
	if d := r.Drag; d != nil {
		rakeDrag(b, d)
	}
	if len(r.Lines) > 0 {
		rakeLines(b, r.Lines)
	}
	rakeWarnings(b, r)
}

// rakeTubes is the table of the tubes.
func rakeTubes(b *bytes.Buffer, r *rake.Result) {
	if len(r.Tubes) > 0 {
		b.WriteString("\ntubes\n")
		rakeTable(b, func(add func(...string)) {
			add("tube", "kind", "state", "treated", "zero, Pa", "drift, Pa", "spread, q", "off neighbours", "lag")
			num := func(p *float64, format string) string {
				if p == nil {
					return "-"
				}
				return fmt.Sprintf(format, *p)
			}
			for k, t := range r.Tubes {
				if t.Log != "" && (k == 0 || r.Tubes[k-1].Log != t.Log) {
					add("in "+t.Log, "", "", "", "", "", "", "", "")
				}
				odd := "-"
				if t.Odd != nil {
					odd = fmt.Sprintf("%.0f %%", 100**t.Odd)
				}
				add(t.Name, string(t.Kind), t.State, t.Treated, fmt.Sprintf("%+.2f", t.Zero), num(t.Drift, "%+.2f"), num(t.Spread, "%.4f"), odd, num(t.Lag, "%.3f"))
			}
		})
	}
}

func rakeWarnings(b *bytes.Buffer, r *rake.Result) {
	if len(r.Warnings) > 0 {
		b.WriteString("\nwarnings\n")
		for _, w := range r.Warnings {
			rakeWrap(b, "  ", fmt.Sprintf("%s; %s [%s]", w.Text, w.Cure, w.Code), 6)
		}
	}
}

func rakeItems(items []rake.Item) string {
	var s []string
	for _, it := range items {
		s = append(s, fmt.Sprintf("%s %.2g", it.Name, it.Standard))
	}
	return strings.Join(s, ", ")
}

func rakeDrag(b *bytes.Buffer, d *rake.Drag) {
	fmt.Fprintf(b, "\nthe surveyed window, %.4g m2 (its own integrals, not the vehicle's drag)\n", d.Area)
	if d.Sound() {
		fmt.Fprintf(b, "  Jones      %.5f m2, standard uncertainty %.5f m2, expanded (k = 2) %.5f m2\n", d.DragArea, d.Standard, 2*d.Standard)
		rakeWrap(b, "             ", "from "+rakeItems(d.Items), 13)
		if d.Bracket != nil {
			fmt.Fprintf(b, "             %.5f to %.5f m2 were Cp -0.1 or +0.1 throughout\n", d.Bracket[0], d.Bracket[1])
		}
	} else {
		fmt.Fprintf(b, "  Jones      not quoted: without meaning in %.1f %% of the wake's area\n", 100*d.Invalid)
	}
	fmt.Fprintf(b, "  loss       %.5f m2 = integral of 1 - Cpt\n", d.Loss)
	if d.Centroid != nil {
		fmt.Fprintf(b, "  centroid   y = %.4f m, z = %.4f m (weight 1 - Cpt; standard uncertainty %.2g mm, %.2g mm)\n", d.Centroid[0], d.Centroid[1], 1000*d.CentroidSigma[0], 1000*d.CentroidSigma[1])
	}
}

func rakeLines(b *bytes.Buffer, lines []rake.LineResult) {
	b.WriteString("\nlines, per span over q\n")
	chord := lines[0].Cd != nil
	rakeTable(b, func(add func(...string)) {
		head := []string{"x, m", "points", "Jones, mm", "u, mm", "Betz, mm", "velocity only, mm", "theta, mm", "delta*, mm", "H", "half-width, mm", "edges, m"}
		if chord {
			head = append(head, "c_d", "u(c_d)", "c_d Betz", "c_d Squire-Young")
		}
		add(head...)
		num := func(p *float64, scale float64, format string) string {
			if p == nil {
				return "-"
			}
			return fmt.Sprintf(format, scale**p)
		}
		for _, l := range lines {
			edges := "not reached"
			if l.Edges != nil {
				edges = fmt.Sprintf("%.4f to %.4f", l.Edges[0], l.Edges[1])
			}
			row := []string{fmt.Sprintf("%.4g", l.Position), fmt.Sprint(l.Points), fmt.Sprintf("%.3f", 1000*l.Jones), fmt.Sprintf("%.2g", 1000*l.Standard),
				fmt.Sprintf("%.3f", 1000*l.Betz), fmt.Sprintf("%.3f", 1000*l.VelocityOnly), fmt.Sprintf("%.3f", 1000*l.Momentum), fmt.Sprintf("%.3f", 1000*l.Displacement),
				num(l.Shape, 1, "%.3f"), num(l.HalfWidth, 1000, "%.2f"), edges}
			if chord && l.Cd != nil {
				row = append(row, fmt.Sprintf("%.5f", *l.Cd), fmt.Sprintf("%.2g", l.Standard / *l.Chord), num(l.CdBetz, 1, "%.5f"), num(l.CdSquireYoung, 1, "%.5f"))
			}
			add(row...)
		}
	})
	rakeWrap(b, "  ", fmt.Sprintf("pressure: %s; u is the standard uncertainty of Jones, for the first line from %s", lines[0].Pressure, rakeItems(lines[0].Items)), 2)
	b.WriteString("  the velocity-only figure is no drag where the pressure is not that of the stream\n")
}
