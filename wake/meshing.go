package wake

import (
	"fmt"
	"slices"

	"wakeledger/grid"
)

// warn adds a doubt about the plane.
func (p *Plane) warn(code, cure, format string, a ...any) {
	p.Warnings = append(p.Warnings, Warning{Code: code, Where: p.Name(), Text: fmt.Sprintf(format, a...), Cure: cure})
}

// mesh joins the samples: as a lattice where they sit on crossing lines, else as
// triangles. Repeated positions are averaged first. Where some lie far from all others
// it returns these, and there is no mesh.
func (p *Plane) mesh(points []grid.Point, support grid.Support, gap float64) (strays []int32, err error) {
	lattice, dup := grid.DetectLattice(points)
	if lattice == nil {
		return p.triangles(points, support, gap)
	}
	if strays := lattice.Strays(); strays != nil {
		return strays, nil
	}
	if len(dup) > 0 {
		var renumber []int32
		points, renumber = p.compact(points, dup)
		for k, s := range lattice.Index {
			if s >= 0 {
				lattice.Index[k] = renumber[s]
			}
		}
	}
	p.merged()
	p.Mesh = &grid.Mesh{Kind: grid.KindLattice, Support: support, Points: points, Lattice: lattice, Gaps: lattice.Gaps()}
	return nil, nil
}

const (
	// fewStrays samples, or this part of all, may lie far from the others: more are no
	// slips of a few coordinates.
	fewStrays     = 3
	fewStraysPart = 0.01
)

// meshed is mesh without the strays, which it names. lineOf gives the line of a sample in
// the file, and may be nil.
func (p *Plane) meshed(points []grid.Point, support grid.Support, gap float64, lineOf func(i int) int) error {
	most := max(fewStrays, int(fewStraysPart*float64(len(points))))
	for gone := 0; ; {
		strays, err := p.mesh(points, support, gap)
		if err != nil || strays == nil {
			return err
		}
		at := points[strays[0]]
		where := fmt.Sprintf("%s = %.4g m, %s = %.4g m", p.axisName(0), at.X, p.axisName(1), at.Y)
		if lineOf != nil {
			where += fmt.Sprintf(", line %d", lineOf(int(strays[0])))
		}
		if gone += len(strays); gone > most || len(points)-len(strays) < minPlaneSamples {
			return Refuse(p.Name(), "check the coordinates, or export the plane without these rows", "%d samples lie far from all others, the first at %s", gone, where)
		}
		from := make([]int32, 0, len(points))
		for i := range points {
			if _, stray := slices.BinarySearch(strays, int32(i)); !stray {
				from = append(from, int32(i))
			}
		}
		p.warn("stray-samples", "check the coordinates of these rows", "%d of %d samples lie far from all others or on a line of their own, the first at %s: left out", len(strays), len(points), where)
		p.Dropped += len(strays)
		points = p.pick(points, from)
		if before := lineOf; before != nil {
			lineOf = func(i int) int { return before(int(from[i])) }
		}
	}
}

// axisName is the name of the mesh's first or second coordinate.
func (p *Plane) axisName(k int) string {
	a, b := p.Normal.InPlane()
	return [2]Axis{a, b}[k].String()
}

// merged says how many positions were repeated.
func (p *Plane) merged() {
	if p.Merged > 0 {
		p.warn("duplicates", "check whether the export joined overlapping parts", "%d samples repeat the position of another; each group was averaged", p.Merged)
	}
}
