package parts

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

const (
	// centreBand is how far from the centre plane, as a part of the half width, a
	// centroid counts as in the middle.
	centreBand = 0.15
	// outerFrom and the height thirds divide the half width and the height for names.
	outerFrom = 0.6
	// regionShare is the part of a structure's extent that a region must hold to give
	// it its name.
	regionShare = 0.5
	// mirrorLeast is the least common share of a part and another's mirror image for
	// the two to be called a pair.
	mirrorLeast = 0.5
	// mirrorSure is the common share below which what one of a pair takes in and the
	// other does not is told: the lattice's rounding and the asymmetry of a mean of a
	// second or two stay above it.
	mirrorSure = 0.9
)

// name gives every structure a name by the study's regions, else by its place: side
// (left, right, centre), height (low, mid, high: thirds of the height) and, off the
// centre, inner or outer (from 0.6 of the half width). Structures of one place are
// numbered from the highest peak on.
func (out *Set) name(regions []measure.Box) {
	half, height := 0.0, 0.0
	for _, s := range out.Structures {
		half = math.Max(half, math.Max(math.Abs(s.Box.Min.X), math.Abs(s.Box.Max.X)))
		height = math.Max(height, s.Box.Max.Y)
	}
	used := map[string]int{}
	for k := range out.Structures {
		s := &out.Structures[k]
		y, z := s.Centroid[0], s.Centroid[1]
		s.Side = "centre"
		if math.Abs(y) > centreBand*half {
			s.Side = map[bool]string{true: "right", false: "left"}[y > 0]
		}
		n := out.regionName(k, regions)
		if n == "" {
			third := 0
			for third < 2 && z >= height*float64(third+1)/3 {
				third++
			}
			n = s.Side + [3]string{" low", " mid", " high"}[third]
			if s.Side != "centre" {
				n += map[bool]string{true: " outer", false: " inner"}[math.Abs(y) >= outerFrom*half]
			}
		}
		used[n]++
		if used[n] > 1 {
			n = fmt.Sprintf("%s %d", n, used[n])
		}
		s.Name = n
	}
}

// regionName is the region that holds at least half of the structure's samples,
// counted with their criterion, and the centroid.
func (out *Set) regionName(k int, regions []measure.Box) string {
	c := grid.Point{X: out.Structures[k].Centroid[0], Y: out.Structures[k].Centroid[1]}
	for _, r := range regions {
		if !r.Box.Contains(c) {
			continue
		}
		in, all := 0, 0
		for i, l := range out.label {
			if l == int32(k) {
				all++
				if r.Box.Contains(out.mesh.Points[i]) {
					in++
				}
			}
		}
		if float64(in) >= regionShare*float64(all) {
			return r.Name
		}
	}
	return ""
}

// mirrors pairs structures with those whose parts they cover best when mirrored
// about y = 0: each the other's best, with a common share (area of both over area
// of either) of at least a half. Structures on the centre plane have no partner.
func (out *Set) mirrors(prominence float64) {
	n := len(out.Structures)
	if n < 2 {
		return
	}
	r := grid.NewRaster(out.mesh.Window(), out.field.Mesh.Spacing())
	lab := out.Labels(r)
	mirrored := out.labelsAt(r, func(p grid.Point) grid.Point { return grid.Point{X: -p.X, Y: p.Y} })
	covered := common(lab, mirrored, n, n)
	best := func(i int) int {
		b := -1
		for j := range n {
			if j != i && covered.share(i, j) >= mirrorLeast && (b < 0 || covered.share(i, j) > covered.share(i, b)) && out.opposite(i, j) {
				b = j
			}
		}
		return b
	}
	for i := range n {
		if j := best(i); j >= 0 && best(j) == i {
			out.Structures[i].MirrorOf = out.Structures[j].Name
		}
	}
	for i, s := range out.Structures {
		j := out.Index(s.MirrorOf)
		if j <= i {
			continue
		}
		share := math.Min(covered.share(i, j), covered.share(j, i))
		beyond := out.field.Scale * r.Cell() * math.Max(covered.a[i]-covered.both[i][j], covered.a[j]-covered.both[j][i])
		// Less than what would be a part is no matter.
		if share < mirrorSure && beyond >= leastArea(out.field) {
			out.Warnings = append(out.Warnings, wake.Doubt("mirror-in-doubt", out.field.Name, fmt.Sprintf("try another prominence than %.3g; a region on either side does not depend on it", prominence),
				"parts %q and %q are mirror images in %.0f %% of what either covers: one takes in %.3g m2 that the other does not on its side", s.Name, s.MirrorOf, 100*share, beyond))
		}
	}
}

// opposite: the two lie on different sides, and a vortex's mirror image turns the
// other way.
func (out *Set) opposite(i, j int) bool {
	a, b := out.Structures[i], out.Structures[j]
	if a.Centroid[0]*b.Centroid[0] >= 0 {
		return false
	}
	return out.Criterion == ByWeight || a.Peak*b.Peak < 0
}
