package wake

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// look is how a plane is looked at: its normal and the unit vectors of the normal
// and of the two in-plane coordinates.
type look struct {
	normal Axis
	dir    [3][3]float64
	// fitted is the least-squares normal of a plane that is taken as normal to an
	// axis although it is tilted out of it; zero where that was not looked at.
	fitted [3]float64
}

// along is the look along an axis.
func along(a Axis) look {
	l := look{normal: a}
	b, c := a.InPlane()
	l.dir[0][a], l.dir[1][b], l.dir[2][c] = 1, 1, 1
	return l
}

// oblique is the look along a normal n, of unit length, that is no axis. A plane
// that stands upright more than it lies has a level first coordinate and a second
// one that rises; one that lies has a first coordinate that points aft. Signs are
// those of the axes that the directions are nearest to.
func oblique(n [3]float64) look {
	big := AxisX
	for a := AxisY; a <= AxisZ; a++ {
		if math.Abs(n[a]) > math.Abs(n[big]) {
			big = a
		}
	}
	b, _ := big.InPlane()
	l := look{normal: Oblique}
	l.dir[0] = n
	// The second coordinate is z, or y where the plane lies, less its part along n;
	// the first one is square to both.
	up := AxisZ
	if big == AxisZ {
		up = AxisY
	}
	var t [3]float64
	t[up] = 1
	length := 0.0
	for a := range t {
		t[a] -= n[up] * n[a]
		length += t[a] * t[a]
	}
	for a := range t {
		t[a] /= math.Sqrt(length)
	}
	s := crossProduct(t, n)
	if s[b] < 0 {
		s = [3]float64{-s[0], -s[1], -s[2]}
	}
	l.dir[1], l.dir[2] = s, t
	for k := range l.dir {
		for a := range l.dir[k] {
			l.dir[k][a] += 0 // no −0
		}
	}
	return l
}

func crossProduct(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// project gives the coordinates along direction k.
func (l *look) project(k int, at [3][]float64) []float64 {
	if l.normal != Oblique {
		b, c := l.normal.InPlane()
		return at[[3]Axis{l.normal, b, c}[k]]
	}
	out := make([]float64, len(at[0]))
	for i := range out {
		out[i] = l.coordinate(k, [3]float64{at[0][i], at[1][i], at[2][i]})
	}
	return out
}

// coordinate is project for one point.
func (l *look) coordinate(k int, p [3]float64) float64 {
	d := &l.dir[k]
	return d[0]*p[0] + d[1]*p[1] + d[2]*p[2]
}

// lineSpread is how far samples of a plane with normal n spread across the line
// through the two that lie furthest apart along some axis.
func lineSpread(s *Samples, n [3]float64) float64 {
	at := func(i int) [3]float64 { return [3]float64{s.Col[X][i], s.Col[Y][i], s.Col[Z][i]} }
	lo, hi, most := 0, 0, -1.0
	for a := range 3 {
		v := s.Col[X+Quantity(a)]
		l, h := floats.MinIdx(v), floats.MaxIdx(v)
		if d := v[h] - v[l]; d > most {
			lo, hi, most = l, h, d
		}
	}
	p, q := at(lo), at(hi)
	d := [3]float64{q[0] - p[0], q[1] - p[1], q[2] - p[2]}
	c := crossProduct(n, d)
	length := math.Sqrt(c[0]*c[0] + c[1]*c[1] + c[2]*c[2])
	least, greatest := 0.0, 0.0
	for i := range s.N {
		r := at(i)
		v := (c[0]*(r[0]-p[0]) + c[1]*(r[1]-p[1]) + c[2]*(r[2]-p[2])) / length
		least, greatest = math.Min(least, v), math.Max(greatest, v)
	}
	return greatest - least
}

// sayTilt warns of a plane that is not square to an axis.
func (p *Plane) sayTilt(l look) {
	v := func(d [3]float64) string { return fmt.Sprintf("(%.4f, %.4f, %.4f)", d[0], d[1], d[2]) }
	if l.normal == Oblique {
		p.warn("oblique-plane", "total drag needs a plane normal to x; export one, or declare the frame with --frame",
			"the plane is oblique: its normal is %s; its first coordinate s runs along %s, its second one t along %s, both from the origin; velocities stay along x, y and z, and no drag is claimed",
			v(l.dir[0]), v(l.dir[1]), v(l.dir[2]))
		return
	}
	if n := l.fitted; n != [3]float64{} {
		angle := math.Acos(math.Min(1, math.Abs(n[l.normal]))) * 180 / math.Pi
		p.warn("tilted-plane", "export a plane square to the axis",
			"the plane is tilted by %.2g degrees out of normal to %s: its normal is %s; it is taken as normal to %s, which makes areas %.1g of themselves too small",
			angle, l.normal, v(n), l.normal, 1-math.Abs(n[l.normal]))
	}
}
