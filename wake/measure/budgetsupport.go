package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// respondSupport measures a lattice whose file does not say what its samples represent as
// cells too, which reach half a spacing further out than corners. The truth is one of the
// two, or between them: a rectangular distribution from the one that is quoted to the
// other has the root mean square difference/√3 about the quoted one (GUM 4.3.8). The same
// files are read alike, so in a difference of two surveys the two strips cancel as far as
// they are alike.
//
// A row on the floor, or a line on the plane of symmetry, shows that the samples are
// corners: cells would reach beyond it.
func (m *measuring) respondSupport() {
	p := m.plane
	if !unstatedNodes(p) || m.onBorder() {
		return
	}
	v, err := m.Layout.again(asCells(p), m.given, shared{wake: m.flow.wake})
	r := Response{Name: supportItem, Category: uncertainty.Sampling, Kind: uncertainty.Common, Standard: 1}
	if err != nil {
		v = m.Layout.none() // and then what cells do is not known
	}
	for i := range v {
		d := (v[i] - m.Values[i]) / math.Sqrt(3)
		r.Plus, r.Minus = append(r.Plus, m.Values[i]+d), append(r.Minus, m.Values[i]-d)
	}
	m.Responses = append(m.Responses, r)
	b := m.Result.Uncertainty.DragArea
	if b == nil {
		return
	}
	if i := m.Layout.Method(m.Result.Drag.Headline); math.Abs(r.Plus[i]-m.Values[i]) > b.Standard/3 {
		m.warn("support-not-stated", "say which: --support cells or --support nodes; support = in a study",
			"with the samples as cells the drag area is %.4f m2, %+.4f: the file does not say whether they are cells or corners, and the ± holds both", v[i], v[i]-m.Values[i])
	}
}

// unstatedNodes says whether a lattice is of corners only since nothing tells what its samples are.
func unstatedNodes(p *wake.Plane) bool {
	return p.SupportBy == "default" && p.Mesh.Kind == grid.KindLattice && p.Mesh.Support == grid.Nodes && p.Mesh.SampleArea == nil
}

// asCells is a lattice's plane with its samples as cells.
func asCells(p *wake.Plane) *wake.Plane {
	cells := moved(p, 1, grid.Point{})
	cells.Mesh.Support = grid.Cells
	return cells
}

const supportItem = "samples as corners or as cells"

// onBorder says whether a line of samples lies on the floor or on the plane of symmetry.
func (m *measuring) onBorder() bool {
	w := m.window
	return m.floor && math.Abs(w.Min.Y) < m.spacing/4 || m.opt.Half && short(w) < m.spacing/4
}
