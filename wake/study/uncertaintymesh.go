package study

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// Refinement is what surveys of one configuration on refined meshes say of the
// drag area on an endlessly fine one.
type Refinement struct {
	Configuration string `json:"configuration"`
	Method        string `json:"method"`
	// Meshes are the finest first.
	Meshes      []RefinedMesh                `json:"meshes"`
	Convergence *uncertainty.GridConvergence `json:"convergence,omitempty"`
	// Delta is the convergence of the change against the baseline on meshes of the
	// same numbers; nil for the baseline and where the meshes do not match.
	Delta *uncertainty.GridConvergence `json:"delta,omitempty"`
}

// RefinedMesh is one of the meshes: Spacing is the root of the area that a sample
// represents.
type RefinedMesh struct {
	File     string  `json:"file"`
	Spacing  float64 `json:"spacing_m"`
	DragArea float64 `json:"drag_area_m2"`
}

// refinements studies grid convergence at station s.
func (r *runner) refinements(s int) error {
	o := &r.out.Stations[s]
	for k := range r.at[s] {
		ref := Refinement{Configuration: r.c.Configurations[k].Name}
		for _, planes := range slices.Backward(r.refined[k]) {
			p := r.nearStation(s, planes)
			if p == nil {
				continue
			}
			m, err := measure.Bare(p, r.by[p])
			if err != nil {
				return err
			}
			if ref.Method == "" && m.Result.Drag != nil {
				ref.Method = m.Result.Drag.Headline
			}
			i := m.Layout.Method(ref.Method)
			if i < 0 || math.IsNaN(m.Values[i]) {
				continue
			}
			ref.Meshes = append(ref.Meshes, RefinedMesh{p.Name(), math.Sqrt(m.Result.Mesh.Area / float64(m.Result.Samples)), m.Values[i]})
		}
		if len(ref.Meshes) < 2 {
			continue
		}
		var err error
		if ref.Convergence, err = converge(ref.Meshes, nil); err != nil {
			return &wake.InputError{File: ref.Meshes[0].File, Text: fmt.Sprintf("the refinements of %q: %v", ref.Configuration, err), Cure: "list them from the coarsest to the finest"}
		}
		o.Refinements = append(o.Refinements, ref)
	}
	base := slices.IndexFunc(o.Refinements, func(f Refinement) bool { return f.Configuration == r.c.Baseline })
	if base < 0 {
		return nil
	}
	for i := range o.Refinements {
		f := &o.Refinements[i]
		if i == base || !matched(f.Meshes, o.Refinements[base].Meshes) || f.Method != o.Refinements[base].Method {
			continue
		}
		// Differences of mesh pairs: what the meshes do alike to both cancels.
		f.Delta, _ = converge(f.Meshes, o.Refinements[base].Meshes)
	}
	return nil
}

// matched reports whether two lists of meshes have the same spacings within two
// per cent: the bodies take different cells away.
func matched(a, b []RefinedMesh) bool {
	return slices.EqualFunc(a, b, func(x, y RefinedMesh) bool { return math.Abs(x.Spacing/y.Spacing-1) <= 0.02 })
}

// converge is the convergence of a, or of a − b.
func converge(a, b []RefinedMesh) (*uncertainty.GridConvergence, error) {
	var h, f []float64
	for i, m := range a {
		h, f = append(h, m.Spacing), append(f, m.DragArea)
		if b != nil {
			f[i] -= b[i].DragArea
		}
	}
	g, err := uncertainty.NewGridConvergence(h, f)
	if err != nil {
		return nil, err
	}
	return &g, nil
}
