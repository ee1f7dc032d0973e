// Package partstest makes Planes and fields of wakes in closed form for the tests of parts
// and of their moves.
package partstest

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/waketest"
)

// Blob holds ε, σ_y, σ_z, y₀ and z₀ of ε exp(−((y−y₀)²/2σ_y² + (z−z₀)²/2σ_z²)). The part of a
// round one above t has the area 2πσ² ln(ε/t) and the integral 2πσ²(ε−t).
type Blob [5]float64

// At is the blob's value at a point.
func (b Blob) At(p grid.Point) float64 {
	dy, dz := (p.X-b[3])/b[1], (p.Y-b[4])/b[2]
	return b[0] * math.Exp(-(dy*dy+dz*dz)/2)
}

// H is the sample distance of the Planes below, m.
const H = 0.05

// Kinds are those of Planes that Plane makes.
var Kinds = []string{"nodes", "cells", "scatter"}

// Plane samples [−2, 2] × [−1.5, 1.5] about h apart: at the nodes of a lattice, at
// the centres of cells, or at scattered points.
func Plane(t testing.TB, kind string) *wake.Plane {
	t.Helper()
	none := func(y, z float64) waketest.State { return waketest.State{U: 1} }
	s, opt := waketest.Lattice(none, -2, 2, -1.5, 1.5, 81, 61), wake.PlaneOptions{}
	switch kind {
	case "cells":
		s = waketest.Centres(none, -2, 2, -1.5, 1.5, 80, 60)
		opt = wake.PlaneOptions{Support: grid.Cells, SupportBy: "test"}
	case "scatter":
		s = waketest.Scatter(none, -2, 2, -1.5, 1.5, 81, 61, 7)
	}
	return Planes(t, s, opt)
}

func Planes(t testing.TB, s *wake.Samples, opt wake.PlaneOptions) *wake.Plane {
	t.Helper()
	p, err := wake.Planes(s, opt)
	if err != nil {
		t.Fatal(err)
	}
	return p[0]
}

// FieldOf is the sum of blobs, with the weight itself as local drag.
func FieldOf(p *wake.Plane, blobs ...Blob) *parts.Field {
	f := &parts.Field{Name: p.Name(), Position: 1, Mesh: p.Mesh, WeightName: "deficit", Scale: 1}
	f.Weight = make([]float64, len(p.Mesh.Points))
	for i, q := range p.Mesh.Points {
		for _, b := range blobs {
			f.Weight[i] += b.At(q)
		}
	}
	f.Local = f.Weight
	return f
}

func Noisy(f *parts.Field, sigma float64, r *rand.Rand) *parts.Field {
	g := *f
	g.Weight = make([]float64, len(f.Weight))
	for i, v := range f.Weight {
		g.Weight[i] = v + sigma*r.NormFloat64()
	}
	g.Local = g.Weight
	return &g
}

func Find(_ testing.TB, f *parts.Field, opt parts.Options) *parts.Set { return parts.Find(f, opt) }

// Take measures a survey with the reference of waketest.
func Take(t testing.TB, s *wake.Samples, opt wake.PlaneOptions) *measure.Measurement {
	t.Helper()
	m, err := measure.Take(Planes(t, s, opt), measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit})
	if err != nil {
		t.Fatal(err)
	}
	return m
}
