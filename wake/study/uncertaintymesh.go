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
	Meshes      []RefinedMesh `json:"meshes"`
	Convergence *Convergence  `json:"convergence,omitempty"`
	// Delta is the convergence of the change against the baseline on meshes of the
	// same numbers; nil for the baseline and where the meshes do not match.
	Delta *Convergence `json:"delta,omitempty"`
	Text  string       `json:"text"`
}

// RefinedMesh is one of the meshes: Spacing is the root of the area that a sample
// represents.
type RefinedMesh struct {
	File     string  `json:"file"`
	Spacing  float64 `json:"spacing_m"`
	DragArea float64 `json:"drag_area_m2"`
}

// Convergence is the outcome of a study of grid convergence. Figures in per cent
// are of the finest mesh's value.
type Convergence struct {
	Order        *float64 `json:"observed_order,omitempty"`
	Used         float64  `json:"order_used"`
	Extrapolated float64  `json:"extrapolated_m2"`
	Index        *float64 `json:"gci_percent,omitempty"`
	Factor       float64  `json:"safety_factor"`
	// Standard is half of the index times the finest value, m².
	Standard    float64 `json:"standard_m2"`
	Oscillatory bool    `json:"oscillatory"`
	Fallback    string  `json:"fallback,omitempty"`
	Text        string  `json:"text"`
}

// leastRatio is the least ratio of spacings that the source of the index advises.
const leastRatio = 1.3

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
			m, err := measure.Bare(p, r.of(k, p))
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
		ref.Text = fmt.Sprintf("%s, %d meshes: %s", ref.Configuration, len(ref.Meshes), ref.Convergence.Text)
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
		// Differences of mesh pairs: what the meshes do alike to both cancels. One that is
		// zero on the finest mesh has no relative error.
		if c, err := converge(f.Meshes, o.Refinements[base].Meshes); err == nil {
			f.Delta = c
			f.Text += "; change against " + r.c.Baseline + ": " + c.Text
		}
	}
	return nil
}

// matched reports whether two lists of meshes have the same spacings within two
// per cent: the bodies take different cells away.
func matched(a, b []RefinedMesh) bool {
	return slices.EqualFunc(a, b, func(x, y RefinedMesh) bool { return math.Abs(x.Spacing/y.Spacing-1) <= 0.02 })
}

// converge is the convergence of a, or of a − b.
func converge(a, b []RefinedMesh) (*Convergence, error) {
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
	c := &Convergence{Used: g.Used, Extrapolated: g.Extrapolated, Factor: g.Factor, Standard: g.Standard, Oscillatory: g.Oscillatory, Fallback: g.Fallback}
	s := "no order observed"
	if !math.IsNaN(g.Order) {
		c.Order = &g.Order
		s = fmt.Sprintf("observed order %.2f", g.Order)
	}
	s += fmt.Sprintf(", finest %+.4f m2, extrapolated %+.4f m2", f[0], g.Extrapolated)
	if !math.IsNaN(g.Index - g.Index) {
		p := 100 * g.Index
		c.Index = &p
		s += fmt.Sprintf(", GCI %.2g %%", p)
	}
	s += fmt.Sprintf(" (factor %g, order %.3g), as a standard uncertainty %.2g m2", g.Factor, g.Used, g.Standard)
	if g.Oscillatory {
		s += "; the results oscillate"
	}
	if g.Fallback != "" {
		s += "; " + g.Fallback
	}
	for i := 1; i < min(3, len(h)); i++ {
		if h[i]/h[i-1] < leastRatio {
			s += fmt.Sprintf("; the spacings stand as %.2f, below %g: the order is not well told", h[i]/h[i-1], leastRatio)
		}
	}
	c.Text = s
	return c, nil
}
