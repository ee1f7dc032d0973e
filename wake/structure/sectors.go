package structure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// sectors gathers the integrals of a field by sectors about a centre.
type sectors struct {
	centre grid.Point
	// ray are the directions between the sectors, the first again at the end.
	ray  [][2]float64
	sums []quad.Sum
	room [2][12]bary
}

func newSectors(n int, centre [2]float64) *sectors {
	d := &sectors{centre: grid.Point{X: centre[0], Y: centre[1]}, ray: make([][2]float64, n+1), sums: make([]quad.Sum, n)}
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

// add adds the integrals of a field over its mesh. Elements that a ray crosses are clipped, with
// the field linear in the triangles of the nodal mesh; those whose corners all lie in one sector,
// which is convex, belong to it whole.
func (d *sectors) add(mesh *grid.Mesh, field []float64) {
	m, f := mesh.Nodal(field)
	of := make([]int32, len(m.Points))
	for i, p := range m.Points {
		of[i] = d.of(p)
	}
	if m.Kind == grid.KindLattice {
		a := m.Lattice
		for j := 0; j+1 < len(a.Y); j++ {
			for i := 0; i+1 < len(a.X); i++ {
				if a.Full(i, j) {
					d.quadrilateral(m, f, of, [4]int32{a.At(i, j), a.At(i+1, j), a.At(i+1, j+1), a.At(i, j+1)})
				}
			}
		}
		return
	}
	for k := 0; k+2 < len(m.Triangles); k += 3 {
		c := m.Triangles[k : k+3]
		d.triangle([3]grid.Point{m.Points[c[0]], m.Points[c[1]], m.Points[c[2]]}, [3]float64{f[c[0]], f[c[1]], f[c[2]]}, [3]int32{of[c[0]], of[c[1]], of[c[2]]})
	}
}

// quadrilateral adds four triangles about the middle, which has the corners' mean;
// where no ray passes they come to the area times that mean.
func (d *sectors) quadrilateral(m *grid.Mesh, f []float64, of []int32, c [4]int32) {
	p, q := m.Points[c[0]], m.Points[c[2]]
	mean := (f[c[0]] + f[c[2]] + (f[c[1]] + f[c[3]])) / 4
	if mean-mean != 0 {
		return
	}
	if s := of[c[0]]; of[c[1]] == s && of[c[2]] == s && of[c[3]] == s {
		d.sums[s].Add((q.X - p.X) * (q.Y - p.Y) * mean)
		return
	}
	mid := grid.Point{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}
	for k := range 4 {
		i, j := c[k], c[(k+1)%4]
		d.triangle([3]grid.Point{mid, m.Points[i], m.Points[j]}, [3]float64{mean, f[i], f[j]}, [3]int32{d.of(mid), of[i], of[j]})
	}
}

// triangle adds one triangle with the field at its corners, of which sectors are given.
func (d *sectors) triangle(p [3]grid.Point, f [3]float64, of [3]int32) {
	if sum := sum3(f); sum-sum != 0 {
		return
	}
	whole := grid.TriangleArea(p[0], p[1], p[2])
	if of[0] == of[1] && of[1] == of[2] {
		d.sums[of[0]].Add(whole * sum3(f) / 3)
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
			d.sums[q].Add(area * (c[0].dot(f) + c[1].dot(f) + c[2].dot(f)) / 3)
		}
	}
}
