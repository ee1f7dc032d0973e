package survey

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
)

// samePosition is how far two files may place the same point apart, as a part of
// the diagonal of the points: files with seven digits agree to 1e-6.
const samePosition = 2e-6

// Parts lists the files that a name means. A name that is a file, or that has no '+',
// means itself. Else the name is cut at '+' so that each part is a file: the first as given,
// the others as given or in the folder of the first, and each as long as can be.
func Parts(name string) ([]string, error) {
	if name == "-" || !strings.Contains(name, "+") || isFile(name) {
		return []string{name}, nil
	}
	parts := cut(name, "")
	if parts == nil {
		return nil, &wake.InputError{File: name, Text: "cannot be opened: there is no such file, and it cannot be cut at '+' into files that are there", Cure: "check the names; the second file is looked for as given and beside the first"}
	}
	return parts, nil
}

// cut takes names of files off the front of names; nil where there is a part that is none.
func cut(names, folder string) []string {
	for end := len(names); end > 0; end = strings.LastIndexByte(names[:end], '+') {
		f := names[:end]
		if folder != "" && !isFile(f) && !filepath.IsAbs(f) {
			f = filepath.Join(folder, f)
		}
		if !isFile(f) {
			continue
		}
		if end == len(names) {
			return []string{f}
		}
		if rest := cut(names[end+1:], cmp.Or(folder, filepath.Dir(f))); rest != nil {
			return append([]string{f}, rest...)
		}
	}
	return nil
}

func isFile(name string) bool {
	info, err := os.Stat(name)
	return err == nil && !info.IsDir()
}

