package poisson

import (
	"math"
	"runtime"

	"wakeledger/grid"
)

// Holes says what Resample does with samples that no element of the mesh covers.
type Holes uint8

const (
	// RefuseHoles makes them an error.
	RefuseHoles Holes = iota
	// ZeroHoles gives them the value 0 and reports them.
	ZeroHoles
	// MarkHoles gives them NaN and reports them.
	MarkHoles
)

// FromMesh returns the mesh's own lattice and the order of its samples, when its
// lines are evenly spaced (see FromLines) and no place is missing: the value of
// lattice sample k is that of mesh sample order[k]. ok is false for any other mesh.
func FromMesh(m *grid.Mesh) (l Lattice, order []int32, ok bool) {
	if m.Kind != grid.KindLattice {
		return Lattice{}, nil, false
	}
	l, err := FromLines(m.Lattice.X, m.Lattice.Y, m.Support)
	if err != nil {
		return Lattice{}, nil, false
	}
	for _, s := range m.Lattice.Index {
		if s < 0 {
			return Lattice{}, nil, false
		}
	}
	return l, m.Lattice.Index, true
}

// Resample interpolates fields of a mesh, one value a mesh sample each, at the
// samples of a lattice: bilinear on a lattice, linear on triangles, so of second
// order. Cells of every kind are first made nodal (grid.Mesh.Nodal).
//
// missing counts the lattice samples that no element covers, inside an opening or
// outside the rim; what becomes of them holes says. A NaN in a field spreads to the
// samples of the elements that it is a corner of. Errors wrap ErrUnusable.
func Resample(m *grid.Mesh, to Lattice, holes Holes, fields ...[]float64) (out [][]float64, missing int, err error) {
	if err := to.Check(); err != nil {
		return nil, 0, err
	}
	for q, f := range fields {
		if len(f) != len(m.Points) {
			return nil, 0, unusable("field %d has %d values for %d mesh samples", q, len(f), len(m.Points))
		}
	}
	if len(fields) == 0 {
		return nil, 0, unusable("no field to resample")
	}
	if len(m.Points) < 3 {
		return nil, 0, unusable("%d mesh samples hold no area", len(m.Points))
	}
	nodal := m
	nodalFields := make([][]float64, len(fields))
	for q, f := range fields {
		nodal, nodalFields[q] = m.Nodal(f)
	}
	locator := grid.NewLocator(nodal)
	out = make([][]float64, len(fields))
	for q := range out {
		out[q] = make([]float64, to.Len())
	}
	// Each row notes its own misses; they are summed in order.
	lost := make([]int, to.NY)
	firstLost := make([]int, to.NY)
	parallelRows(to.NY, func(j int) {
		for i := range to.NX {
			k := j*to.NX + i
			shares, n, ok := locator.At(to.Point(k))
			if !ok {
				if lost[j] == 0 {
					firstLost[j] = k
				}
				lost[j]++
			}
			for q, f := range nodalFields {
				v := 0.0
				for _, s := range shares[:n] {
					v += s.Weight * f[s.Sample]
				}
				if !ok && holes == MarkHoles {
					v = math.NaN()
				}
				out[q][k] = v
			}
		}
	})
	first := -1
	for j, n := range lost {
		if n > 0 && first < 0 {
			first = firstLost[j]
		}
		missing += n
	}
	if missing > 0 && holes == RefuseHoles {
		p := to.Point(first)
		return nil, missing, unusable("%d of %d lattice samples lie in no element of the mesh, the first at (%g, %g); fill the gap, shrink the lattice or allow holes", missing, to.Len(), p.X, p.Y)
	}
	return out, missing, nil
}

// parallelRows calls f for each row, interleaved over the processors: openings make
// some rows cheaper than others.
func parallelRows(n int, f func(j int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	parallel(workers, func(lo, hi int) {
		for w := lo; w < hi; w++ {
			for j := w; j < n; j += workers {
				f(j)
			}
		}
	})
}
