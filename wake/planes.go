package wake

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
)

// Tolerances of plane recognition.
const (
	// planarTolerance is how far samples of one plane may lie from it, as a part of
	// the plane's diagonal. Solver slices are flat to rounding; a rake's traverse
	// keeps its station to about a millimetre in a metre.
	planarTolerance = 1e-3
	// minPlaneSamples is the fewest samples that a plane is made of.
	minPlaneSamples = 4
	// maxPlanes is the most planes that one file may hold.
	maxPlanes = 1000
	// strayAxis is how far the smallest spread may tilt out of an axis before the
	// plane counts as oblique: 0.5 degree.
	strayAxis = 0.0087
)

// PlaneOptions configure Planes.
type PlaneOptions struct {
	// Support says what a lattice sample represents; SupportBy who said so. An empty
	// SupportBy leaves it to the file: cells for cell values, else nodes.
	Support   grid.Support
	SupportBy string
	// Normal is the axis that the planes are normal to and NormalBy who said so. An
	// empty NormalBy leaves it to the samples; "study" does where they have no such planes.
	Normal   Axis
	NormalBy string
	// Gap is the factor on the local spacing above which a triangle counts as a
	// bridge over missing samples; 0 is the mesher's default.
	Gap float64
	// Release takes the columns out of the samples as soon as the planes have what
	// they need of them, so that a large file is not held twice. The samples are of no
	// use afterwards.
	Release bool
}

// Planes recognises the survey planes among samples: it finds the normal, splits
// several stations apart, merges repeated positions and builds the meshes. The
// planes come in order of position.
//
// Samples are of one plane when they lie within 1e-3 of its diagonal of their
// mean coordinate, save where they repeat each other's positions at two stations or more
// that are each far narrower than their distance. They are stations normal to x where each
// has three rows and three columns, else planes normal to the axis along which they are
// fewest, with a warning several-normals where that is open; a plane oblique to the axes is
// refused. Given elements are used as they are: polygons between point values, and cells
// with a value each; samples without are joined to a lattice or to triangles. Positions must
// be finite (a reader sees to that). Errors are *InputError.
func Planes(s *Samples, opt PlaneOptions) ([]*Plane, error) {
	if s.N < minPlaneSamples {
		return nil, Refuse(s.File, "export more points", "%s, a plane needs at least %d", Plural(s.N, "sample"), minPlaneSamples)
	}
	for _, q := range []Quantity{X, Y, Z} {
		if s.Col[q] == nil {
			return nil, Refuse(s.File, fmt.Sprintf(`name its column with --column %s="NAME [unit]"`, q), "no %s coordinate", q)
		}
	}
	normal, fitted, groups, also, err := stations(s, opt)
	if err != nil {
		return nil, err
	}
	var shares [][]int32
	if s.Elements != nil {
		if shares, err = s.share(groups); err != nil {
			return nil, err
		}
	}
	planes := make([]*Plane, 0, len(groups))
	for g, rows := range groups {
		p := &Plane{File: s.File, Normal: normal, Source: s.Source, Ignored: s.Ignored, Samples: s.N, SupportBy: opt.SupportBy}
		if len(groups) > 1 {
			p.Part, p.Samples = g+1, len(rows)
		}
		if g == 0 {
			p.Dropped = s.Dropped
		}
		var elements []int32
		if shares != nil {
			elements = shares[g]
		}
		if err := p.build(s, rows, elements, fitted, opt); err != nil {
			return nil, err
		}
		planes = append(planes, p)
	}
	if also != "" {
		planes[0].warn("several-normals", "name the normal with --normal, or export one plane a file",
			"%d planes normal to %s are taken; the samples form %s too", len(planes), normal, also)
	}
	// What reading had to say belongs to the file and goes with its first plane.
	planes[0].Warnings = append(slices.Clone(s.Warnings), planes[0].Warnings...)
	return planes, nil
}

// build fills the plane from the rows of the samples and from the elements of
// these numbers.
func (p *Plane) build(s *Samples, rows, elements []int32, fitted [3]float64, opt PlaneOptions) error {
	pick := func(col []float64) []float64 {
		if rows == nil || col == nil {
			return col
		}
		return At(col, rows)
	}
	depth := pick(s.Col[X+Quantity(p.Normal)])
	var sum float64
	for _, v := range depth {
		sum += v - depth[0]
	}
	p.Position = depth[0] + sum/float64(len(depth))
	for _, v := range depth {
		p.Scatter = math.Max(p.Scatter, math.Abs(v-p.Position))
	}
	p.sayTilt(fitted)
	a, b := p.Normal.InPlane()
	pa, pb := pick(s.Col[X+Quantity(a)]), pick(s.Col[X+Quantity(b)])
	points := grid.Fill(len(pa), func(i int) grid.Point { return grid.Point{X: pa[i], Y: pb[i]} })
	for q := U; q < NumQuantities; q++ {
		p.Field[q] = pick(s.Col[q])
	}
	p.Blocks, p.Time = s.Blocks.each(pick), s.Time
	for _, e := range s.Errors {
		if rows != nil {
			e = e.Each(rows)
		}
		p.Errors = append(p.Errors, e)
	}
	support := grid.Nodes
	p.SupportBy = "default"
	if s.CellValues {
		support, p.SupportBy = grid.Cells, "file"
	}
	if s.Elements != nil {
		p.SupportBy = "file"
		return p.meshElements(s, rows, elements, points, opt)
	}
	if opt.SupportBy != "" {
		support, p.SupportBy = opt.Support, opt.SupportBy
	}
	if opt.Release && rows == nil {
		s.Col = [NumQuantities][]float64{}
	}
	lineOf := s.LineOf
	if lineOf != nil && rows != nil {
		lineOf = func(i int) int { return s.LineOf(int(rows[i])) }
	}
	if err := p.meshed(points, support, opt.Gap, lineOf); err != nil {
		return err
	}
	p.sampleAreas()
	return nil
}
