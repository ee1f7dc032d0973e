package compare

import (
	"fmt"
	"math"
	"slices"

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
			return nil, "", nil, &wake.InputError{
				File: p.Name(), Text: fmt.Sprintf("the plane is normal to %s, the baseline %s to %s", p.Normal, base.Name(), base.Normal),
				Cure: "compare planes of the same kind",
			}
		}
		d := math.Abs(p.Position - base.Position)
		if d > h {
			return nil, "", nil, &wake.InputError{
				File: p.Name(), Text: fmt.Sprintf("the plane is at %s = %.4f m, the baseline %s at %.4f m, %.3g m apart", p.Normal, p.Position, base.Name(), base.Position, d),
				Cure: fmt.Sprintf("compare planes of one station (within the spacing of %.3g m)", h),
			}
		}
		if d > sameStation*h {
			warnings = append(warnings, wake.Warning{
				Code: "station-differs", Where: p.Name(), Text: fmt.Sprintf("the plane is %.3g m from the baseline's station", d),
				Cure: "export both at the same station",
			})
		}
	}
	if l, ok := sharedLattice(planes); ok {
		out, how = onLattice(planes, l), sameSamples
	} else {
		out, how = resampled(planes), "samples of the baseline "+base.Name()+", the others interpolated linearly"
	}
	if out == nil {
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
			keep := make([]bool, len(p.Mesh.Points))
			for i, q := range p.Mesh.Points {
				keep[i] = common.Contains(q)
			}
			var renumber []int32
			mesh, renumber = subMesh(p.Mesh, keep)
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

// sharedLattice gives the lines that all planes share in the intersection of
// their windows, with the first plane's coordinates. ok is false unless all are
// lattices of the same support and no plane has further lines in between.
func sharedLattice(planes []*wake.Plane) (lines [2][]float64, ok bool) {
	for k, p := range planes {
		if p.Mesh.Kind != grid.KindLattice || p.Mesh.Support != planes[0].Mesh.Support {
			return lines, false
		}
		for axis, a := range [][]float64{p.Mesh.Lattice.X, p.Mesh.Lattice.Y} {
			if k == 0 {
				lines[axis] = a
				continue
			}
			if lines[axis] = shared(lines[axis], a); len(lines[axis]) < 2 {
				return lines, false
			}
		}
	}
	return lines, true
}

// shared returns the lines of a that b has too, or nil when either has a line
// between the first and the last shared one that the other lacks.
func shared(a, b []float64) []float64 {
	tol := sameLine * math.Min((a[len(a)-1]-a[0])/float64(len(a)-1), (b[len(b)-1]-b[0])/float64(len(b)-1))
	i, j := 0, 0
	for i < len(a) && a[i] < b[0]-tol {
		i++
	}
	for j < len(b) && b[j] < a[0]-tol {
		j++
	}
	first := i
	for i < len(a) && j < len(b) {
		if math.Abs(a[i]-b[j]) > tol {
			return nil
		}
		i++
		j++
	}
	return a[first:i]
}

// onLattice restricts the planes to lines and to places where all have a sample.
func onLattice(planes []*wake.Plane, lines [2][]float64) []*wake.Plane {
	nx, ny := len(lines[0]), len(lines[1])
	place := make([][]int32, len(planes))
	for k, p := range planes {
		l := p.Mesh.Lattice
		x0, y0 := nearest(l.X, lines[0][0]), nearest(l.Y, lines[1][0])
		place[k] = make([]int32, nx*ny)
		for j := range ny {
			copy(place[k][j*nx:(j+1)*nx], l.Index[(y0+j)*len(l.X)+x0:])
		}
	}
	index := make([]int32, nx*ny)
	var points []grid.Point
	take := make([][][4]grid.Share, len(planes))
	for k := range take {
		take[k] = make([][4]grid.Share, 0, nx*ny)
	}
	for c := range index {
		index[c] = -1
		all := true
		for k := range planes {
			all = all && place[k][c] >= 0
		}
		if !all {
			continue
		}
		index[c] = int32(len(points))
		points = append(points, grid.Point{X: lines[0][c%nx], Y: lines[1][c/nx]})
		for k := range planes {
			take[k] = append(take[k], [4]grid.Share{{Sample: place[k][c], Weight: 1}})
		}
	}
	if len(points) < 4 {
		return nil
	}
	mesh := &grid.Mesh{
		Kind: grid.KindLattice, Support: planes[0].Mesh.Support, Points: points,
		Lattice: &grid.Lattice{X: lines[0], Y: lines[1], Index: index},
	}
	if a := planes[0].Mesh.SampleArea; a != nil {
		mesh.SampleArea = make([]float64, len(points))
		for i, s := range take[0] {
			mesh.SampleArea[i] = a[s[0].Sample]
		}
	}
	mesh.Gaps = mesh.Lattice.Gaps()
	out := make([]*wake.Plane, len(planes))
	for k, p := range planes {
		out[k] = onMesh(p, mesh, take[k], false)
	}
	return out
}

func nearest(a []float64, v float64) int {
	best := 0
	for i := range a {
		if math.Abs(a[i]-v) < math.Abs(a[best]-v) {
			best = i
		}
	}
	return best
}

// resampled interpolates all planes at the baseline's samples that every plane
// covers. The mesh is the baseline's without the elements that lose a corner.
func resampled(planes []*wake.Plane) []*wake.Plane {
	points := planes[0].Mesh.Points
	keep, shares := make([]bool, len(points)), make([][][4]grid.Share, len(planes))
	for k, p := range planes {
		at := func(i int) (s [4]grid.Share, n int, ok bool) {
			return [4]grid.Share{{Sample: int32(i), Weight: 1}}, 1, true
		}
		if k > 0 {
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
	mesh, renumber := subMesh(planes[0].Mesh, keep)
	if mesh == nil {
		return nil
	}
	out := make([]*wake.Plane, len(planes))
	for k, p := range planes {
		kept := shares[k][:0]
		for i, r := range renumber {
			if r >= 0 {
				kept = append(kept, shares[k][i])
			}
		}
		out[k] = onMesh(p, mesh, kept, k > 0)
	}
	return out
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
		out.Lattice = &grid.Lattice{X: m.Lattice.X, Y: m.Lattice.Y, Index: make([]int32, len(m.Lattice.Index))}
		for k, s := range m.Lattice.Index {
			out.Lattice.Index[k] = -1
			if s >= 0 {
				out.Lattice.Index[k] = renumber[s]
			}
		}
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
