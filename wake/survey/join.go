package survey

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/wake"
)

// samePosition is how far two files may place the same point apart, as a part of
// the diagonal of the points: files with seven digits agree to 1e-6.
const samePosition = 2e-6

// maxParts is the most files that one name may join.
const maxParts = 8

// Parts lists the files that a name stands for. A name that is a file, or that
// has no '+', stands for itself. Else the name is cut at '+' so that each part is a
// file: the first as given, the others as given or in the folder of the first. More
// than one way to cut it is an error, and so is none.
func Parts(name string) ([]string, error) {
	if name == "-" || !strings.Contains(name, "+") || isFile(name) {
		return []string{name}, nil
	}
	var ways [][]string
	var cut func(rest string, done []string)
	cut = func(rest string, done []string) {
		if len(done) == maxParts {
			return
		}
		place := func(s string) (string, bool) {
			if s == "" {
				return "", false
			}
			if isFile(s) {
				return s, true
			}
			if len(done) > 0 && !filepath.IsAbs(s) {
				if beside := filepath.Join(filepath.Dir(done[0]), s); isFile(beside) {
					return beside, true
				}
			}
			return "", false
		}
		if f, ok := place(rest); ok && len(done) > 0 {
			ways = append(ways, append(slices.Clone(done), f))
		}
		for i, c := range rest {
			if c != '+' {
				continue
			}
			if f, ok := place(rest[:i]); ok {
				cut(rest[i+1:], append(slices.Clone(done), f))
			}
		}
	}
	cut(name, nil)
	switch len(ways) {
	case 0:
		return nil, &wake.InputError{File: name, Text: "cannot be opened: there is no such file, and it cannot be cut at '+' into files that are there", Cure: "check the names; the second file is looked for as given and beside the first"}
	case 1:
		return ways[0], nil
	}
	return nil, &wake.InputError{File: name, Text: fmt.Sprintf("can be cut into files in %d ways: %s, or %s", len(ways), strings.Join(ways[0], " and "), strings.Join(ways[1], " and ")), Cure: "rename a file"}
}

func isFile(name string) bool {
	info, err := os.Stat(name)
	return err == nil && !info.IsDir()
}

// readJoined reads files that hold different quantities at the same points. The
// points, and the polygons if there are any, are those of the first file; the others
// are matched to it by position, in any order. A quantity that several files hold
// is taken from the first one that does.
func readJoined(ctx context.Context, name string, parts []string, opt Options) (*wake.Samples, error) {
	absent := make([]map[wake.Quantity]error, len(parts))
	files := make([]*wake.Samples, len(parts))
	for k, part := range parts {
		o := opt
		absent[k] = map[wake.Quantity]error{}
		o.absent = absent[k]
		s, err := readFile(ctx, part, o)
		if err != nil {
			return nil, err
		}
		files[k] = s
	}
	for q := wake.X; q < wake.NumQuantities; q++ {
		lacking := 0
		for _, a := range absent {
			if a[q] != nil {
				lacking++
			}
		}
		if lacking == len(parts) {
			return nil, absent[0][q]
		}
	}
	out := files[0]
	for _, s := range files[1:] {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := join(out, s); err != nil {
			return nil, err
		}
	}
	for _, s := range files[1:] {
		for _, w := range s.Warnings {
			if !slices.Contains(out.Warnings, w) {
				out.Warnings = append(out.Warnings, w)
			}
		}
	}
	out.File = name
	return out, nil
}

