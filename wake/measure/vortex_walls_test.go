package measure_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// wallPotential is the potential at (y, z) of a unit vortex at (y0, z0) in the section
// |y| < w/2, 0 < z < h, as a sum of rows of images along y; at the vortex itself its own
// −(1/2π) ln r is left out. sign −1 has ψ = 0 on the walls, +1 no gradient.
func wallPotential(w, h, sign, y, z, y0, z0 float64) float64 {
	row := func(dy, dz float64) float64 {
		return -math.Log(2*math.Cosh(math.Pi/w*dz)-2*math.Cos(math.Pi/w*dy)) / (4 * math.Pi)
	}
	s := 0.0
	for n := -15; n <= 15; n++ {
		up, down := z-z0-2*float64(n)*h, z+z0-2*float64(n)*h
		across := y + y0 - w // image in the wall at w/2; the row repeats every 2w
		if n == 0 && y == y0 && z == z0 {
			// The vortex itself is left out: row → −(1/2π) ln(πr/w) as r → 0.
			s -= math.Log(math.Pi/w) / (2 * math.Pi)
		} else {
			s += row(y-y0, up)
		}
		s += sign*row(across, up) + sign*row(y-y0, down) + row(across, down)
	}
	return s
}

// wallEnergy is ½ρ∫ψξ (or −½ρ∫φσ) of the pair at the height inside walls: that of
// free air and, the cores being far smaller than the distances, of points in the
// field of the images.
func wallEnergy(w, h, sign, height float64) float64 {
	e := energyOfPair(1, pairSpan, pairCore)
	for _, i := range []float64{-1, 1} {
		for _, j := range []float64{-1, 1} {
			y, y0 := i*pairSpan/2, j*pairSpan/2
			psi := wallPotential(w, h, sign, y, height, y0, height)
			if i != j {
				psi += math.Log(pairSpan) / (2 * math.Pi) // counted in free air
			}
			e += i * j * psi / 2
		}
	}
	return pairRho * e
}

// Section walls and a ground against images: on lattices that fit the walls (nodes and
// cells), on one that does not and is resampled, on scattered samples, and with a window on
// and above the ground. Images in a floor add (ρΓ²/2π) ln(2z₀/√(b²+4z₀²)), and those of a
// source pair as much with the other sign.
func TestImages(t *testing.T) {
	const w, h, z0, low = 3.6, 2.4, 1.1, 0.5
	want, dual := wallEnergy(w, h, -1, z0), wallEnergy(w, h, 1, z0)
	if !(want < pairEnergy && dual > pairEnergy) {
		t.Errorf("walls at ψ = 0 give %g and sealed ones %g, which %g should lie between", want, dual, pairEnergy)
	}
	move := pairRho / (2 * math.Pi) * math.Log(2*low/math.Sqrt(pairSpan*pairSpan+4*low*low))
	walls := measure.VortexOptions{Boundary: measure.SectionWalls, Section: box(-w/2, w/2, 0, h)}
	ground := measure.VortexOptions{Boundary: measure.GroundImage}
	for _, c := range []struct {
		name       string
		opt        measure.VortexOptions
		z0         float64
		samples    func(f waketest.Field, n int) *wake.Samples
		resampled  bool
		least, tol float64
	}{
		// Windows of ±1.2 × 0 … 2.4 in steps of 1.2/n.
		{"nodes", walls, z0, func(f waketest.Field, n int) *wake.Samples {
			return waketest.Lattice(f, -1.2, 1.2, 0, 2.4, 2*n+1, 2*n+1)
		}, false, 3.6, 1e-4},
		{"cells", walls, z0, func(f waketest.Field, n int) *wake.Samples {
			return waketest.Centres(f, -1.2, 1.2, 0, 2.4, 2*n, 2*n)
		}, false, 3.6, 1e-4},
		{"unfit", walls, z0, func(f waketest.Field, n int) *wake.Samples {
			return waketest.Lattice(f, -1.23, 1.19, 0.013, 2.37, 2*n+1, 2*n+1)
		}, true, 1.2, 1e-2},
		{"scattered", walls, z0, func(f waketest.Field, n int) *wake.Samples {
			return waketest.Scatter(f, -1.23, 1.19, 0.013, 2.37, 2*n+1, 2*n+1, 5)
		}, true, 1.4, 1e-2},
		{"on the floor", ground, low, func(f waketest.Field, n int) *wake.Samples {
			return waketest.Lattice(f, -1.5, 1.5, 0, 2, 5*n/2+1, 5*n/3+1)
		}, false, 3.5, 2e-4},
		{"above it", ground, low, func(f waketest.Field, n int) *wake.Samples {
			return waketest.Lattice(f, -1.5, 1.5, 0.0137, 2, 5*n/2+1, 5*n/3+1)
		}, false, 3.5, 2e-4},
	} {
		support, want, dual := grid.Nodes, want, dual
		if c.name == "cells" {
			support = grid.Cells
		}
		if c.z0 == low {
			want, dual = pairEnergy+move, pairEnergy-move
		}
		var errs, duals []float64
		for _, n := range []int{24, 48, 96} {
			v := vortex(t, plane(t, c.samples(waketest.VortexPair(1, pairSpan, pairCore, c.z0), n), support), c.opt)
			errs = append(errs, half*v.DragArea-want)
			if v.Resampled != c.resampled || c.z0 == low && len(v.Warnings) > 0 {
				t.Errorf("%s: resampled is %v, warnings %v", c.name, v.Resampled, v.Warnings)
			}
			v = vortex(t, plane(t, c.samples(sourcePair(1, pairSpan, pairCore, c.z0), n), support), c.opt)
			duals = append(duals, half*v.Source-dual)
		}
		falls(t, c.name+", vortex", errs, c.least, c.tol)
		falls(t, c.name+", source", duals, c.least, c.tol)
	}
}

