package wake

import (
	"fmt"

	"wakeledger/grid"
)

// warn adds a doubt about the plane.
func (p *Plane) warn(code, cure, format string, a ...any) {
	p.Warnings = append(p.Warnings, Warning{Code: code, Where: p.Name(), Text: fmt.Sprintf(format, a...), Cure: cure})
}

// mesh joins the samples: as a lattice where they sit on crossing lines, else as
// triangles. Repeated positions are averaged first.
func (p *Plane) mesh(points []grid.Point, support grid.Support, gap float64) error {
	lattice, dup := grid.DetectLattice(points)
	if lattice == nil {
		return p.triangles(points, support, gap)
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
	return nil
}

// merged says how many positions were repeated.
func (p *Plane) merged() {
	if p.Merged > 0 {
		p.warn("duplicates", "check whether the export joined overlapping parts", "%d samples repeat the position of another; each group was averaged", p.Merged)
	}
}
