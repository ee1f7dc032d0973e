package wake

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
)

const (
	// farSample is how many times as far apart as the middle half of the samples the
	// furthest are that a plane's tolerance comes from.
	farSample = 10
	// stationGap is how far stations that stand closer than the tolerance of one plane are
	// apart at least, as a part of the spread along its normal.
	stationGap = 1. / 256
	// tightStation: such stations are each narrower than this part of the distance
	// between them, and
	tightStation = 0.1
	// repeatedShare of the samples repeat positions.
	repeatedShare = 0.25
	// samePosition is how near two positions are the same, as a part of the diagonal:
	// above the rounding of coordinates in single precision, below any survey's spacing.
	samePosition = 1e-6
)

const flatCure = "a plane needs samples in two directions; check the coordinate columns"

// stations finds the normal and the rows of each station. A nil rows slice in a
// single group means all rows. fit is the normal of a single plane by least squares, where it is
// tilted out of the axis. What else the samples could be is in also.
func stations(s *Samples, opt PlaneOptions) (normal Axis, fit [3]float64, groups [][]int32, also string, err error) {
	var spread [3]float64
	for a := range spread {
		spread[a] = extent(s.Col[X+Quantity(a)], nil)
	}
	diagonal := floats.Norm(spread[:], 2)
	if diagonal == 0 {
		return 0, fit, nil, "", Refuse(s.File, "name the coordinate columns with --column", "all samples are at one point")
	}
	// A sample that is very far away must not make a plane of everything.
	_, _, wide := middles(s)
	if size := floats.Norm(wide[:], 2); size > 0 {
		diagonal = min(diagonal, farSample*size)
	}
	tol := planarTolerance * diagonal
	if opt.NormalBy != "" {
		if groups = opt.Normal.groups(s, tol); groups != nil {
			return opt.Normal, fit, groups, "", nil
		}
		// A study's stations need not take each plane of its files.
		if opt.NormalBy != "study" {
			return 0, fit, nil, "", Refuse(s.File, "leave out --normal, or export planes normal to "+opt.Normal.String(), "the samples do not fall into planes normal to %s within %.2g m", opt.Normal, tol)
		}
	}
	thin := Axis(floats.MinIdx(spread[:]))
	a, b := thin.InPlane()
	if spread[thin] <= tol {
		if least := math.Min(spread[a], spread[b]); least <= tol {
			return 0, fit, nil, "", Refuse(s.File, flatCure, "the samples lie on a line: they spread %.4g m along x, %.4g m along y and %.4g m along z", spread[0], spread[1], spread[2])
		}
		return thin, fit, thin.groups(s, tol), "", nil
	}
	// One plane out of square comes before several: the rows of a lattice in it fall into
	// groups along each other axis.
	f := fitPlane(s, nil)
	flat := f.furthest(s) <= tol
	square := Axis(floats.MaxIdx([]float64{math.Abs(f.n[0]), math.Abs(f.n[1]), math.Abs(f.n[2])}))
	if flat && math.Abs(f.n[square]) < math.Cos(strayAxis) {
		return 0, fit, nil, "", Refuse(s.File, "export a plane square to an axis, or declare the frame with --frame",
			"the samples lie on an oblique plane or line, a normal of which is %s: no drag comes from it", vector(f.n))
	}
	normal, groups, also = several(s, tol)
	switch {
	case groups != nil && (normal == square || !flat):
		return normal, fit, groups, also, nil
	case flat:
		return square, f.n, [][]int32{nil}, "", nil
	}
	return 0, fit, nil, "", notPlanar(s, tol)
}

// several finds planes: those normal to x where they are surveys; else the normal is the axis
// along which the samples fall into the fewest. No groups mean that there are none.
func several(s *Samples, tol float64) (normal Axis, groups [][]int32, also string) {
	var of [3][][]int32
	for ax := range AxisZ + 1 {
		of[ax] = ax.groups(s, tol)
		if of[ax] != nil && (groups == nil || len(of[ax]) < len(groups) && !(normal == AxisX && surveys(s, groups, tol))) {
			normal, groups = ax, of[ax]
		}
	}
	for ax := range AxisZ + 1 {
		if ax != normal && of[ax] != nil && len(of[ax]) <= len(groups) {
			also = fmt.Sprintf("%d planes normal to %s", len(of[ax]), ax)
		}
	}
	return normal, groups, also
}

// limits are those of the values of the rows, extent how far they spread; nil means all rows.
func limits(v []float64, rows []int32) (lo, hi float64) {
	if rows != nil {
		v = At(v, rows)
	}
	return slices.Min(v), slices.Max(v)
}

func extent(v []float64, rows []int32) float64 {
	lo, hi := limits(v, rows)
	return hi - lo
}

// numbers are those of n rows.
func numbers(n int) []int32 {
	return grid.Fill(n, func(i int) int32 { return int32(i) })
}

// surveys reports whether each group has three rows and three columns at least.
func surveys(s *Samples, groups [][]int32, tol float64) bool {
	for _, q := range []Quantity{Y, Z} {
		for _, rows := range groups {
			v := s.Col[q]
			lo, hi := limits(v, rows)
			if !slices.ContainsFunc(rows, func(r int32) bool { return v[r] > lo+tol && v[r] < hi-tol }) {
				return false
			}
		}
	}
	return true
}

