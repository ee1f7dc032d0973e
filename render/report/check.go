package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/study"
)

// Check says what was understood of planes, before anything is measured.
type Check struct{ planes []*wake.Plane }

// NewCheck makes a Check of planes.
func NewCheck(planes []*wake.Plane) Check { return Check{planes} }

// CheckSchema names the JSON document of Check.JSON.
const CheckSchema = "wakeledger.check/1"

// Text prints for each plane where it is, how its samples are joined, and which
// column became which quantity; at the end the doubts.
func (c Check) Text(w io.Writer) error {
	var s sheet
	for _, p := range c.planes {
		s.Section(DoubleRule, clean(p.Name()))
		box := p.Mesh.Window()
		a, b := p.Normal.InPlane()
		s.Para(fmt.Sprintf("Plane %s = %.4f m (samples within %.2g m of it). %s samples as %s of %s (by %s), spacing %.4g m, %s elements.",
			p.Normal, p.Position, p.Scatter, thousands(len(p.Mesh.Points)), kindWords(p.Mesh.Kind.String()), p.Mesh.Support, p.SupportBy, p.Mesh.Spacing(), thousands(p.Mesh.Elements())), 0)
		s.Para(fmt.Sprintf("Window %s from %.4f to %.4f m, %s from %.4f to %.4f m. Openings without samples: %d. Rows left out: %d; repeated positions merged: %d.",
			a, box.Min.X, box.Max.X, b, box.Min.Y, box.Max.Y, p.Mesh.Holes(), p.Dropped, p.Merged), 0)
		t := NewTable("quantity", "column", "unit in the file", "by", ">least", ">greatest", "unit here")
		for _, r := range c.rows(p) {
			unit := r.Unit
			if unit == "" {
				unit = "none: SI taken"
			}
			if r.Quantity.Unit() == "1" {
				unit = "1"
			}
			t.Add(r.Quantity.String(), clean(r.Column), unit, r.By, short(r.Least), short(r.Greatest), r.Quantity.Unit())
		}
		s.Table("Columns", t)
		if len(p.Ignored) > 0 {
			s.Para("Columns that were not used: "+clean(strings.Join(p.Ignored, ", "))+".", 2)
		}
		if !p.Has(wake.U) && !p.Has(wake.Pt) && !p.Has(wake.Cpt) {
			s.Para("No column was understood as u, the velocity along x, or as a total pressure: nothing can be integrated. Name the columns with --column u=\"NAME\", and v, w, p or pt likewise.", 2)
		}
		for _, w := range p.Warnings {
			s.notes.number(w)
		}
	}
	s.printNotes()
	return s.Text(w)
}

// kindWords is the kind of a mesh after "as".
func kindWords(kind string) string {
	if kind == "lattice" {
		return "a lattice"
	}
	return kind
}

// checkRow is one quantity of a plane.
type checkRow struct {
	Quantity        wake.Quantity
	Column, Unit    string
	By              string
	Least, Greatest float64
}

func (c Check) rows(p *wake.Plane) []checkRow {
	var out []checkRow
	for q := wake.X; q < wake.NumQuantities; q++ {
		src := p.Source[q]
		if src.Name == "" {
			continue
		}
		r := checkRow{Quantity: q, Column: src.Name, Unit: src.Unit, By: src.By}
		f := p.Field[q]
		if f == nil {
			// Positions live in the mesh, or in the station.
			a, b := p.Normal.InPlane()
			box := p.Mesh.Window()
			switch axis := wake.Axis(q - wake.X); {
			case p.Normal == wake.Oblique:
				r.Least, r.Greatest = along(p, axis)
			case axis == a:
				r.Least, r.Greatest = box.Min.X, box.Max.X
			case axis == b:
				r.Least, r.Greatest = box.Min.Y, box.Max.Y
			default:
				r.Least, r.Greatest = p.Position, p.Position
			}
		} else {
			r.Least, r.Greatest = f[0], f[0]
			for _, v := range f {
				r.Least, r.Greatest = min(r.Least, v), max(r.Greatest, v)
			}
		}
		out = append(out, r)
	}
	return out
}

// along is the range of the samples along an axis of the frame, of an oblique plane.
func along(p *wake.Plane, a wake.Axis) (least, greatest float64) {
	least, greatest = math.Inf(1), math.Inf(-1)
	for _, q := range p.Mesh.Points {
		v := p.Position*p.Directions[0][a] + q.X*p.Directions[1][a] + q.Y*p.Directions[2][a]
		least, greatest = min(least, v), max(greatest, v)
	}
	return least, greatest
}

// JSON writes the same as one document.
func (c Check) JSON(w io.Writer) error {
	type column struct {
		Quantity string  `json:"quantity"`
		Column   string  `json:"column"`
		Unit     string  `json:"unit_in_file,omitempty"`
		By       string  `json:"by"`
		Least    float64 `json:"least"`
		Greatest float64 `json:"greatest"`
		SI       string  `json:"unit"`
	}
	type plane struct {
		File      string     `json:"file"`
		Normal    string     `json:"normal"`
		Position  float64    `json:"position_m"`
		Scatter   float64    `json:"scatter_m"`
		Samples   int        `json:"samples"`
		Dropped   int        `json:"dropped"`
		Merged    int        `json:"merged"`
		Kind      string     `json:"kind"`
		Support   string     `json:"support"`
		SupportBy string     `json:"support_by"`
		Elements  int        `json:"elements"`
		Holes     int        `json:"holes"`
		Spacing   float64    `json:"spacing_m"`
		Window    [2]float64 `json:"first_m"`
		Second    [2]float64 `json:"second_m"`
		Columns   []column   `json:"columns"`
		Unused    []string   `json:"unused,omitempty"`
	}
	var n notes
	doc := struct {
		Schema   string         `json:"schema"`
		Warnings []wake.Warning `json:"warnings"`
		Planes   []plane        `json:"planes"`
	}{Schema: CheckSchema, Planes: []plane{}}
	for _, p := range c.planes {
		box := p.Mesh.Window()
		d := plane{
			File: p.Name(), Normal: p.Normal.String(), Position: p.Position, Scatter: p.Scatter,
			Samples: len(p.Mesh.Points), Dropped: p.Dropped, Merged: p.Merged,
			Kind: p.Mesh.Kind.String(), Support: p.Mesh.Support.String(), SupportBy: p.SupportBy,
			Elements: p.Mesh.Elements(), Holes: p.Mesh.Holes(), Spacing: p.Mesh.Spacing(),
			Window: [2]float64{box.Min.X, box.Max.X}, Second: [2]float64{box.Min.Y, box.Max.Y}, Columns: []column{}, Unused: p.Ignored,
		}
		for _, r := range c.rows(p) {
			d.Columns = append(d.Columns, column{r.Quantity.String(), r.Column, r.Unit, r.By, r.Least, r.Greatest, r.Quantity.Unit()})
		}
		for _, w := range p.Warnings {
			n.number(w)
		}
		doc.Planes = append(doc.Planes, d)
	}
	doc.Warnings = n.all()
	return writeJSON(w, doc)
}

// StudyWarnings lists every warning of a study once, in the order in which the
// text shows them.
func StudyWarnings(o *study.Outcome) []wake.Warning {
	var n notes
	n.addOutcome(o)
	return n.all()
}
