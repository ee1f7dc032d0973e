package measure

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/wake"
)

// MapQuantities are the fields that Field knows, in the order in which maps are
// drawn by default.
var MapQuantities = []string{"u/U", "Cpt", "local drag", "vorticity", "1-Cpt", "Cp", "k"}

// DefaultMaps are the fields that are mapped when none are asked for.
var DefaultMaps = MapQuantities[:4]

// Field returns one of MapQuantities at the samples, non-dimensional:
//
//	u/U         axial velocity over U
//	Cpt         (pt−p∞)/q with pt = p + ½ρ|V|²
//	1-Cpt       (pt∞−pt)/q, counted from the anchored reference if there is one
//	local drag  integrand of the momentum integral
//	vorticity   (∂w/∂y − ∂v/∂z) L/U with L = 1 m
//	Cp          (p−p∞)/q
//	k           turbulence kinetic energy over U²
//
// ok is false where the plane lacks what the field needs; an unknown name is an
// error.
func (m *Measurement) Field(name string) (values []float64, ok bool, err error) {
	f, s := m.flow, m.flow.ref.Speed
	each := func(have bool, of func(i int) float64) ([]float64, bool, error) {
		if !have {
			return nil, false, nil
		}
		return m.each(of), true, nil
	}
	switch strings.ToLower(name) {
	case "u/u":
		return each(f.u != nil, func(i int) float64 { return f.u[i] / s })
	case "cpt":
		return each(f.momentum(), func(i int) float64 {
			r, u, v, w, cp := f.at(i)
			return f.norm * (cp + r*(u*u+v*v+w*w))
		})
	case "1-cpt":
		return each(f.hasLoss(), f.loss)
	case "local drag":
		return each(f.momentum(), f.local)
	case "cp":
		return each(f.p != nil, func(i int) float64 { return (f.p[i] - f.ref.Pressure) / f.q })
	case "k":
		k := energy(m.Plane)
		return each(k != nil, func(i int) float64 { return k[i] / (s * s) })
	case "vorticity":
		if f.v == nil || f.w == nil || m.Plane.Normal != wake.AxisX {
			return nil, false, nil
		}
		curl := m.Plane.Mesh.Curl(f.v, f.w)
		return each(true, func(i int) float64 { return curl[i] / s })
	}
	return nil, false, fmt.Errorf("map quantity %q is not known; one of %s is expected", name, strings.Join(MapQuantities, ", "))
}

// FieldStandard returns the standard uncertainty of a mapped quantity at the samples that
// the finite time average makes, and its degrees of freedom: for a mean kept by g blocks of
// its record, with R₍ⱼ₎ the quantity without block j,
//
//	√((g−1)/g · Σ(R₍ⱼ₎ − R̄)²)   with g − 1
//
// ok is false where nothing is known. Mean and sum of squares are carried along (B. P.
// Welford, Technometrics 4 (1962) 419, from memory).
func (m *Measurement) FieldStandard(name string) (standard []float64, dof float64, ok bool) {
	if m.Plane.Blocks == nil {
		return nil, 0, false
	}
	g := float64(len(m.Plane.Blocks.Field))
	mean, squares := make([]float64, len(m.Plane.Mesh.Points)), make([]float64, len(m.Plane.Mesh.Points))
	for j := range m.Plane.Blocks.Field {
		part, st := *m, *m.station
		part.Plane, part.station = m.Plane.Without(j), &st
		st.flow = m.flowOf(part.Plane)
		v, ok, err := part.Field(name)
		if !ok || err != nil {
			return nil, 0, false
		}
		for i, x := range v {
			d := x - mean[i]
			mean[i] += d / float64(j+1)
			squares[i] += d * (x - mean[i])
		}
	}
	for i, s := range squares {
		squares[i] = math.Sqrt((g - 1) / g * s)
	}
	return squares, g - 1, g > 1
}
