package measure

import (
	"math"

	"wakeledger/grid"
)

// mirror is the plane of symmetry that a half plane ends at.
type mirror uint8

const (
	mirrorNone mirror = iota
	mirrorY           // y = 0: one lateral side of the window
	mirrorZ           // z = 0: its lower side, which is no floor
)

// words names the plane of symmetry for results.
func (m mirror) words() string {
	switch m {
	case mirrorY:
		return "half plane, symmetric about y = 0"
	case mirrorZ:
		return "half plane, symmetric about z = 0"
	}
	return "half plane whose plane of symmetry is not its border"
}

// findMirror finds the border of a half plane that is no border of the flow: a
// lateral side within reach of y = 0, else the lower side within reach of z = 0,
// unless that is stated to be a floor.
func findMirror(window grid.Box, h float64, floor string) mirror {
	reach := floorReach * h
	switch {
	case math.Abs(window.Min.X) <= reach || math.Abs(window.Max.X) <= reach:
		return mirrorY
	case math.Abs(window.Min.Y) <= reach && (floor == "" || floor == "none"):
		return mirrorZ
	}
	return mirrorNone
}

// checkMirror doubts a half plane that ends nowhere near a plane of symmetry.
func (m *measuring) checkMirror() {
	if m.opt.Half && m.mirror == mirrorNone {
		m.warn("symmetry-not-found", "survey as far as y = 0 (or z = 0 for a flow without a floor), or leave out --symmetry half",
			"the half plane ends neither at y = 0 nor at z = 0 (window y %.3g to %.3g m, z %.3g to %.3g m): what lies between it and its plane of symmetry is missing twice",
			m.window.Min.X, m.window.Max.X, m.window.Min.Y, m.window.Max.Y)
	}
}