// groups splits the samples into planes normal to the axis: nil where they are
// none. Stations are wider apart than tol, or repeat each other's positions.
func (normal Axis) groups(s *Samples, tol float64) [][]int32 {
	a, b := normal.InPlane()
	v := s.Col[X+Quantity(normal)]
	var coarse [][]int32
	if extent(v, nil) <= tol {
		coarse = [][]int32{nil}
	} else {
		coarse = cluster(v, tol)
	}
	var out [][]int32
	for _, rows := range coarse {
		if rows != nil && !(extent(s.Col[X+Quantity(a)], rows) > tol && extent(s.Col[X+Quantity(b)], rows) > tol) {
			return nil
		}
		if near := nearStations(s, v, s.Col[X+Quantity(a)], s.Col[X+Quantity(b)], rows, tol); near != nil {
			out = append(out, near...)
		} else if extent(v, rows) <= tol {
			out = append(out, rows)
		} else {
			return nil
		}
	}
	if len(out) > maxPlanes {
		return nil
	}
	return out
}

// nearStations splits one plane's rows into stations that are closer than the
// tolerance of a plane: each far narrower than their distance, at the same positions.
// A traverse that strays along its normal repeats none. nil means that it is one.
func nearStations(s *Samples, v, a, b []float64, rows []int32, tol float64) [][]int32 {
	if rows == nil {
		rows = numbers(s.N)
	}
	lo, hi := limits(v, rows)
	wide, diagonal := hi-lo, tol/planarTolerance
	if !(wide > samePosition*max(diagonal, math.Abs(lo)+wide)) {
		return nil
	}
	groups := cluster(At(v, rows), wide*stationGap)
	longest, shortest := 0.0, wide
	for k := range groups {
		groups[k] = At(rows, groups[k])
		from, to := limits(v, groups[k])
		if longest = max(longest, to-from); k > 0 {
			shortest = min(shortest, from-hi)
		}
		hi = to
	}
	if len(groups) < 2 || !(longest <= tightStation*shortest) {
		return nil
	}
	cell := samePosition * diagonal
	// Cells are set off from zero, where coordinates like to be.
	seen := map[grid.Point]bool{}
	for _, r := range rows {
		seen[grid.Point{X: math.Floor(a[r]/cell + 0.382), Y: math.Floor(b[r]/cell + 0.382)}] = true
	}
	if float64(len(rows)-len(seen)) < repeatedShare*float64(len(rows)) {
		return nil
	}
	return groups
}

// cluster splits values into groups that are wider apart than tol. It returns
// nil unless each is large enough for a plane.
func cluster(v []float64, tol float64) [][]int32 {
	order := numbers(len(v))
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(v[a], v[b]) })
	var groups [][]int32
	for i := 0; i < len(order); {
		j := i + 1
		for j < len(order) && v[order[j]]-v[order[j-1]] <= tol {
			j++
		}
		if j-i < minPlaneSamples || len(groups) == maxPlanes {
			return nil
		}
		g := slices.Clone(order[i:j])
		slices.Sort(g)
		groups = append(groups, g)
		i = j
	}
	return groups
}

// notPlanar names the sample furthest from the plane that most samples lie on: one that
// strays must not bend the plane that it is judged by. The plane is one of least trimmed
// squares (P. J. Rousseeuw, Least median of squares regression, J. Am. Stat. Assoc. 79
// (1984) 871, from memory), from that square to the axis along which most lie closest.
func notPlanar(s *Samples, tol float64) error {
	var best fitted
	some, middle, wide := middles(s)
	best.mean = middle
	best.n[floats.MinIdx(wide[:])] = 1
	for range 10 {
		slices.SortFunc(some, func(a, b int32) int { return cmp.Compare(best.distance(s, int(a)), best.distance(s, int(b))) })
		best = fitPlane(s, some[:len(some)/2+1])
	}
	far, many := 0, 0
	for i := range s.N {
		d := best.distance(s, i)
		if d > best.distance(s, far) {
			far = i
		}
		if d > tol {
			many++
		}
	}
	return s.blame(far, fmt.Sprintf("the samples do not lie on a plane: %d of %d are more than %.2g m off the one that most lie on, the furthest by %.4g m", many, s.N, tol, best.distance(s, far)),
		"mend or leave out what strays, or export one plane, or several apart from each other")
}

// middles are the median of the samples and how wide the middle half of them is, along each
// axis, as some thousands tell.
func middles(s *Samples) (some []int32, median, wide [3]float64) {
	for i := 0; i < s.N; i += 1 + s.N/5000 {
		some = append(some, int32(i))
	}
	for a := range wide {
		v := At(s.Col[X+Quantity(a)], some)
		slices.Sort(v)
		median[a], wide[a] = v[len(v)/2], v[3*len(v)/4]-v[len(v)/4]
	}
	return some, median, wide
}

// blame is an error of sample i.
func (s *Samples) blame(i int, text, cure string) error {
	return &InputError{File: s.File, Line: s.Line(i), Text: fmt.Sprintf("%s: sample %d at (%.4g, %.4g, %.4g)", text, i+1, s.Col[X][i], s.Col[Y][i], s.Col[Z][i]), Cure: cure}
}
