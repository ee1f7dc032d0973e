package structure

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// LedgerOptions steer NewLedger.
type LedgerOptions struct {
	Regions []measure.Box
	// Strips is the number of strips along the span and along the height; default 20.
	Strips int
	// Centre is the point that the sectors are counted about, m, and Sectors their
	// number; default 8. The first sector begins at the direction of +y and they run
	// toward +z. CentreOf says what the centre is.
	Centre   [2]float64
	CentreOf string
	Sectors  int
}

// Entry is one line of a ledger: the drag area of a part in the baseline and in
// the variant, m², and the difference.
type Entry struct {
	Name  string  `json:"name"`
	A     float64 `json:"baseline_m2"`
	B     float64 `json:"variant_m2"`
	Delta float64 `json:"delta_m2"`
	// To is the upper limit of a strip along its axis, m, and Cumulative the sum of
	// the differences up to there.
	To         *float64 `json:"to_m,omitempty"`
	Cumulative *float64 `json:"cumulative_m2,omitempty"`
}

// Breakdown is the drag difference by one kind of part. The entries and the rest
// are integrated each by itself; Residual is what is then missing to the total.
type Breakdown struct {
	By       string  `json:"by"`
	Entries  []Entry `json:"entries"`
	Rest     *Entry  `json:"rest,omitempty"`
	Residual float64 `json:"residual_m2"`
}

// Ledger says where the difference of the drag area sits. An area's local drag is
// not the drag of what lies upstream of it.
type Ledger struct {
	A          float64     `json:"baseline_m2"`
	B          float64     `json:"variant_m2"`
	Delta      float64     `json:"delta_m2"`
	Centre     [2]float64  `json:"centre_m"`
	CentreOf   string      `json:"centre_of,omitempty"`
	Breakdowns []Breakdown `json:"breakdowns"`
	// Warnings are doubts about the ledger.
	Warnings []wake.Warning `json:"-"`
}

// By finds a breakdown: regions, structures, span, height or sectors; nil for none.
func (l *Ledger) By(kind string) *Breakdown {
	for k := range l.Breakdowns {
		if l.Breakdowns[k].By == kind {
			return &l.Breakdowns[k]
		}
	}
	return nil
}

// NewLedger divides the difference of the drag area b − a by region (what lies in
// none is the rest; not given when regions overlap), by structure (pairs of the
// matching; one without a partner counts against nothing), by strips along span and
// height, and by sectors about the centre, each plane on its own mesh. Both sets must have
// local drag (*wake.InputError otherwise).
func NewLedger(a, b *Set, m *Matching, opt LedgerOptions) (*Ledger, error) {
	fa, fb := a.field, b.field
	switch {
	case fa.Local == nil || fb.Local == nil:
		return nil, &wake.InputError{File: fb.Name, Text: "no local drag, so there is no drag to divide", Cure: "export the static pressure and all three velocities"}
	case fa.Scale != fb.Scale:
		return nil, &wake.InputError{File: fb.Name, Text: "a half plane and a full one", Cure: "give both the same symmetry"}
	}
	if opt.Strips == 0 {
		opt.Strips = 20
	}
	if opt.Sectors == 0 {
		opt.Sectors = 8
	}
	if opt.Strips < 1 || opt.Sectors < 2 || math.IsNaN(opt.Centre[0]-opt.Centre[0]) || math.IsNaN(opt.Centre[1]-opt.Centre[1]) {
		return nil, &wake.InputError{Text: fmt.Sprintf("%d strips, %d sectors about (%g, %g)", opt.Strips, opt.Sectors, opt.Centre[0], opt.Centre[1]), Cure: "give at least 1 strip, 2 sectors and a finite centre"}
	}
	l := &Ledger{A: fa.total(fa.Local), B: fb.total(fb.Local), Centre: opt.Centre, CentreOf: opt.CentreOf}
	l.Delta = l.B - l.A
	if len(opt.Regions) > 0 {
		l.regions(fa, fb, opt.Regions)
	}
	l.structures(a, b, m)
	l.strips("span", fa, fb, opt.Strips)
	l.strips("height", fa, fb, opt.Strips)
	l.sectors(fa, fb, opt)
	return l, nil
}

// close adds a breakdown with its residual.
func (l *Ledger) close(b Breakdown) {
	var s quad.Sum
	for _, e := range b.Entries {
		s.Add(e.Delta)
	}
	if b.Rest != nil {
		s.Add(b.Rest.Delta)
	}
	b.Residual = l.Delta - s.Value()
	l.Breakdowns = append(l.Breakdowns, b)
}

// bothWindows is the least box that holds the windows of both fields.
func bothWindows(fa, fb *Field) grid.Box {
	w, b := fa.Mesh.Window(), fb.Mesh.Window()
	return grid.Box{
		Min: grid.Point{X: math.Min(w.Min.X, b.Min.X), Y: math.Min(w.Min.Y, b.Min.Y)},
		Max: grid.Point{X: math.Max(w.Max.X, b.Max.X), Y: math.Max(w.Max.Y, b.Max.Y)},
	}
}

// boxEntry is the drag area in a box, each on its own mesh.
func boxEntry(name string, fa, fb *Field, box grid.Box) Entry {
	wa, wb := quad.NewWeights(fa.Mesh, &box), quad.NewWeights(fb.Mesh, &box)
	e := Entry{Name: name, A: fa.Scale * wa.Integrate(fa.Local), B: fb.Scale * wb.Integrate(fb.Local)}
	e.Delta = e.B - e.A
	return e
}

