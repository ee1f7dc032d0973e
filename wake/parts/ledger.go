package parts

import (
	"fmt"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// strips is the number of strips along the span and along the height.
const strips = 20

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

// Breakdown is the drag difference by one kind of part. The entries, and the rest but for
// regions, are integrated each by itself; Residual is what is then missing to the total.
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
	Breakdowns []Breakdown `json:"breakdowns"`
	// Warnings are doubts about the ledger.
	Warnings []wake.Warning `json:"-"`
}

// By finds a breakdown: regions, structures, span or height; nil for none.
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
// matching; one without a partner counts against nothing), and by strips along span and
// height, each plane on its own mesh. Both sets must have local drag.
func NewLedger(a, b *Set, m *Matching, regions []measure.Box) *Ledger {
	fa, fb := a.field, b.field
	l := &Ledger{A: fa.total(fa.Local), B: fb.total(fb.Local)}
	l.Delta = l.B - l.A
	if len(regions) > 0 {
		l.regions(fa, fb, regions)
	}
	l.structures(a, b, m)
	l.strips("span", fa, fb)
	l.strips("height", fa, fb)
	return l
}

func entry(name string, a, b float64) Entry { return Entry{Name: name, A: a, B: b, Delta: b - a} }

// close adds a breakdown with its residual.
func (l *Ledger) close(by string, entries []Entry, rest *Entry) {
	var s grid.Sum
	for _, e := range entries {
		s.Add(e.Delta)
	}
	if rest != nil {
		s.Add(rest.Delta)
	}
	l.Breakdowns = append(l.Breakdowns, Breakdown{By: by, Entries: entries, Rest: rest, Residual: l.Delta - s.Value()})
}

// bothWindows is the least box that holds the windows of both fields.
func bothWindows(fa, fb *Field) grid.Box {
	w := fb.Mesh.Window()
	return fa.Mesh.Window().Extend(w.Min).Extend(w.Max)
}

// boxEntry is the drag area in a box, each on its own mesh.
func boxEntry(name string, fa, fb *Field, box grid.Box) Entry {
	return entry(name, fa.in(box), fb.in(box))
}

// in is the drag area in a box, which is kept: of a baseline each variant asks for it.
func (f *Field) in(box grid.Box) float64 {
	if f.divided == nil {
		f.divided = map[grid.Box]float64{}
	}
	d, ok := f.divided[box]
	if !ok {
		d = f.Scale * quad.NewWeights(f.Mesh, &box).Integrate(f.Local)
		f.divided[box] = d
	}
	return d
}

func (l *Ledger) regions(fa, fb *Field, regions []measure.Box) {
	entries := []Entry{}
	overlap := false
	for k, r := range regions {
		entries = append(entries, boxEntry(r.Name, fa, fb, r.Box))
		for _, q := range regions[:k] {
			overlap = overlap || r.Box.Intersect(q.Box).Area() > 0
		}
	}
	if overlap {
		l.Warnings = append(l.Warnings, wake.Doubt("regions-overlap", fb.Name, "use boxes that do not overlap to have the rest", "some regions overlap, so they do not add up and no rest is given"))
		l.Breakdowns = append(l.Breakdowns, Breakdown{By: "regions", Entries: entries})
		return
	}
	// Boxes are clipped exactly, so that what is in none is the rest of the whole.
	rest := entry("rest", l.A, l.B)
	for _, e := range entries {
		rest = entry(rest.Name, rest.A-e.A, rest.B-e.B)
	}
	l.close("regions", entries, &rest)
}

func (l *Ledger) structures(a, b *Set, m *Matching) {
	entries := []Entry{}
	taken := map[string]bool{}
	for _, s := range a.Structures {
		e := entry(s.Name+" (baseline alone)", *s.DragArea, 0)
		if k := slices.IndexFunc(m.Pairs, func(p MatchPair) bool { return p.A == s.Name }); k >= 0 {
			name := m.Pairs[k].B
			taken[name] = true
			if e = entry(s.Name, *s.DragArea, *b.Structures[b.Index(name)].DragArea); name != s.Name {
				e.Name += " → " + name
			}
		}
		entries = append(entries, e)
	}
	for _, t := range b.Structures {
		if !taken[t.Name] {
			entries = append(entries, entry(t.Name+" (variant alone)", 0, *t.DragArea))
		}
	}
	rest := entry("rest", *a.Rest, *b.Rest)
	l.close("structures", entries, &rest)
}

// strips divides the window evenly along y ("span") or z ("height").
func (l *Ledger) strips(by string, fa, fb *Field) {
	entries := []Entry{}
	w := bothWindows(fa, fb)
	box, sum := w, 0.0
	lo, hi, from, to := w.Min.X, w.Max.X, &box.Min.X, &box.Max.X
	if by == "height" {
		lo, hi, from, to = w.Min.Y, w.Max.Y, &box.Min.Y, &box.Max.Y
	}
	at := func(k int) float64 {
		if k == strips {
			return hi
		}
		return lo + (hi-lo)*float64(k)/strips
	}
	for k := range strips {
		*from, *to = at(k), at(k+1)
		e := boxEntry(fmt.Sprintf("%.3g to %.3g m", *from, *to), fa, fb, box)
		sum += e.Delta
		up, c := *to, sum
		e.To, e.Cumulative = &up, &c
		entries = append(entries, e)
	}
	l.close(by, entries, nil)
}
