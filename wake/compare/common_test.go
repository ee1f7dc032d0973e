package compare

import (
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// A mesh that loses samples keeps what the others represent: a polygon that loses a
// corner goes as a whole, the others stay polygons, and sample areas stay with their
// samples.
func TestSubMesh(t *testing.T) {
	// Three squares in a row, the middle one with a hanging node on top.
	m := &grid.Mesh{
		Kind:   grid.KindPolygons,
		Points: []grid.Point{{X: 0}, {X: 1}, {X: 2}, {X: 3}, {X: 3, Y: 1}, {X: 2, Y: 1}, {X: 1.5, Y: 1}, {X: 1, Y: 1}, {X: 0, Y: 1}},
		Triangles: []int32{
			0, 1, 7, 0, 7, 8,
			1, 2, 5, 1, 5, 6, 1, 6, 7,
			2, 3, 4, 2, 4, 5,
		},
		Faces:      []int32{0, 2, 5, 7},
		SampleArea: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9},
	}
	if err := gridtest.Validate(m); err != nil {
		t.Fatal(err)
	}
	keep := slices.Repeat([]bool{true}, 9)
	all, _ := subMesh(m, keep)
	if err := gridtest.Validate(all); err != nil || all.Elements() != 3 || !slices.Equal(all.Triangles, m.Triangles) || !slices.Equal(all.SampleArea, m.SampleArea) {
		t.Errorf("with all samples: %+v, %v", all, err)
	}
	keep[6] = false // the hanging node
	part, renumber := subMesh(m, keep)
	if err := gridtest.Validate(part); err != nil {
		t.Fatal(err)
	}
	if part.Elements() != 2 || !slices.Equal(part.Faces, []int32{0, 2, 4}) || renumber[6] != -1 || renumber[7] != 6 {
		t.Errorf("%d elements, faces %v, numbers %v", part.Elements(), part.Faces, renumber)
	}
	if !slices.Equal(part.SampleArea, []float64{1, 2, 3, 4, 5, 6, 8, 9}) {
		t.Errorf("sample areas %v", part.SampleArea)
	}
	part.SampleArea = nil
	if a := quad.NewWeights(part, nil).Area(); a != 2 {
		t.Errorf("area %g, want that of the two outer squares", a)
	}
}

// Planes with an area column are compared over these areas, on a lattice and on
// scattered points.
func TestCommonAreas(t *testing.T) {
	f := waketest.Gaussian(0.5, 0.2, 0, 0)
	for name, sample := range map[string]func(half float64, seed uint64) *wake.Samples{
		"lattice": func(half float64, _ uint64) *wake.Samples {
			return waketest.Lattice(f, -half, half, -half, half, 21, 21)
		},
		"scattered": func(half float64, seed uint64) *wake.Samples {
			return waketest.Scatter(f, -half, half, -half, half, 21, 21, seed)
		},
	} {
		var planes []*wake.Plane
		for k := range 2 {
			s := sample(1, uint64(k))
			for i := range s.N {
				s.Col[wake.Area] = append(s.Col[wake.Area], 4.0/441*(0.9+0.2*float64(i)/441))
			}
			planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
		}
		out, _, _, err := commonPlanes(planes)
		if err != nil {
			t.Fatal(err)
		}
		u := planes[0].Field[wake.U]
		want := quad.NewWeights(planes[0].Mesh, nil).Integrate(u)
		for k, p := range out {
			if p.Mesh.SampleArea == nil {
				t.Fatalf("%s: the areas of plane %d are lost", name, k)
			}
		}
		if got := quad.NewWeights(out[0].Mesh, nil).Integrate(out[0].Field[wake.U]); got < 0.999*want || got > want*(1+1e-12) {
			t.Errorf("%s: ∫u dS = %g among the common samples, %g alone", name, got, want)
		}
	}
}
