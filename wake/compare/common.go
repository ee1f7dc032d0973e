package compare

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"wakeledger/grid"
	"wakeledger/wake"
)

const (
	// sameLine is how far two lattices' lines may lie apart, as a part of their
	// spacing, and still count as the same: four-digit coordinates of 40 mm cells
	// are within 0.3 %.
	sameLine = 0.01
	// sameStation is how far two planes may lie apart, as a part of the sample
	// spacing, without a word; beyond one spacing they are not compared.
	sameStation = 0.1
)

// sameSamples is how planes are common that have the same samples.
const sameSamples = "same samples"

// commonPlanes puts all planes on the samples that they share. how says which
// grid that is.
func commonPlanes(planes []*wake.Plane) (out []*wake.Plane, how string, warnings []wake.Warning, err error) {
	base := planes[0]
	h := base.Mesh.Spacing()
	for _, p := range planes[1:] {
		if p.Normal != base.Normal {
			return nil, "", nil, wake.Refuse(p.Name(), "compare planes of the same kind", "the plane is normal to %s, the baseline %s to %s", p.Normal, base.Name(), base.Normal)
		}
		d := math.Abs(p.Position - base.Position)
		if d > h {
			return nil, "", nil, wake.Refuse(p.Name(), fmt.Sprintf("compare planes of one station (within the spacing of %.3g m)", h),
				"the plane is at %s = %.4f m, the baseline %s at %.4f m, %.3g m apart", p.Normal, p.Position, base.Name(), base.Position, d)
		}
		if d > sameStation*h {
			warnings = append(warnings, wake.Doubt("station-differs", p.Name(), "export both at the same station", "the plane is %.3g m from the baseline's station", d))
		}
	}
	if out, how = onBaseline(planes); out == nil {
		return nil, "", nil, tooFew(base)
	}
	return out, how, warnings, nil
}

func tooFew(base *wake.Plane) error {
	return &wake.InputError{File: base.Name(), Text: "the planes share too few samples for a comparison", Cure: "survey the same window in all configurations"}
}

// inOneWindow clips the planes to the window that all have in common, where any of them ends
// elsewhere than the first does; how says so. A plane of samples with areas of their own keeps
// those in the window.
func inOneWindow(planes []*wake.Plane) (out []*wake.Plane, how string) {
	a := planes[0].Mesh.Window()
	common, same := a, true
	for _, p := range planes[1:] {
		b, h := p.Mesh.Window(), sameLine*math.Min(p.Mesh.Spacing(), planes[0].Mesh.Spacing())
		common = common.Intersect(b)
		same = same && math.Abs(a.Min.X-b.Min.X) <= h && math.Abs(a.Max.X-b.Max.X) <= h && math.Abs(a.Min.Y-b.Min.Y) <= h && math.Abs(a.Max.Y-b.Max.Y) <= h
	}
	if same {
		return planes, "each plane's own"
	}
	for _, p := range planes {
		var mesh *grid.Mesh
		var shares [][4]grid.Share
		if p.Mesh.SampleArea == nil {
			mesh, shares = p.Mesh.Clip(common)
		} else {
			var renumber []int32
			mesh, renumber = subMesh(p.Mesh, grid.Fill(len(p.Mesh.Points), func(i int) bool { return common.Contains(p.Mesh.Points[i]) }))
			for i, r := range renumber {
				if r >= 0 {
					shares = append(shares, [4]grid.Share{{Sample: int32(i), Weight: 1}})
				}
			}
		}
		switch {
		case mesh == nil:
			return nil, ""
		case mesh != p.Mesh:
			p = onMesh(p, mesh, shares, false)
		}
		out = append(out, p)
	}
	return out, "each plane's own in the window that all have"
}

