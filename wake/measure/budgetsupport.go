package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// respondSupport measures a plane whose file does not say what its samples represent as
// cells too, which reach half a spacing further out than corners. The truth is one of the
// two, or between them: a rectangular distribution from the one that is quoted to the
// other has the root mean square difference/√3 about the quoted one (GUM 4.3.8). The same
// files are read alike, so in a difference of two surveys the two strips cancel as far as
// they are alike.
//
// A row on the floor, or a line on the plane of symmetry, shows that the samples are
// corners: cells would reach beyond it.
func (m *measuring) respondSupport() {
	p, base := m.plane, m.Values
	if p.SupportBy != "default" && !unknownCells(p) || p.Mesh.Support != grid.Nodes || p.Mesh.SampleArea != nil || m.onBorder() {
		return
	}
	again := func(p *wake.Plane) Vector {
		// Without a number what cells do is not known.
		return m.Layout.orNone(m.Layout.again(p, m.given, shared{wake: m.flow.wake}))
	}
	var v Vector
	switch {
	case p.Mesh.Kind == grid.KindLattice:
		v = again(asCells(p))
	case p.Mesh.Kind == grid.KindTriangles && p.Mesh.Faces == nil:
		strip := strips(p.Mesh, m.whole.Weight)
		if m.little(strip) {
			return
		}
		var both [2]Vector
		grid.Parallel(2, func(k int) {
			cells := moved(p, 1, grid.Point{})
			cells.Mesh.SampleArea = slices.Clone(m.whole.Weight)
			floats.AddScaled(cells.Mesh.SampleArea, float64(k), strip)
			both[k] = again(cells)
		})
		base, v = both[0], both[1]
	default:
		return
	}
	r := Response{Name: supportItem, Category: uncertainty.Sampling, Kind: uncertainty.Common, Standard: 1}
	for i := range v {
		d := (v[i] - base[i]) / math.Sqrt(3)
		r.Plus, r.Minus = append(r.Plus, m.Values[i]+d), append(r.Minus, m.Values[i]-d)
	}
	m.Responses = append(m.Responses, r)
	b := m.Result.Uncertainty.DragArea
	if b == nil {
		return
	}
	if i := m.Layout.Method(m.Result.Drag.Headline); !unknownCells(p) && math.Abs(r.Plus[i]-m.Values[i]) > b.Standard/3 {
		m.warn("support-not-stated", "say which: --support cells or --support nodes; support = in a study",
			"with the samples as cells the drag area is %.4f m2, %+.4f: the file does not say whether they are cells or corners, and the ± holds both", m.Values[i]+v[i]-base[i], v[i]-base[i])
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

// unknownCells says whether the samples are those of cells that nothing tells the size of.
func unknownCells(p *wake.Plane) bool {
	return slices.ContainsFunc(p.Warnings, func(w wake.Warning) bool { return w.Code == "cells-not-known" })
}

// littleStrip is the part of the weight's integral, and of the drag's standard uncertainty, below which
// strips beyond the border are left out: a thousandth of the one, a tenth of the other.
const littleStrip = 1e-3

// little reports whether areas beyond the border's samples hold next to nothing of the drag and of the
// weight, as where the stream is undisturbed there.
func (m *measuring) little(strip []float64) bool {
	var drag, weight float64
	for i, a := range strip {
		if a > 0 && m.weight != nil {
			weight += a * math.Abs(m.weight[i])
		}
		if a > 0 && m.flow.momentum() {
			drag += a * m.flow.local(i)
		}
	}
	b, w := m.Result.Uncertainty.DragArea, m.Result.Wake
	return (b == nil || m.scale*math.Abs(drag) < 100*littleStrip*b.Standard) && (w == nil || m.scale*weight < littleStrip*math.Abs(w.Integral))
}

// strips are the areas beyond the border, for each sample half a cell deep, where the cells are squares as
// large as the mean of the neighbours within; within is the area that each sample has about it.
func strips(mesh *grid.Mesh, within []float64) []float64 {
	out, b := make([]float64, len(within)), newBorder(slices.Concat(mesh.Border()...))
	length := make([]float64, len(within))
	for k, i := range b.samples {
		length[i] = b.length[k]
	}
	sum, n := make([]float64, len(within)), make([]float64, len(within))
	for k, c := range mesh.Triangles {
		for _, o := range mesh.Triangles[k-k%3 : k-k%3+3] {
			if length[c] > 0 && length[o] == 0 {
				sum[c], n[c] = sum[c]+within[o], n[c]+1
			}
		}
	}
	for i, l := range length {
		if n[i] > 0 {
			out[i] = l / 2 * math.Sqrt(sum[i]/n[i])
		}
	}
	return out
}

const supportItem = "samples as corners or as cells"

// onBorder says whether a line of samples lies on the floor or on the plane of symmetry; scattered
// samples lie there exactly.
func (m *measuring) onBorder() bool {
	w, reach := m.window, m.spacing/4
	if m.mesh.Kind != grid.KindLattice {
		reach = onMirror * m.spacing
	}
	return m.floor && math.Abs(w.Min.Y) < reach || m.opt.Half && short(w) < reach
}