// readJoined reads a file, or several that hold different quantities at the same points. The
// points, and the polygons if there are any, are those of the first file; the others
// are matched to it by position, in any order. A quantity that several files hold
// is taken from the first one that does.
func readJoined(ctx context.Context, name string, parts []string, opt Options) (*wake.Samples, error) {
	lacking := map[wake.Quantity][]error{}
	files := make([]*wake.Samples, len(parts))
	for k, part := range parts {
		o := opt
		if len(parts) > 1 {
			o.absent = map[wake.Quantity]error{}
		}
		s, err := readFile(ctx, part, o)
		if err != nil {
			return nil, err
		}
		files[k] = s
		for q, err := range o.absent {
			lacking[q] = append(lacking[q], err)
		}
	}
	for q := wake.X; q < wake.NumQuantities; q++ {
		if len(lacking[q]) == len(parts) {
			return nil, lacking[q][0]
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
		out.Warnings = addNew(out.Warnings, s.Warnings)
	}
	out.File = name
	return out, nil
}

func addNew[T comparable](to, from []T) []T {
	for _, v := range from {
		if !slices.Contains(to, v) {
			to = append(to, v)
		}
	}
	return to
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
	partner, tol := match(to, s)
	missing := 0
	for i, j := range partner {
		if j >= 0 {
			continue
		}
		// Points that the other file dropped for a missing value go with it.
		if missing++; missing > s.Dropped {
			return &wake.InputError{File: to.File, Line: to.Line(i), Text: fmt.Sprintf("the point (%.6g, %.6g, %.6g) has no partner within %.2g m in %s", to.Col[wake.X][i], to.Col[wake.Y][i], to.Col[wake.Z][i], tol, s.File),
				Cure: "join files of the same points only, in one unit and one frame"}
		}
	}
	var twice []string
	for q := wake.U; q < wake.NumQuantities; q++ {
		switch {
		case s.Col[q] == nil:
		case to.Col[q] != nil:
			twice = append(twice, q.String())
		default:
			to.Col[q], to.Source[q] = make([]float64, to.N), s.Source[q]
			for i, j := range partner {
				if j >= 0 { // others are dropped
					to.Col[q][i] = s.Col[q][j]
				}
			}
		}
	}
	if len(twice) > 0 {
		to.Warnings = append(to.Warnings, wake.Doubt("joined-twice", s.File, "leave the columns out of one file", "%s are in both files; those of %s are used", strings.Join(twice, " "), to.File))
	}
	to.Ignored = addNew(to.Ignored, s.Ignored)
	if to.Elements == nil && s.Elements != nil {
		to.CellValues = s.CellValues
		to.Elements, _ = choose(s.Elements, s.CellValues, partner, s.N)
	}
	if missing > 0 {
		drop(to, func(i int) bool { return partner[i] < 0 })
	}
	return nil
}

// choose gives the elements of these rows of n: the cells of that number, −1 for one without
// corners; or those whose corners are all among the rows, with their new numbers, where open
// counts the others.
func choose(e *wake.Elements, cells bool, rows []int32, n int) (out *wake.Elements, open int) {
	out = &wake.Elements{Corner: e.Corner, Start: make([]int32, 1, len(e.Start)), Index: make([]int32, 0, len(e.Index))}
	if cells {
		for _, k := range rows {
			if k >= 0 {
				out.Index = append(out.Index, e.Index[e.Start[k]:e.Start[k+1]]...)
			}
			out.Start = append(out.Start, int32(len(out.Index)))
		}
		return out, 0
	}
	number := slices.Repeat([]int32{-1}, n) // in rows
	for i, r := range rows {
		if r >= 0 {
			number[r] = int32(i)
		}
	}
	for k := range len(e.Start) - 1 {
		ids := e.Index[e.Start[k]:e.Start[k+1]]
		if slices.ContainsFunc(ids, func(id int32) bool { return number[id] < 0 }) {
			open++
			continue
		}
		for _, id := range ids {
			out.Index = append(out.Index, number[id])
		}
		out.Start = append(out.Start, int32(len(out.Index)))
	}
	return out, open
}

// drop leaves samples out, with the polygons that need them.
func drop(to *wake.Samples, gone func(i int) bool) {
	keep := grid.Where(to.N, func(i int32) bool { return !gone(int(i)) })
	for q, c := range to.Col {
		if c != nil {
			to.Col[q] = gather(c, keep)
		}
	}
	if to.Elements != nil {
		to.Elements, _ = choose(to.Elements, to.CellValues, keep, to.N)
	}
	if f := to.LineOf; f != nil {
		to.LineOf = func(i int) int { return f(int(keep[i])) }
	}
	to.Dropped += to.N - len(keep)
	to.N = len(keep)
}

// match gives for each point of to the point of s within tol of its place, −1 for none.
// Each point of s is given away once: of several points at one place the first to the
// first, and so on. A point keeps its number where that is right.
func match(to, s *wake.Samples) (partner []int32, tol float64) {
	a, b := [3][]float64(to.Col[wake.X:]), [3][]float64(s.Col[wake.X:])
	var low [3]float64
	sum := 0.0
	for k := range a {
		low[k] = slices.Min(a[k])
		wide := slices.Max(a[k]) - low[k]
		sum += wide * wide
	}
	tol = samePosition * math.Sqrt(sum)
	// off is the largest difference of a coordinate.
	off := func(i, j int) float64 {
		return max(math.Abs(a[0][i]-b[0][j]), math.Abs(a[1][i]-b[1][j]), math.Abs(a[2][i]-b[2][j]))
	}
	partner = slices.Repeat([]int32{-1}, to.N)
	taken := make([]bool, s.N)
	for i := range min(to.N, s.N) {
		if off(i, i) <= tol {
			partner[i], taken[i] = int32(i), true
		}
	}
	// Neighbouring cells are looked into only near their border, which is rare with
	// cells much wider than the tolerance.
	const wide = 64
	type key [3]int64
	cell := func(of [3][]float64, i int, shift float64) (k key) {
		for c := range k {
			k[c] = int64(math.Floor((of[c][i]-low[c])/(wide*tol) + shift))
		}
		return k
	}
	first, next := map[key]int{}, make([]int, s.N) // points of a cell, from 1
	for j := s.N - 1; j >= 0; j-- {
		if !taken[j] {
			k := cell(b, j, 0)
			first[k], next[j] = j+1, first[k]
		}
	}
	for i := range partner {
		if partner[i] >= 0 {
			continue
		}
		least := math.Inf(1)
		lo, hi := cell(a, i, -1./wide), cell(a, i, 1./wide)
		for x := lo[0]; x <= hi[0]; x++ {
			for y := lo[1]; y <= hi[1]; y++ {
				for z := lo[2]; z <= hi[2]; z++ {
					for j := first[key{x, y, z}] - 1; j >= 0; j = next[j] - 1 {
						if d := off(i, j); !taken[j] && d <= tol && d < least {
							partner[i], least = int32(j), d
						}
					}
				}
			}
		}
		if partner[i] >= 0 {
			taken[partner[i]] = true
		}
	}
	return partner, tol
}
