package main

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
)

// kinds are the sets of samples that a plane may have: rows and columns; the same,
// each moved within its cell, in any order; centres of the cells of a quadtree that
// is refined twice about the wheel wakes, in any order.
var kinds = []string{"scatter", "octree", "lattice"}

// The plane: behind a body of the size of a small bus, a part of which stands in it.
const (
	left, right, top  = -3.2, 3.2, 3.6
	bodyHalf, bodyTop = 0.8, 0.56
	// fine is the distance from a vortex within which cells are refined twice.
	fine = 0.45
)

// vortices of the plane: y, z, core radius, circulation; and deficits: y, z, width,
// depth.
var (
	vortices = [][4]float64{{-1, 1.2, 0.12, 0.32}, {1, 1.2, 0.12, -0.32}, {-1.7, 0.35, 0.09, -0.12}, {1.7, 0.35, 0.09, 0.12}}
	deficits = [][4]float64{{0, 0.9, 0.4, 0.5}, {-1.3, 0.5, 0.22, 0.32}, {1.3, 0.5, 0.22, 0.32}, {0, 2.2, 0.2, 0.12}}
)

// flow is the field at a place, in parts of the stream.
func flow(y, z float64) (u, v, w, p float64) {
	u = 1
	for _, d := range deficits {
		g := d[3] * math.Exp(-((y-d[0])*(y-d[0])+(z-d[1])*(z-d[1]))/(2*d[2]*d[2]))
		u -= g
		p -= 0.1 * g
	}
	for _, c := range vortices {
		dy, dz := y-c[0], z-c[1]
		r2 := dy*dy + dz*dz
		k := c[3] / (2 * math.Pi * c[2] * c[2])
		if r2 > 1e-12 {
			k = -c[3] / (2 * math.Pi * r2) * math.Expm1(-r2/(c[2]*c[2]))
		}
		v -= k * dz
		w += k * dy
	}
	return u, v, w, p
}

// level is how often the quadtree is refined at a place: 0 to 2 times.
func level(y, z float64) int {
	for _, c := range vortices {
		if math.Hypot(y-c[0], z-c[1]) < fine {
			return 2
		}
	}
	if math.Abs(y) < 2.2 && z < 2.6 {
		return 1
	}
	return 0
}

// places returns about n places.
func places(kind string, n int) [][2]float64 {
	rng := rand.New(rand.NewPCG(1, uint64(n)))
	// The number of cells goes with 1/h², found from coarse ones.
	h := (right - left) / 128
	h *= math.Sqrt(float64(len(cells(kind, h, rng))) / float64(n))
	out := cells(kind, h, rng)
	if kind != "lattice" {
		rng.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	}
	return out
}

// cells are places outside the body in cells of width h, or smaller ones of a quadtree.
func cells(kind string, h float64, rng *rand.Rand) (out [][2]float64) {
	var split func(y, z, h float64, depth int)
	split = func(y, z, h float64, depth int) {
		if kind == "octree" && depth < level(y, z) {
			for _, q := range [4][2]float64{{-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
				split(y+q[0]*h/4, z+q[1]*h/4, h/2, depth+1)
			}
			return
		}
		if kind == "scatter" {
			y += 0.9 * h * (rng.Float64() - 0.5)
			z += 0.9 * h * (rng.Float64() - 0.5)
		}
		if (y/bodyHalf)*(y/bodyHalf)+(z/bodyTop)*(z/bodyTop) >= 1 {
			out = append(out, [2]float64{y, z})
		}
	}
	for z := h / 2; z < top; z += h {
		for y := left + h/2; y < right; y += h {
			split(y, z, h, 0)
		}
	}
	return out
}

// writePlane writes the plane x = at as text with seven digits, as an export of single
// precision has.
func writePlane(path, kind string, n int, at float64) error {
	b := []byte("x,y,z,u,v,w,p\n")
	for _, q := range places(kind, n) {
		u, v, w, p := flow(q[0], q[1])
		for i, x := range [7]float64{at, q[0], q[1], u, v, w, p} {
			if i > 0 {
				b = append(b, ',')
			}
			b = strconv.AppendFloat(b, x, 'g', 7, 64)
		}
		b = append(b, '\n')
	}
	return os.WriteFile(path, b, 0o666)
}