// onMesh is a plane on a mesh whose samples are made of shares of its own, or of its nodes
// (grid.Mesh.Nodal). The known errors are those of the sample with the largest share: a mean of
// several errs no more.
func onMesh(p *wake.Plane, mesh *grid.Mesh, shares [][4]grid.Share, nodes bool) *wake.Plane {
	q := *p
	q.Mesh = mesh
	q.Field, q.Blocks = p.Map(func(col []float64) []float64 {
		if nodes {
			_, col = p.Mesh.Nodal(col)
		}
		at := make([]float64, len(shares))
		for i, of := range shares {
			for _, s := range of {
				if s.Weight != 0 {
					at[i] += s.Weight * col[s.Sample]
				}
			}
		}
		return at
	})
	largest := make([]int32, len(shares))
	for i, of := range shares {
		var most grid.Share
		for _, s := range of {
			// Nodes of a finer mesh are no samples.
			if s.Weight > most.Weight && int(s.Sample) < len(p.Mesh.Points) {
				most = s
			}
		}
		largest[i] = most.Sample
	}
	q.Errors = nil
	for _, e := range p.Errors {
		q.Errors = append(q.Errors, e.Each(largest))
	}
	return &q
}

// sameMesh reports whether two lattices have the same samples in the same places.
func sameMesh(a, b *grid.Mesh) bool {
	return a.Kind == grid.KindLattice && b.Kind == grid.KindLattice && a.Support == b.Support && slices.Equal(a.Points, b.Points) &&
		slices.Equal(a.Lattice.X, b.Lattice.X) && slices.Equal(a.Lattice.Y, b.Lattice.Y) && slices.Equal(a.Lattice.Index, b.Lattice.Index)
}

// samePlaces finds for each sample of a lattice that of another at the same place, −1 where there
// is none; nil unless both have the same lines where they overlap.
func samePlaces(a, b *grid.Mesh) []int32 {
	if a.Kind != grid.KindLattice || b.Kind != grid.KindLattice || a.Support != b.Support {
		return nil
	}
	x, y := matching(a.Lattice.X, b.Lattice.X), matching(a.Lattice.Y, b.Lattice.Y)
	if x == nil || y == nil {
		return nil
	}
	out := make([]int32, len(a.Points))
	for c, s := range a.Lattice.Index {
		i, j := x[c%len(x)], y[c/len(x)]
		switch {
		case s < 0:
		case i < 0 || j < 0:
			out[s] = -1
		default:
			out[s] = b.Lattice.Index[j*len(b.Lattice.X)+i]
		}
	}
	return out
}

// matching finds for each line of a that of b, −1 for none; nil unless two or more match, and none
// of either is without the other between the first and the last that do.
func matching(a, b []float64) []int {
	tol := sameLine * math.Min((a[len(a)-1]-a[0])/float64(len(a)-1), (b[len(b)-1]-b[0])/float64(len(b)-1))
	out, n, last := make([]int, len(a)), 0, 0
	for i, x := range a {
		j := sort.SearchFloat64s(b, x-tol)
		if out[i] = -1; j == len(b) || b[j] > x+tol {
			continue
		}
		if n > 0 && (out[i-1] < 0 || j != last+1) {
			return nil
		}
		out[i], last = j, j
		n++
	}
	if n < 2 {
		return nil
	}
	return out
}

// onBaseline takes all planes at the baseline's samples that every plane has, on lattices of the
// same lines, or else covers: there they are interpolated. The mesh is the baseline's without the
// elements that lose a corner.
func onBaseline(planes []*wake.Plane) (out []*wake.Plane, how string) {
	base := planes[0]
	places := make([][]int32, len(planes))
	how = sameSamples
	for k, p := range planes[1:] {
		if places[k+1] = samePlaces(base.Mesh, p.Mesh); places[k+1] == nil {
			how = "samples of the baseline " + base.Name() + ", the others interpolated linearly"
			break
		}
	}
	points := base.Mesh.Points
	keep, shares := make([]bool, len(points)), make([][][4]grid.Share, len(planes))
	for k, p := range planes {
		at := func(i int) (s [4]grid.Share, n int, ok bool) {
			if k > 0 {
				i = int(places[k][i])
			}
			return [4]grid.Share{{Sample: int32(i), Weight: 1}}, 1, i >= 0
		}
		if k > 0 && how != sameSamples {
			loc := grid.NewLocator(p.Mesh.NodalMesh())
			at = func(i int) ([4]grid.Share, int, bool) { return loc.At(points[i]) }
		}
		shares[k] = make([][4]grid.Share, len(points))
		for i := range points {
			var ok bool
			shares[k][i], _, ok = at(i)
			keep[i] = ok && (k == 0 || keep[i])
		}
	}
	mesh, renumber := subMesh(base.Mesh, keep)
	if mesh == nil {
		return nil, ""
	}
	for k, p := range planes {
		kept := shares[k][:0]
		for i, r := range renumber {
			if r >= 0 {
				kept = append(kept, shares[k][i])
			}
		}
		out = append(out, onMesh(p, mesh, kept, k > 0 && how != sameSamples))
	}
	return out, how
}

