package measure

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// short is how far a window stops short of y = 0, the plane of symmetry of a half plane, m;
// below zero where it reaches beyond.
func short(window grid.Box) float64 {
	if math.Abs(window.Min.X) <= math.Abs(window.Max.X) {
		return window.Min.X
	}
	return -window.Max.X
}

// onMirror: a window ends at its plane of symmetry within this part of the spacing: text
// with four decimals puts lines 10 mm apart up to half of it off.
const onMirror = 1e-2

// toMirror reads a half plane as cells where its file does not say what the samples
// represent and cells would end at its plane of symmetry: a solver's, half a cell off it. It
// refuses a plane that holds both halves.
func toMirror(p *wake.Plane) (*wake.Plane, error) {
	window, h := p.Mesh.Window(), p.Mesh.Spacing()
	if !(math.Abs(short(window)) <= floorReach*h) && window.Min.X < 0 && window.Max.X > 0 {
		return nil, &wake.InputError{File: p.Name(), Text: fmt.Sprintf("a half plane is asked for, but the samples run from y = %.4g to %.4g m, on both sides of y = 0", window.Min.X, window.Max.X),
			Cure: "leave out --symmetry half, or cut the plane at y = 0"}
	}
	if !unstatedNodes(p) {
		return p, nil
	}
	cells := asCells(p)
	if !(math.Abs(short(cells.Mesh.Window())) <= onMirror*h) {
		return p, nil
	}
	cells.SupportBy = "lines half a cell off the plane of symmetry"
	return cells, nil
}

// mirrorItem holds, as a full width, the drag area of the strip between a half plane and its
// plane of symmetry that no line of samples fills, at the local drag of the samples beside it; none
// where the window ends there.
func (m *station) mirrorItem() []uncertainty.Item {
	off := math.Abs(short(m.window))
	if !m.mirror || m.mesh.SampleArea != nil || !(off > onMirror*m.spacing) {
		return nil
	}
	sum, n := 0.0, 0
	for i, p := range m.plane.Mesh.Points {
		if math.Abs(p.X) <= off+m.spacing {
			sum += m.flow.local(i)
			n++
		}
	}
	return []uncertainty.Item{uncertainty.HalfWidth("strip at the plane of symmetry", m.scale*off*m.window.Height()*sum/float64(max(n, 1)))}
}

// checkStrip warns of that strip.
func (m *measuring) checkStrip() {
	for _, it := range m.mirrorItem() {
		m.warn("symmetry-strip", "cut or survey the plane at its plane of symmetry, or say --support cells where the samples are cells",
			"the half plane stops %.4g m short of its plane of symmetry (below zero: beyond it): about %.3g m2 of drag area, held in the uncertainty", short(m.window), math.Sqrt(3)*it.Standard)
	}
}

// checkMirror doubts a half plane that ends nowhere near a plane of symmetry.
func (m *measuring) checkMirror() {
	if m.opt.Half && !m.mirror {
		m.warn("symmetry-not-found", "survey as far as y = 0, or leave out --symmetry half",
			"the half plane does not end at y = 0 (window y %.3g to %.3g m): what lies between it and its plane of symmetry is missing twice", m.window.Min.X, m.window.Max.X)
	}
}
