package measure

import (
	"math"
	"math/rand/v2"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// Replicates of the areas: fewer where the plane is large.
const (
	areaReplicates      = 24
	areaReplicatesLarge = 6
	largePlane          = 200_000
)

// respondAreas finds what the samples' scatter does to the areas above the
// thresholds. A threshold is not linear, so subsets would not do: each sample of
// the weight is moved by its own residual with a random sign (the wild bootstrap,
// Liu 1988, Ann. Statist. 16, 1696, from memory) and the areas are taken again.
func (m *measuring) respondAreas() {
	if m.weight == nil || m.out.Wake == nil {
		return
	}
	n := areaReplicates
	if len(m.weight) > largePlane {
		n = areaReplicatesLarge
	}
	res := m.weightScatter().residual
	boxes := []*grid.Box{nil}
	for k := range m.opt.Regions {
		boxes = append(boxes, &m.opt.Regions[k].Box)
	}
	w := make([]float64, len(m.weight))
	draws := make([][]float64, m.layout.len())
	for d := range n {
		rng := rand.New(rand.NewPCG(seed, uint64(d)))
		for i, v := range m.weight {
			if rng.Uint64()&1 == 0 {
				w[i] = v + res[i]
			} else {
				w[i] = v - res[i]
			}
		}
		for k, box := range boxes {
			for t, a := range quad.AreaAbove(m.plane.Mesh, box, w, m.opt.Thresholds) {
				at := m.layout.Area(k-1, t)
				draws[at] = append(draws[at], m.scale*a)
			}
		}
	}
	chord := m.weightScatter().chord
	for i, v := range m.weight {
		w[i] = v - chord[i]
	}
	m.areaChord = make(Vector, len(draws))
	for k, box := range boxes {
		for t, a := range quad.AreaAbove(m.plane.Mesh, box, w, m.opt.Thresholds) {
			at := m.layout.Area(k-1, t)
			m.areaChord[at] = math.Abs(m.scale*a - m.values[at])
		}
	}
	m.areaStandard = make(Vector, len(draws))
	for i, v := range draws {
		if len(v) > 0 {
			// About the area itself: what noise does to it on the mean, being done twice now,
			// is part of its error.
			var sq float64
			for _, a := range v {
				sq += (a - m.values[i]) * (a - m.values[i])
			}
			m.areaStandard[i] = math.Sqrt(sq / float64(n))
		}
	}
	m.areaDOF = float64(n)
}

// areaItems are those of an area: the scatter, and what the level lines, straight
// inside the elements, cut off or add. The latter is an error of one sign that is
// left in the area; its estimate stands as a standard uncertainty, so that two of
// it hold the error.
func (m *measuring) areaItems(i int) []Item {
	dof := m.areaDOF
	return []Item{
		{Name: "sampling distance", Kind: Random, Standard: m.areaStandard[i], DOF: &dof},
		{Name: "straight level lines", Kind: Independent, Standard: m.areaChord[i]},
	}
}

// JoinAreas are the items that two planes themselves bring to the difference of
// their areas above one threshold, from the budgets of the two.
func JoinAreas(a, b *Budget) []Item {
	var out []Item
	for i := range min(areaItemCount, len(a.Items), len(b.Items)) {
		x, y := a.Items[i], b.Items[i]
		x.Standard = math.Hypot(x.Standard, y.Standard)
		if x.DOF != nil {
			dof := 2 * *x.DOF
			x.DOF = &dof
		}
		out = append(out, x)
	}
	return out
}

// areaItemCount is how many items areaItems gives.
const areaItemCount = 2
