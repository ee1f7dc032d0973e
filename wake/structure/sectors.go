package structure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// sectors gathers the integrals of two fields by sectors about a centre.
type sectors struct {
	centre grid.Point
	// ray are the directions between the sectors, the first again at the end.
	ray  [][2]float64
	sums [][2]quad.Sum
	room [2][12]bary
}

func newSectors(n int, centre [2]float64) *sectors {
	d := &sectors{centre: grid.Point{X: centre[0], Y: centre[1]}, ray: make([][2]float64, n+1), sums: make([][2]quad.Sum, n)}
	for k := range d.ray {
		sin, cos := math.Sincos(2 * math.Pi * float64(k%n) / float64(n))
		d.ray[k] = [2]float64{cos, sin}
	}
	return d
}

// of is the sector of a point; the centre's is the first, and one on a ray is in
// either neighbour.
func (d *sectors) of(p grid.Point) int32 {
	n := len(d.sums)
	t := math.Atan2(p.Y-d.centre.Y, p.X-d.centre.X) / (2 * math.Pi) * float64(n)
	if t < 0 {
		t += float64(n)
	}
	return int32(min(int(t), n-1))
}

// quadrilateral adds four triangles about the middle, which has the corners' mean;
// where no ray passes they come to the area times that mean.
func (d *sectors) quadrilateral(m *grid.Mesh, a, b []float64, of []int32, c [4]int32) {
	p, q := m.Points[c[0]], m.Points[c[2]]
	ma, mb := (a[c[0]]+a[c[2]]+(a[c[1]]+a[c[3]]))/4, (b[c[0]]+b[c[2]]+(b[c[1]]+b[c[3]]))/4
	if sum := ma + mb; sum-sum != 0 {
		return
	}
	if s := of[c[0]]; of[c[1]] == s && of[c[2]] == s && of[c[3]] == s {
		area := (q.X - p.X) * (q.Y - p.Y)
		d.sums[s][0].Add(area * ma)
		d.sums[s][1].Add(area * mb)
		return
	}
	mid := grid.Point{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}
	for k := range 4 {
		i, j := c[k], c[(k+1)%4]
		d.triangle([3]grid.Point{mid, m.Points[i], m.Points[j]}, [3]float64{ma, a[i], a[j]}, [3]float64{mb, b[i], b[j]}, [3]int32{d.of(mid), of[i], of[j]})
	}
}

// triangle adds one triangle with the two fields at its corners, of which sectors
// are given.
func (d *sectors) triangle(p [3]grid.Point, a, b [3]float64, of [3]int32) {
	if sum := sum3(a) + sum3(b); sum-sum != 0 {
		return
	}
	whole := grid.TriangleArea(p[0], p[1], p[2])
	if of[0] == of[1] && of[1] == of[2] {
		d.sums[of[0]][0].Add(whole * sum3(a) / 3)
		d.sums[of[0]][1].Add(whole * sum3(b) / 3)
		return
	}
	for q := range d.sums {
		var from, to [3]float64
		for e := range 3 {
			x, y := p[e].X-d.centre.X, p[e].Y-d.centre.Y
			from[e] = d.ray[q][0]*y - d.ray[q][1]*x
			to[e] = x*d.ray[q+1][1] - y*d.ray[q+1][0]
		}
		if max(from[0], from[1], from[2]) <= 0 || max(to[0], to[1], to[2]) <= 0 {
			continue
		}
		poly := append(d.room[0][:0], bary{1, 0, 0}, bary{0, 1, 0}, bary{0, 0, 1})
		piece := cut(poly, d.room[1][:0], from)
		piece = cut(piece, d.room[0][:0], to)
		for i := 2; i < len(piece); i++ {
			c := [3]bary{piece[0], piece[i-1], piece[i]}
			area := whole * ((c[1][1]-c[0][1])*(c[2][2]-c[0][2]) - (c[1][2]-c[0][2])*(c[2][1]-c[0][1]))
			d.sums[q][0].Add(area * (c[0].dot(a) + c[1].dot(a) + c[2].dot(a)) / 3)
			d.sums[q][1].Add(area * (c[0].dot(b) + c[1].dot(b) + c[2].dot(b)) / 3)
		}
	}
}