// subMesh keeps the marked samples, with the areas that they represent, and the
// elements all of whose corners are kept: a polygon that loses one goes as a whole.
// renumber gives the new index of each sample or −1.
func subMesh(m *grid.Mesh, keep []bool) (*grid.Mesh, []int32) {
	renumber := make([]int32, len(keep))
	out := &grid.Mesh{Kind: m.Kind, Support: m.Support, Gaps: m.Gaps, DroppedArea: m.DroppedArea}
	for i, k := range keep {
		renumber[i] = -1
		if k {
			renumber[i] = int32(len(out.Points))
			out.Points = append(out.Points, m.Points[i])
			if m.SampleArea != nil {
				out.SampleArea = append(out.SampleArea, m.SampleArea[i])
			}
		}
	}
	if len(out.Points) < 4 {
		return nil, nil
	}
	switch m.Kind {
	case grid.KindLattice:
		if out.Lattice = kept(m.Lattice, renumber); len(out.Lattice.X) < 2 || len(out.Lattice.Y) < 2 {
			return nil, nil
		}
		out.Gaps = out.Lattice.Gaps()
	case grid.KindCells:
		c := &grid.CellSet{Corners: m.Cells.Corners, Start: []int32{0}}
		for i, k := range keep {
			if k {
				c.Index = append(c.Index, m.Cells.Index[m.Cells.Start[i]:m.Cells.Start[i+1]]...)
				c.Start = append(c.Start, int32(len(c.Index)))
			}
		}
		out.Cells = c
	default:
		// Without polygons each triangle is an element by itself.
		elements, of := len(m.Triangles)/3, func(e int) (lo, hi int) { return 3 * e, 3*e + 3 }
		if m.Faces != nil {
			elements, of = len(m.Faces)-1, func(e int) (lo, hi int) { return 3 * int(m.Faces[e]), 3 * int(m.Faces[e+1]) }
			out.Faces = []int32{0}
		}
		for e := range elements {
			lo, hi := of(e)
			if slices.ContainsFunc(m.Triangles[lo:hi], func(s int32) bool { return renumber[s] < 0 }) {
				continue
			}
			for _, s := range m.Triangles[lo:hi] {
				out.Triangles = append(out.Triangles, renumber[s])
			}
			if m.Faces != nil {
				out.Faces = append(out.Faces, int32(len(out.Triangles)/3))
			}
		}
		if len(out.Triangles) == 0 {
			return nil, nil
		}
	}
	return out, renumber
}

// kept is a lattice with the lines between the first and the last sample that is kept.
func kept(l *grid.Lattice, renumber []int32) *grid.Lattice {
	nx := len(l.X)
	lo, hi := [2]int{nx, len(l.Y)}, [2]int{}
	for c, s := range l.Index {
		if s >= 0 && renumber[s] >= 0 {
			for axis, i := range [2]int{c % nx, c / nx} {
				lo[axis], hi[axis] = min(lo[axis], i), max(hi[axis], i+1)
			}
		}
	}
	out := &grid.Lattice{X: l.X[lo[0]:hi[0]], Y: l.Y[lo[1]:hi[1]]}
	for j := lo[1]; j < hi[1]; j++ {
		for _, s := range l.Index[j*nx+lo[0] : j*nx+hi[0]] {
			if s >= 0 {
				s = renumber[s]
			}
			out.Index = append(out.Index, s)
		}
	}
	return out
}
