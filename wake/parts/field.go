package parts

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Field is what structures are found in: a mesh with one value a sample of each
// slice. Slices that the survey does not give are nil.
type Field struct {
	// Name is the survey's, for messages; Position the plane's coordinate, m.
	Name     string
	Position float64
	Mesh     *grid.Mesh
	// Weight is the deficit, counted from Level; WeightName says which one it is.
	Weight     []float64
	WeightName string
	Level      float64
	// Local is the local drag (1): its integral is a drag area.
	Local []float64
	// Vorticity is ∂w/∂y − ∂v/∂z, 1/s.
	Vorticity []float64
	// Scale is 2 for a half plane, else 1: drag areas and areas are multiplied by it.
	Scale float64
	// Note says what was done to the survey's samples, if anything.
	Note string

	// Time are draws of the errors that the time average can have left in Weight, one value a
	// sample each; see DrawTime.
	Time [][]float32

	// divided are the drag areas in boxes that were asked for.
	divided map[grid.Box]float64
}

// NewField takes the fields of a measured plane that has a weight, which is counted from its
// mean on the survey's open edge. Vorticity is given for planes normal to x.
//
// A plane of more than mostSamples samples is first put on a lattice of about
// rasterPlaces points (see thin), and Note says so: parts of a wake are many samples
// across by then, and finding them would otherwise take as long as all integrals.
func NewField(m *measure.Measurement) *Field {
	f := &Field{Name: m.Plane.Name(), Position: m.Plane.Position, Mesh: m.Plane.Mesh, Level: m.Level, Scale: m.Scale}
	if m.Result.Wake != nil {
		f.WeightName = m.Result.Wake.Weight
	}
	var v, w []float64
	f.Weight = m.Weight
	if m.Plane.Normal == wake.AxisX {
		f.Local = m.Local()
		if a, b := m.Plane.Field[wake.V], m.Plane.Field[wake.W]; a != nil && b != nil {
			v, w = a, b
		}
	}
	if len(f.Mesh.Points) > mostSamples {
		n := len(f.Mesh.Points)
		mesh, put := thin(f.Mesh)
		f.Mesh, f.Weight, f.Local, v, w = mesh, put(f.Weight), put(f.Local), put(v), put(w)
		l := mesh.Lattice
		f.Note = fmt.Sprintf("found on %d x %d points %.3g mm apart, interpolated from %d samples", len(l.X), len(l.Y), 1000*mesh.Spacing(), n)
	}
	weight := f.Weight
	f.Weight = grid.Fill(len(weight), func(i int) float64 { return weight[i] - m.Level })
	if v != nil {
		f.Vorticity = vorticity(f.Mesh, v, w)
	}
	return f
}

// vorticity is that of a plane flow (v, w). A gradient that is missing (a sample without
// neighbours) counts as no rotation.
func vorticity(m *grid.Mesh, v, w []float64) []float64 {
	out := m.Curl(v, w)
	for i, x := range out {
		if math.IsNaN(x) {
			out[i] = 0
		}
	}
	return out
}

// What parts are the connected places of: where the wake's weight is above the threshold, or the
// streamwise vorticity, each sign for itself.
const (
	ByWeight    = "weight"
	ByVorticity = "vorticity"
)

// total is Scale · ∫ g over the whole mesh.
func (f *Field) total(g []float64) float64 {
	return f.Scale * quad.NewWeights(f.Mesh, nil).Integrate(g)
}

const (
	// mostSamples is how many samples are used as they are, and rasterPlaces about how
	// many points a larger survey is put on.
	mostSamples  = 60_000
	rasterPlaces = 20_000
)

// thin makes a lattice of nodes with equal steps over the window of a mesh: about
// rasterPlaces points, of which those are left out that no element covers. put puts
// a field on it (nil stays nil). The lattice depends on the mesh alone, so that fields
// of two configurations on common samples stay so.
func thin(m *grid.Mesh) (out *grid.Mesh, put func(f []float64) []float64) {
	window := m.Window()
	if m.Kind == grid.KindLattice {
		// To the outermost samples: a half-cell beyond is next to nothing here.
		window = grid.Bounds(m.Points)
	}
	r := grid.NewRaster(window, math.Sqrt(window.Area()/rasterPlaces))
	l := &grid.Lattice{X: grid.Fill(r.NX, r.X), Y: grid.Fill(r.NY, r.Y), Index: make([]int32, r.Len())}
	out = &grid.Mesh{Kind: grid.KindLattice, Support: grid.Nodes, Gaps: m.Gaps, Lattice: l}
	var shares [][4]grid.Share
	for k, s := range r.Shares(m) {
		l.Index[k] = -1
		if s != ([4]grid.Share{}) {
			l.Index[k] = int32(len(out.Points))
			out.Points, shares = append(out.Points, r.At(k)), append(shares, s)
		}
	}
	return out, func(f []float64) []float64 {
		if f == nil {
			return nil
		}
		return grid.Fill(len(shares), func(i int) float64 { return grid.Mix(shares[i], f) })
	}
}