// join adds the columns of s to those of the samples to.
func join(to, s *wake.Samples) error {
	if to.N+to.Dropped != s.N+s.Dropped {
		return &wake.InputError{File: s.File, Text: fmt.Sprintf("has %d points, %s has %d", s.N+s.Dropped, to.File, to.N+to.Dropped), Cure: "join files of the same points only"}
	}
	if s.CellValues != to.CellValues {
		points := to
		if to.CellValues {
			points = s
		}
		// Polygons say where values belong; text without a word of it does not.
		if points.Elements != nil {
			return &wake.InputError{File: s.File, Text: "holds values of other places (points or cells) than " + to.File, Cure: "export both on points, or both on cells"}
		}
		to.CellValues = true
	}
	m := newMatcher(to, s)
	partner := m.match()
	missing := 0
	for i, j := range partner {
		if j >= 0 {
			continue
		}
		// Points that the other file dropped for a missing value go with it.
		if missing++; missing > s.Dropped {
			e := &wake.InputError{File: to.File, Text: fmt.Sprintf("the point (%.6g, %.6g, %.6g) has no partner within %.2g m in %s", to.Col[wake.X][i], to.Col[wake.Y][i], to.Col[wake.Z][i], m.tol, s.File),
				Cure: "join files of the same points only, in one unit and one frame"}
			if to.LineOf != nil {
				e.Line = to.LineOf(i)
			}
			return e
		}
	}
	var twice []string
	for q := wake.U; q < wake.NumQuantities; q++ {
		if s.Col[q] == nil {
			continue
		}
		if to.Col[q] != nil {
			twice = append(twice, q.String())
			continue
		}
		col := make([]float64, to.N)
		for i, j := range partner {
			col[i] = math.NaN()
			if j >= 0 {
				col[i] = s.Col[q][j]
			}
		}
		to.Col[q], to.Source[q] = col, s.Source[q]
	}
	if len(twice) > 0 {
		to.Warnings = append(to.Warnings, wake.Warning{Code: "joined-twice", Where: s.File, Text: fmt.Sprintf("%s are in both files; those of %s are used", strings.Join(twice, " "), to.File), Cure: "leave the columns out of one file"})
	}
	for _, n := range s.Ignored {
		if !slices.Contains(to.Ignored, n) {
			to.Ignored = append(to.Ignored, n)
		}
	}
	if to.Elements == nil && s.Elements != nil {
		adopt(to, s, partner)
	}
	if missing > 0 {
		drop(to, partner)
	}
	return nil
}

// adopt takes over the polygons of s, whose sample partner[i] is sample i of to.
func adopt(to, s *wake.Samples, partner []int32) {
	to.CellValues = s.CellValues
	e := &wake.Elements{Start: []int32{0}}
	if s.CellValues {
		e.Corner = s.Elements.Corner
		for _, j := range partner {
			if j >= 0 {
				e.Index = append(e.Index, s.Elements.Index[s.Elements.Start[j]:s.Elements.Start[j+1]]...)
			}
			e.Start = append(e.Start, int32(len(e.Index)))
		}
		to.Elements = e
		return
	}
	back := make([]int32, s.N)
	for j := range back {
		back[j] = -1
	}
	for i, j := range partner {
		if j >= 0 {
			back[j] = int32(i)
		}
	}
	for k := range len(s.Elements.Start) - 1 {
		ids := s.Elements.Index[s.Elements.Start[k]:s.Elements.Start[k+1]]
		if slices.ContainsFunc(ids, func(id int32) bool { return back[id] < 0 }) {
			continue
		}
		for _, id := range ids {
			e.Index = append(e.Index, back[id])
		}
		e.Start = append(e.Start, int32(len(e.Index)))
	}
	to.Elements = e
}

