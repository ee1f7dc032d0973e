package measure

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// mirrored says whether a window ends at y = 0, the plane of symmetry of a half plane, within
// reach at samples h apart.
func mirrored(window grid.Box, h float64) bool {
	return math.Min(math.Abs(window.Min.X), math.Abs(window.Max.X)) <= floorReach*h
}

// short is how far a window stops short of y = 0, m; below zero where it reaches beyond.
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
	if !mirrored(window, h) && window.Min.X < 0 && window.Max.X > 0 {
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

// stripEffect is the drag area of the strip between a half plane and its plane of symmetry
// that no line of a lattice fills, at the local drag of the samples beside it, and how far
// the window stops short; ok is false where there is none.
func (m *station) stripEffect() (effect, off float64, ok bool) {
	off = short(m.window)
	if !m.mirror || m.mesh.SampleArea != nil || !(math.Abs(off) > onMirror*m.spacing) {
		return 0, 0, false
	}
	sum, n := 0.0, 0
	for i, p := range m.plane.Mesh.Points {
		if math.Abs(p.X) <= math.Abs(off)+m.spacing {
			sum += m.flow.local(i)
			n++
		}
	}
	return m.scale * math.Abs(off) * m.window.Height() * math.Abs(sum) / float64(max(n, 1)), off, true
}

// checkStrip warns of that strip.
func (m *measuring) checkStrip() {
	effect, short, ok := m.stripEffect()
	if !ok {
		return
	}
	how := "ends before"
	if short < 0 {
		how = "reaches beyond"
	}
	m.warn("symmetry-strip", "cut or survey the plane at its plane of symmetry, or say --support cells where the samples are cells",
		"the half plane %s its plane of symmetry by %.4g m: about %.3g m2 of drag area, held in the uncertainty", how, math.Abs(short), effect)
}

// mirrorItem holds that strip, as a full width.
func (m *station) mirrorItem() []uncertainty.Item {
	effect, _, ok := m.stripEffect()
	if !ok {
		return nil
	}
	return []uncertainty.Item{uncertainty.HalfWidth("strip at the plane of symmetry", effect)}
}

// checkMirror doubts a half plane that ends nowhere near a plane of symmetry.
func (m *measuring) checkMirror() {
	if m.opt.Half && !m.mirror {
		m.warn("symmetry-not-found", "survey as far as y = 0, or leave out --symmetry half",
			"the half plane does not end at y = 0 (window y %.3g to %.3g m): what lies between it and its plane of symmetry is missing twice", m.window.Min.X, m.window.Max.X)
	}
}
