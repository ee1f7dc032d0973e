package measure

import (
	"fmt"
	"math"
	"slices"

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

// toMirror takes a half plane of nodes on a lattice as far as its plane of symmetry where
// its first line stops short of it, as lines half a cell off do: quantities are even there,
// a + b·y² through the first two lines, and the velocity across is zero. It refuses
// a plane that holds both halves.
func toMirror(p *wake.Plane) (*wake.Plane, error) {
	window, h := p.Mesh.Window(), p.Mesh.Spacing()
	ends, short := mirrored(window, h), short(window)
	if !ends && window.Min.X < 0 && window.Max.X > 0 {
		return nil, &wake.InputError{File: p.Name(), Text: fmt.Sprintf("a half plane is asked for, but the samples run from y = %.4g to %.4g m, on both sides of y = 0", window.Min.X, window.Max.X),
			Cure: "leave out --symmetry half, or cut the plane at y = 0"}
	}
	if !ends || p.Mesh.Kind != grid.KindLattice || p.Mesh.Support != grid.Nodes || p.Mesh.SampleArea != nil || !(short > onMirror*h) {
		return p, nil
	}
	l, nx := p.Mesh.Lattice, len(p.Mesh.Lattice.X)
	// Sample j of line k, counted from the plane of symmetry on.
	line, at := l.X, l.At
	if !(l.X[0] >= 0) {
		line, at = []float64{l.X[nx-1], l.X[nx-2]}, func(k, j int) int32 { return l.At(nx-1-k, j) }
	}
	part := line[0] * line[0] / (line[1]*line[1] - line[0]*line[0])
	// All samples, and once more those of the first line, for the plane of symmetry.
	old := len(p.Mesh.Points)
	from, beyond := make([]int32, old), []int32{}
	for i := range from {
		from[i] = int32(i)
	}
	for j := range l.Y {
		if first := at(0, j); first >= 0 {
			from, beyond = append(from, first), append(beyond, at(1, j))
		}
	}
	mesh := &grid.Mesh{Kind: grid.KindLattice, Support: grid.Nodes, Points: wake.At(p.Mesh.Points, from)}
	for k := range beyond {
		mesh.Points[old+k].X = 0
	}
	if mesh.Lattice, _ = grid.DetectLattice(mesh.Points); mesh.Lattice == nil {
		return p, nil // the strip is then in the uncertainty
	}
	mesh.Gaps = mesh.Lattice.Gaps()
	out := *p
	for q, f := range p.Field {
		if f == nil {
			continue
		}
		out.Field[q] = wake.At(f, from)
		for k, second := range beyond {
			switch v := &out.Field[q][old+k]; {
			case wake.Quantity(q) == wake.V:
				*v = 0
			case second >= 0:
				*v += (*v - f[second]) * part
			}
		}
	}
	out.Errors = slices.Clone(p.Errors)
	for k := range out.Errors {
		out.Errors[k] = p.Errors[k].Each(from)
	}
	out.Mesh = mesh
	out.Warnings = append(slices.Clone(p.Warnings), wake.Warning{Code: "extended-to-symmetry", Where: p.Name(),
		Text: fmt.Sprintf("the first line of the half plane lies %.4g m off its plane of symmetry; %d samples on that plane are added, even in all but the velocity across", short, len(beyond)),
		Cure: "export the values on the plane of symmetry too, or the cells with --support cells"})
	return &out, nil
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
	m.warn("symmetry-strip", "cut or survey the plane at its plane of symmetry",
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

// onMirror: the window ends at its plane of symmetry within this part of the spacing.
const onMirror = 1e-3

// checkMirror doubts a half plane that ends nowhere near a plane of symmetry.
func (m *measuring) checkMirror() {
	if m.opt.Half && !m.mirror {
		m.warn("symmetry-not-found", "survey as far as y = 0, or leave out --symmetry half",
			"the half plane does not end at y = 0 (window y %.3g to %.3g m): what lies between it and its plane of symmetry is missing twice", m.window.Min.X, m.window.Max.X)
	}
}
