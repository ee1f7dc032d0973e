// Package waketest has analytic wakes with known integrals and survey planes made
// from them, for the tests of every package that works on planes.
package waketest

import (
	"math"
	"math/rand/v2"

	"wakeledger/wake"
)

// State is a flow at one point, with ρ∞ = 1, U = 1 and p∞ = 0: u, v, w over U and
// p over ρ∞U² (so Cp = 2P).
type State struct{ U, V, W, P float64 }

// Field gives the state at (y, z) of a plane.
type Field func(y, z float64) State

// Reference is the reference of every State.
func Reference() wake.Freestream {
	return wake.Freestream{Speed: 1, Density: 1, TotalPressure: math.NaN()}
}

// Lattice samples f at ny × nz points that run from border to border.
func Lattice(f Field, y0, y1, z0, z1 float64, ny, nz int) *wake.Samples {
	var ys, zs []float64
	for j := range nz {
		for i := range ny {
			ys = append(ys, y0+(y1-y0)*float64(i)/float64(ny-1))
			zs = append(zs, z0+(z1-z0)*float64(j)/float64(nz-1))
		}
	}
	return Samples(f, ys, zs)
}

// Centres samples f at the centres of ny × nz cells that fill the box.
func Centres(f Field, y0, y1, z0, z1 float64, ny, nz int) *wake.Samples {
	hy, hz := (y1-y0)/float64(ny), (z1-z0)/float64(nz)
	return Lattice(f, y0+hy/2, y1-hy/2, z0+hz/2, z1-hz/2, ny, nz)
}

// Scatter samples f at points that are those of Lattice, moved by up to 0.35 of
// the spacing in both directions; border points move along the border alone, so
// that the window is kept.
func Scatter(f Field, y0, y1, z0, z1 float64, ny, nz int, seed uint64) *wake.Samples {
	r := rand.New(rand.NewPCG(seed, 1))
	hy, hz := (y1-y0)/float64(ny-1), (z1-z0)/float64(nz-1)
	var ys, zs []float64
	for j := range nz {
		for i := range ny {
			y, z := y0+hy*float64(i), z0+hz*float64(j)
			dy, dz := 0.35*hy*(2*r.Float64()-1), 0.35*hz*(2*r.Float64()-1)
			if i > 0 && i < ny-1 {
				y += dy
			}
			if j > 0 && j < nz-1 {
				z += dz
			}
			if i == ny-1 {
				y = y1
			}
			if j == nz-1 {
				z = z1
			}
			ys, zs = append(ys, y), append(zs, z)
		}
	}
	return Samples(f, ys, zs)
}

// Samples samples f at the given points of the plane x = 1.
func Samples(f Field, ys, zs []float64) *wake.Samples {
	n := len(ys)
	s := &wake.Samples{File: "analytic", N: n}
	for _, q := range []wake.Quantity{wake.X, wake.Y, wake.Z, wake.U, wake.V, wake.W, wake.P} {
		s.Col[q] = make([]float64, n)
	}
	for i := range n {
		v := f(ys[i], zs[i])
		s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i] = 1, ys[i], zs[i]
		s.Col[wake.U][i], s.Col[wake.V][i], s.Col[wake.W][i], s.Col[wake.P][i] = v.U, v.V, v.W, v.P
	}
	return s
}

// Gaussian is the axisymmetric wake u = 1 − ε exp(−r²/2σ²) at p∞ about (y0, z0).
func Gaussian(eps, sigma, y0, z0 float64) Field {
	return func(y, z float64) State {
		dy, dz := y-y0, z-z0
		return State{U: 1 - eps*math.Exp(-(dy*dy+dz*dz)/(2*sigma*sigma))}
	}
}

// Sphere is the potential flow about a sphere of radius a at the origin, in the
// plane x. d'Alembert: it has no drag.
func Sphere(a, x float64) Field {
	return func(y, z float64) State {
		r2 := x*x + y*y + z*z
		r := math.Sqrt(r2)
		// φ = x (1 + a³/2r³), the doublet of strength a³/2 in a stream along +x.
		k := a * a * a / (2 * r2 * r)
		u := 1 + k - 3*k*x*x/r2
		v, w := -3*k*x*y/r2, -3*k*x*z/r2
		return State{U: u, V: v, W: w, P: (1 - u*u - v*v - w*w) / 2}
	}
}

// Plane is the first plane of samples; what is refused ends the test, which may be one of drawn
// values.
func Plane(t interface {
	Helper()
	Fatal(args ...any)
}, s *wake.Samples, opt wake.PlaneOptions) *wake.Plane {
	t.Helper()
	planes, err := wake.Planes(s, opt)
	if err != nil {
		t.Fatal(err)
	}
	return planes[0]
}
