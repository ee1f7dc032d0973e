package wake

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
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
	// The second coordinate is z, or y where the plane lies, less its part along n;
	// the first one is square to both.
	up := r3.Vec{Z: 1}
	if big == AxisZ {
		up = r3.Vec{Y: 1}
	}
	normal := r3.Vec{X: n[0], Y: n[1], Z: n[2]}
	t := r3.Unit(r3.Sub(up, r3.Scale(r3.Dot(up, normal), normal)))
	l := look{normal: Oblique}
	for k, v := range []r3.Vec{normal, r3.Cross(t, normal), t} {
		l.dir[k] = [3]float64{v.X, v.Y, v.Z}
	}
	if l.dir[1][b] < 0 {
		floats.Scale(-1, l.dir[1][:])
	}
	for k := range l.dir {
		floats.AddConst(0, l.dir[k][:]) // no −0
	}
	return l
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
