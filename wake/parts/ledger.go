package parts

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

const (
	// strips is the number of strips along the span and along the height, sectors that of
	// sectors: the first begins at the direction of +y and they run toward +z.
	strips, sectors = 20, 8
)

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
// local drag.
func NewLedger(a, b *Set, m *Matching, regions []measure.Box, centre [2]float64, centreOf string) *Ledger {
	fa, fb := a.field, b.field
	l := &Ledger{A: fa.total(fa.Local), B: fb.total(fb.Local), Centre: centre, CentreOf: centreOf}
	l.Delta = l.B - l.A
	if len(regions) > 0 {
		l.regions(fa, fb, regions)
	}
	l.structures(a, b, m)
	l.strips("span", fa, fb)
	l.strips("height", fa, fb)
	l.sectors(fa, fb)
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
	of := func(f *Field) float64 {
		return f.once(box, func() []float64 { return []float64{quad.NewWeights(f.Mesh, &box).Integrate(f.Local)} })[0]
	}
	return entry(name, fa.Scale*of(fa), fb.Scale*of(fb))
}

// once keeps what part of the local drag lies where: of a baseline it is asked for by each variant.
// where is the box or the sectors.
func (f *Field) once(where any, find func() []float64) []float64 {
	if f.divided == nil {
		f.divided = map[any][]float64{}
	}
	if f.divided[where] == nil {
		f.divided[where] = find()
	}
	return f.divided[where]
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
		l.Warnings = append(l.Warnings, wake.Warning{
			Code: "regions-overlap", Where: fb.Name, Text: "some regions overlap, so they do not add up and no rest is given",
			Cure: "use boxes that do not overlap to have the rest",
		})
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

// sectors divides the plane by rays from the centre.
func (l *Ledger) sectors(fa, fb *Field) {
	of := func(f *Field) []float64 {
		return f.once(l.Centre, func() []float64 { return inSectors(f, l.Centre) })
	}
	a, b := of(fa), of(fb)
	entries := []Entry{}
	for q := range sectors {
		name := fmt.Sprintf("%.4g° to %.4g°", 360*float64(q)/sectors, 360*float64(q+1)/sectors)
		entries = append(entries, entry(name, fa.Scale*a[q], fb.Scale*b[q]))
	}
	l.close("sectors", entries, nil)
}

// inSectors integrates the local drag of a field, linear in triangles, over the sectors about a
// centre. An element whose corners lie in one sector, which is convex, belongs to it whole.
func inSectors(f *Field, centre [2]float64) []float64 {
	mesh, g := f.Mesh.Nodal(f.Local)
	var rays [sectors + 1][2]float64
	for q := range rays {
		rays[q][1], rays[q][0] = math.Sincos(2 * math.Pi * float64(q%sectors) / sectors)
	}
	// side has, for each ray, what is positive to its left.
	side := func(q int, p grid.Point) float64 {
		return rays[q][0]*(p.Y-centre[1]) - rays[q][1]*(p.X-centre[0])
	}
	of, q := make([]int32, len(mesh.Points)), 0
	for v, p := range mesh.Points {
		// Mostly that of the node before.
		if !(side(q, p) > 0 && side(q+1, p) < 0) {
			t := math.Atan2(p.Y-centre[1], p.X-centre[0]) / (2 * math.Pi) * sectors
			if t < 0 {
				t += sectors
			}
			q = min(int(t), sectors-1)
		}
		of[v] = int32(q)
	}
	var whole [sectors]grid.Sum
	var cuts [sectors]sums
	s := newSimplex(mesh, g, func(c []int32) bool {
		return slices.ContainsFunc(c, func(i int32) bool { return of[i] != of[c[0]] })
	}, func(c []int32) { whole[of[c[0]]].Add(elementIntegral(mesh, g, c)) })
	local := s.values(g)
	var room [2][12]bary
	for k := 0; k < len(s.tri); k += 3 {
		i, j, o := s.tri[k], s.tri[k+1], s.tri[k+2]
		p, v := [3]grid.Point{s.pts[i], s.pts[j], s.pts[o]}, [3]float64{local[i], local[j], local[o]}
		area := grid.TriangleArea(p[0], p[1], p[2])
		for q := range sectors {
			from := [3]float64{side(q, p[0]), side(q, p[1]), side(q, p[2])}
			to := [3]float64{-side(q+1, p[0]), -side(q+1, p[1]), -side(q+1, p[2])}
			if max(from[0], from[1], from[2]) > 0 && max(to[0], to[1], to[2]) > 0 {
				poly := append(room[0][:0], bary{1, 0, 0}, bary{0, 1, 0}, bary{0, 0, 1})
				piece := cut(cut(poly, room[1][:0], from), room[0][:0], to)
				cuts[q].add(piece, area, p, p[0], [3]float64{}, v, [3]float64{})
			}
		}
	}
	out := make([]float64, sectors)
	for q := range out {
		out[q] = whole[q].Value() + cuts[q].drag()
	}
	return out
}
