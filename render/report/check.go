package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/study"
)

// Check says what was understood of planes, before anything is measured.
type Check []*wake.Plane

// Text prints for each plane where it is, how its samples are joined, and which
// column became which quantity; at the end the doubts.
func (c Check) Text(w io.Writer) error {
	var s sheet
	for _, p := range c {
		d := newCheckPlane(p)
		s.section(clean(d.File), "=")
		a, b := p.Normal.InPlane()
		s.para(fmt.Sprintf("Plane %s = %s m (samples within %.2g m of it). %s samples as %s of %s (by %s), spacing %.4g m, %s elements.",
			d.Normal, fixed(d.Position, 4), d.Scatter, thousands(d.Samples), strings.Replace(d.Kind, "lattice", "a lattice", 1), d.Support, d.SupportBy, d.Spacing, thousands(d.Elements)), 0)
		s.para(fmt.Sprintf("Window %s %s, %s %s. Openings without samples: %d. Rows left out: %d; repeated positions merged: %d.",
			a, limits(d.Window), b, limits(d.Second), d.Holes, d.Dropped, d.Merged), 0)
		t := NewTable("quantity", "column", "unit in the file", "by", ">min", ">max", "unit here")
		for _, r := range d.Columns {
			unit := cmp.Or(r.Unit, "none: SI taken")
			if r.SI == "1" {
				unit = "1"
			}
			t.Add(r.Quantity, clean(r.Column), unit, r.By, known(r.Least, 1, significant, 6), known(r.Greatest, 1, significant, 6), r.SI)
		}
		s.table("Columns", t)
		if len(p.Ignored) > 0 {
			s.para("Columns that were not used: "+clean(strings.Join(p.Ignored, ", "))+".", 2)
		}
		if !p.Has(wake.U) && !p.Has(wake.Pt) && !p.Has(wake.Cpt) {
			s.para("No column was understood as u, the velocity along x, or as a total pressure: nothing can be integrated. Name the columns with --column u=\"NAME\", and v, w, p or pt likewise.", 2)
		}
		s.notes.marks(p.Warnings)
	}
	s.putNotes(true)
	return s.print(w)
}

// checkPlane is what JSON has of a plane, checkColumn of a quantity of it.
type checkPlane struct {
	File      string        `json:"file"`
	Normal    string        `json:"normal"`
	Position  float64       `json:"position_m"`
	Scatter   float64       `json:"scatter_m"`
	Samples   int           `json:"samples"`
	Dropped   int           `json:"dropped"`
	Merged    int           `json:"merged"`
	Kind      string        `json:"kind"`
	Support   string        `json:"support"`
	SupportBy string        `json:"support_by"`
	Elements  int           `json:"elements"`
	Holes     int           `json:"holes"`
	Spacing   float64       `json:"spacing_m"`
	Window    [2]float64    `json:"first_m"`
	Second    [2]float64    `json:"second_m"`
	Columns   []checkColumn `json:"columns"`
	Unused    []string      `json:"unused,omitempty"`
}

type checkColumn struct {
	Quantity string `json:"quantity"`
	Column   string `json:"column"`
	Unit     string `json:"unit_in_file,omitempty"`
	By       string `json:"by"`
	// Those of positions are the window's.
	Least    *float64 `json:"least,omitempty"`
	Greatest *float64 `json:"greatest,omitempty"`
	SI       string   `json:"unit"`
}

func newCheckPlane(p *wake.Plane) checkPlane {
	m, box := p.Mesh, p.Mesh.Window()
	d := checkPlane{
		File: p.Name(), Normal: p.Normal.String(), Position: p.Position, Scatter: p.Scatter,
		Samples: len(m.Points), Dropped: p.Dropped, Merged: p.Merged,
		Kind: m.Kind.String(), Support: m.Support.String(), SupportBy: p.SupportBy,
		Elements: m.Elements(), Holes: m.Holes(), Spacing: m.Spacing(),
		Window: [2]float64{box.Min.X, box.Max.X}, Second: [2]float64{box.Min.Y, box.Max.Y}, Unused: p.Ignored,
	}
	for q := wake.X; q < wake.NumQuantities; q++ {
		src := p.Source[q]
		if src.Name == "" {
			continue
		}
		r := checkColumn{Quantity: q.String(), Column: src.Name, Unit: src.Unit, By: src.By, SI: q.Unit()}
		if f := p.Field[q]; f != nil {
			r.Least, r.Greatest = new(slices.Min(f)), new(slices.Max(f))
		}
		d.Columns = append(d.Columns, r)
	}
	return d
}

// JSON writes the same as one document.
func (c Check) JSON(w io.Writer) error {
	var n notes
	planes := []checkPlane{}
	for _, p := range c {
		planes = append(planes, newCheckPlane(p))
		n.marks(p.Warnings)
	}
	return WriteJSON(w, struct {
		Schema   string         `json:"schema"`
		Warnings []wake.Warning `json:"warnings"`
		Planes   []checkPlane   `json:"planes"`
	}{"wakeledger.check/1", n.list, planes})
}

// StudyWarnings lists every warning of a study once, in the order in which the
// text shows them.
func StudyWarnings(o *study.Outcome) []wake.Warning {
	var n notes
	n.addOutcome(o)
	return n.list
}
