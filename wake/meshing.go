package wake

import (
	"fmt"
	"slices"

	"wakeledger/grid"
)

// warn adds a doubt about the plane.
func (p *Plane) warn(code, cure, format string, a ...any) {
	p.Warnings = append(p.Warnings, Doubt(code, p.Name(), cure, format, a...))
}

// mesh joins the samples: as a lattice where they sit on crossing lines, else as
// triangles. Repeated positions are averaged first. Where some lie far from all others
// it returns these, and there is no mesh.
func (p *Plane) mesh(points []grid.Point, support grid.Support, gap float64) (strays []int32, err error) {
	lattice, first := grid.DetectLattice(points)
	if lattice == nil {
		return p.triangles(points, support, gap)
	}
	if strays := lattice.Strays(); strays != nil {
		return strays, nil
	}
	if first != nil {
		kept := grid.Where(len(first), func(i int32) bool { return first[i] == i })
		p.Merged = len(points) - len(kept)
		points = At(points, kept)
		place := p.gather(kept, first)
		for k, s := range lattice.Index {
			if s >= 0 {
				lattice.Index[k] = place[s]
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
		from := grid.Where(len(points), func(i int32) bool {
			_, stray := slices.BinarySearch(strays, i)
			return !stray
		})
		p.warn("stray-samples", "check the coordinates of these rows", "%d of %d samples lie far from all others or on a line of their own, the first at %s: left out", len(strays), len(points), where)
		p.Dropped += len(strays)
		points = At(points, from)
		p.gather(from, nil)
		if before := lineOf; before != nil {
			lineOf = func(i int) int { return before(int(from[i])) }
		}
	}
}

// gather puts the fields, and what is known of their errors, in the order of these samples.
// Where samples repeat positions, first has the first at the position of each: it gets the
// mean of all, and keeps its own error, which is no less than the mean's. place is where each
// sample is then.
func (p *Plane) gather(order, first []int32) (place []int32) {
	f := func(f []float64) []float64 { return At(f, order) }
	if first != nil {
		place = make([]int32, len(first))
		for k, i := range order {
			place[i] = int32(k)
		}
		place = At(place, first)
		f = func(f []float64) []float64 { return meanAt(f, place, len(order)) }
	}
	p.Field, p.Blocks = p.Map(f)
	for k := range p.Errors {
		p.Errors[k] = p.Errors[k].Each(order)
	}
	return place
}

// meanAt gives each of n places the mean of the samples that are there.
func meanAt(f []float64, place []int32, n int) []float64 {
	g, count := make([]float64, n), make([]int32, n)
	for i, v := range f {
		g[place[i]] += v
		count[place[i]]++
	}
	for k := range g {
		g[k] /= float64(count[k])
	}
	return g
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