// drop leaves out the samples without partner, with the polygons that need them.
func drop(to *wake.Samples, partner []int32) {
	keep := make([]int32, 0, to.N)
	renumber := make([]int32, to.N)
	for i, j := range partner {
		renumber[i] = -1
		if j >= 0 {
			renumber[i] = int32(len(keep))
			keep = append(keep, int32(i))
		}
	}
	for q, c := range to.Col {
		if c == nil {
			continue
		}
		for i, k := range keep {
			c[i] = c[k]
		}
		to.Col[q] = c[:len(keep)]
	}
	if e := to.Elements; e != nil {
		left := &wake.Elements{Corner: e.Corner, Start: []int32{0}}
		for k := range len(e.Start) - 1 {
			ids := e.Index[e.Start[k]:e.Start[k+1]]
			if to.CellValues && renumber[k] < 0 || !to.CellValues && slices.ContainsFunc(ids, func(id int32) bool { return renumber[id] < 0 }) {
				continue
			}
			for _, id := range ids {
				if !to.CellValues {
					id = renumber[id]
				}
				left.Index = append(left.Index, id)
			}
			left.Start = append(left.Start, int32(len(left.Index)))
		}
		to.Elements = left
	}
	if f := to.LineOf; f != nil {
		to.LineOf = func(i int) int { return f(int(keep[i])) }
	}
	to.Dropped += to.N - len(keep)
	to.N = len(keep)
}

// matcher pairs the points of two files.
type matcher struct {
	a, b [3][]float64
	tol  float64
	cell float64
	low  [3]float64
}

func newMatcher(to, s *wake.Samples) *matcher {
	m := &matcher{}
	sum := 0.0
	for k := range m.a {
		m.a[k], m.b[k] = to.Col[wake.X+wake.Quantity(k)], s.Col[wake.X+wake.Quantity(k)]
		lo, hi := slices.Min(m.a[k]), slices.Max(m.a[k])
		sum += (hi - lo) * (hi - lo)
		m.low[k] = lo
	}
	m.tol = samePosition * math.Sqrt(sum)
	// Neighbouring cells are looked into only near their border, which is rare with
	// cells much wider than the tolerance.
	m.cell = 64 * m.tol
	return m
}

// off is the largest difference of a coordinate.
func (m *matcher) off(i, j int) float64 {
	return max(math.Abs(m.a[0][i]-m.b[0][j]), math.Abs(m.a[1][i]-m.b[1][j]), math.Abs(m.a[2][i]-m.b[2][j]))
}

// match gives for each point of a the point of b at its place, −1 for none. Each
// point of b is given away once: of several points at one place the first to the
// first, and so on. A point keeps its number where that is right.
func (m *matcher) match() []int32 {
	n := len(m.a[0])
	partner := make([]int32, n)
	taken := make([]bool, len(m.b[0]))
	left := 0
	for i := range n {
		partner[i] = -1
		if i < len(taken) && m.off(i, i) <= m.tol {
			partner[i], taken[i] = int32(i), true
		} else {
			left++
		}
	}
	if left == 0 {
		return partner
	}
	type key [3]int64
	at := func(v float64, k int) float64 { return (v - m.low[k]) / m.cell }
	head := make(map[key]int32, left)
	next := make([]int32, len(taken))
	for j := len(taken) - 1; j >= 0; j-- {
		if taken[j] {
			continue
		}
		var k key
		for c := range k {
			k[c] = int64(math.Floor(at(m.b[c][j], c)))
		}
		if h, ok := head[k]; ok {
			next[j] = h
		} else {
			next[j] = -1
		}
		head[k] = int32(j)
	}
	for i := range n {
		if partner[i] >= 0 {
			continue
		}
		best, least := int32(-1), math.Inf(1)
		var lo, hi key
		for c := range lo {
			v := at(m.a[c][i], c)
			d := m.tol / m.cell
			lo[c], hi[c] = int64(math.Floor(v-d)), int64(math.Floor(v+d))
		}
		for x := lo[0]; x <= hi[0]; x++ {
			for y := lo[1]; y <= hi[1]; y++ {
				for z := lo[2]; z <= hi[2]; z++ {
					j, ok := head[key{x, y, z}]
					for ; ok && j >= 0; j = next[j] {
						if d := m.off(i, int(j)); !taken[j] && d <= m.tol && d < least {
							best, least = j, d
						}
					}
				}
			}
		}
		if partner[i] = best; best >= 0 {
			taken[best] = true
		}
	}
	return partner
}