func (l *Ledger) regions(fa, fb *Field, regions []measure.Box) {
	out := Breakdown{By: "regions", Entries: []Entry{}}
	overlap := false
	for k, r := range regions {
		out.Entries = append(out.Entries, boxEntry(r.Name, fa, fb, r.Box))
		for _, q := range regions[:k] {
			overlap = overlap || r.Box.Intersect(q.Box).Area() > 0
		}
	}
	if overlap {
		l.Warnings = append(l.Warnings, wake.Warning{
			Code: "regions-overlap", Where: fb.Name, Text: "some regions overlap, so they do not add up and no rest is given",
			Cure: "use boxes that do not overlap to have the rest",
		})
		l.Breakdowns = append(l.Breakdowns, out)
		return
	}
	rest := Entry{Name: "rest"}
	for _, box := range complement(bothWindows(fa, fb), regions) {
		e := boxEntry("", fa, fb, box)
		rest.A += e.A
		rest.B += e.B
	}
	rest.Delta = rest.B - rest.A
	out.Rest = &rest
	l.close(out)
}

// complement divides what the regions leave of a window into boxes: between the
// lines of all limits, runs along a row are joined.
func complement(window grid.Box, regions []measure.Box) []grid.Box {
	lines := func(lo, hi float64, of func(b grid.Box) [2]float64) []float64 {
		a := []float64{lo, hi}
		for _, r := range regions {
			for _, v := range of(r.Box) {
				if lo < v && v < hi {
					a = append(a, v)
				}
			}
		}
		slices.Sort(a)
		return slices.Compact(a)
	}
	xs := lines(window.Min.X, window.Max.X, func(b grid.Box) [2]float64 { return [2]float64{b.Min.X, b.Max.X} })
	ys := lines(window.Min.Y, window.Max.Y, func(b grid.Box) [2]float64 { return [2]float64{b.Min.Y, b.Max.Y} })
	var out []grid.Box
	for j := 0; j+1 < len(ys); j++ {
		open := false
		for i := 0; i+1 < len(xs); i++ {
			box := grid.Box{Min: grid.Point{X: xs[i], Y: ys[j]}, Max: grid.Point{X: xs[i+1], Y: ys[j+1]}}
			taken := slices.ContainsFunc(regions, func(r measure.Box) bool { return r.Box.Contains(box.Centre()) })
			switch {
			case taken:
				open = false
			case open:
				out[len(out)-1].Max.X = box.Max.X
			default:
				out = append(out, box)
				open = true
			}
		}
	}
	return out
}

func (l *Ledger) structures(a, b *Set, m *Matching) {
	out := Breakdown{By: "structures", Entries: []Entry{}}
	partner := map[string]string{}
	taken := map[string]bool{}
	for _, p := range m.Pairs {
		partner[p.A] = p.B
		taken[p.B] = true
	}
	for _, s := range a.Structures {
		e := Entry{Name: s.Name, A: *s.DragArea}
		if name, ok := partner[s.Name]; ok {
			e.B = *b.Structures[b.Index(name)].DragArea
			if name != s.Name {
				e.Name += " → " + name
			}
		} else {
			e.Name += " (baseline alone)"
		}
		e.Delta = e.B - e.A
		out.Entries = append(out.Entries, e)
	}
	for _, t := range b.Structures {
		if !taken[t.Name] {
			out.Entries = append(out.Entries, Entry{Name: t.Name + " (variant alone)", B: *t.DragArea, Delta: *t.DragArea})
		}
	}
	out.Rest = &Entry{Name: "rest", A: *a.Rest, B: *b.Rest, Delta: *b.Rest - *a.Rest}
	l.close(out)
}

// strips divides the window evenly along y ("span") or z ("height").
func (l *Ledger) strips(by string, fa, fb *Field, n int) {
	out := Breakdown{By: by, Entries: []Entry{}}
	w := bothWindows(fa, fb)
	lo, hi := w.Min.X, w.Max.X
	if by == "height" {
		lo, hi = w.Min.Y, w.Max.Y
	}
	at := func(k int) float64 {
		if k == n {
			return hi
		}
		return lo + (hi-lo)*float64(k)/float64(n)
	}
	sum := 0.0
	for k := range n {
		from, to := at(k), at(k+1)
		box := w
		if by == "height" {
			box.Min.Y, box.Max.Y = from, to
		} else {
			box.Min.X, box.Max.X = from, to
		}
		e := boxEntry(fmt.Sprintf("%.3g to %.3g m", from, to), fa, fb, box)
		sum += e.Delta
		c := sum
		e.To, e.Cumulative = &to, &c
		out.Entries = append(out.Entries, e)
	}
	l.close(out)
}

// sectors divides the plane by rays from the centre.
func (l *Ledger) sectors(fa, fb *Field, opt LedgerOptions) {
	da, db := newSectors(opt.Sectors, opt.Centre), newSectors(opt.Sectors, opt.Centre)
	da.add(fa.Mesh, fa.Local)
	db.add(fb.Mesh, fb.Local)
	out := Breakdown{By: "sectors", Entries: []Entry{}}
	n := opt.Sectors
	for q := range n {
		e := Entry{
			Name: fmt.Sprintf("%.4g° to %.4g°", 360*float64(q)/float64(n), 360*float64(q+1)/float64(n)),
			A:    fa.Scale * da.sums[q].Value(), B: fb.Scale * db.sums[q].Value(),
		}
		e.Delta = e.B - e.A
		out.Entries = append(out.Entries, e)
	}
	l.close(out)
}