// Half a symmetric flow with the symmetry stated is the whole flow, on either side,
// for both supports and under every boundary.
func TestHalfPlane(t *testing.T) {
	f := waketest.VortexPair(1, pairSpan, pairCore, 1)
	for _, b := range []string{measure.FreeAir, measure.SectionWalls, measure.GroundImage} {
		opt := measure.VortexOptions{Boundary: b, Section: box(-2, 2, 0, 2)}
		halfOpt := opt
		halfOpt.Half = true
		for name, make := range map[string]func(y0, y1 float64, ny int) *wake.Plane{
			"nodes": func(y0, y1 float64, ny int) *wake.Plane {
				return plane(t, waketest.Lattice(f, y0, y1, 0, 2, ny+1, 41), grid.Nodes)
			},
			"cells": func(y0, y1 float64, ny int) *wake.Plane {
				return plane(t, waketest.Centres(f, y0, y1, 0, 2, ny, 40), grid.Cells)
			},
		} {
			want := vortex(t, make(-1.5, 1.5, 60), opt)
			for side, p := range map[string]*wake.Plane{"right": make(0, 1.5, 30), "left": make(-1.5, 0, 30)} {
				got := vortex(t, p, halfOpt)
				near(t, name+" "+side+" drag", got.DragArea, want.DragArea, 1e-10)
				near(t, name+" "+side+" source", got.Source, want.Source, 1e-10)
				near(t, name+" "+side+" window", got.Window, want.Window, 1e-10)
				if got.Resampled || len(got.Warnings) > len(want.Warnings) {
					t.Errorf("%s %s: %+v", name, side, got)
				}
			}
		}
		// A half plane whose columns do not mirror into each other is resampled.
		p := plane(t, waketest.Lattice(f, 0.003, 1.5, 0, 2, 61, 81), grid.Nodes)
		want := vortex(t, plane(t, waketest.Lattice(f, -1.5, 1.5, 0, 2, 121, 81), grid.Nodes), opt)
		got := vortex(t, p, halfOpt)
		near(t, b+" resampled half", got.DragArea/want.DragArea, 1, 0.03)
		if !got.Resampled {
			t.Errorf("%s: not resampled", b)
		}
	}
}

// Symmetry makes v zero on y = 0, whatever a probe read there.
func TestHalfPlaneMiddle(t *testing.T) {
	f := waketest.VortexPair(1, pairSpan, pairCore, 1)
	s := waketest.Lattice(f, 0, 1.5, 0, 2, 31, 41)
	opt := measure.VortexOptions{Half: true}
	want := vortex(t, plane(t, s, grid.Nodes), opt)
	for j := range 41 {
		s.Col[wake.V][j*31] += 0.01 * float64(j)
	}
	got := vortex(t, plane(t, s, grid.Nodes), opt)
	near(t, "drag", got.DragArea, want.DragArea, 1e-14)
	near(t, "source", got.Source, want.Source, 1e-14)
	near(t, "window", got.Window, want.Window, 1e-14)
}
