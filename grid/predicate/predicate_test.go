package predicate

import (
	"encoding/binary"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
)

// oracleOrient and oracleInCircle evaluate the determinants as rational numbers,
// by expansion along the first column, which is not how the package does it.
func oracleOrient(a, b, c grid.Point) int {
	r := func(p grid.Point) [3]*big.Rat {
		return [3]*big.Rat{new(big.Rat).SetFloat64(p.X), new(big.Rat).SetFloat64(p.Y), big.NewRat(1, 1)}
	}
	return det3(r(a), r(b), r(c)).Sign()
}

func det3(a, b, c [3]*big.Rat) *big.Rat {
	m := func(x, y, z *big.Rat) *big.Rat { v := new(big.Rat).Mul(x, y); return v.Mul(v, z) }
	s := new(big.Rat)
	s.Add(s, m(a[0], b[1], c[2])).Add(s, m(a[1], b[2], c[0])).Add(s, m(a[2], b[0], c[1]))
	s.Sub(s, m(a[2], b[1], c[0])).Sub(s, m(a[1], b[0], c[2])).Sub(s, m(a[0], b[2], c[1]))
	return s
}

func oracleInCircle(a, b, c, d grid.Point) int {
	// The 4×4 determinant with rows (x, y, x²+y², 1), expanded along the ones.
	r := func(p grid.Point) [3]*big.Rat {
		x, y := new(big.Rat).SetFloat64(p.X), new(big.Rat).SetFloat64(p.Y)
		w := new(big.Rat).Mul(x, x)
		return [3]*big.Rat{x, y, w.Add(w, new(big.Rat).Mul(y, y))}
	}
	ra, rb, rc, rd := r(a), r(b), r(c), r(d)
	s := det3(ra, rb, rc)
	s.Sub(s, det3(ra, rb, rd)).Add(s, det3(ra, rc, rd)).Sub(s, det3(rb, rc, rd))
	return s.Sign()
}

func next(x float64, n int) float64 {
	for ; n > 0; n-- {
		x = math.Nextafter(x, math.Inf(1))
	}
	for ; n < 0; n++ {
		x = math.Nextafter(x, math.Inf(-1))
	}
	return x
}

// onCircle are the 36 integer points on x²+y² = 5²·13².
func onCircle() (out [][2]float64) {
	for x := -65; x <= 65; x++ {
		for y := -65; y <= 65; y++ {
			if x*x+y*y == 65*65 {
				out = append(out, [2]float64{float64(x), float64(y)})
			}
		}
	}
	return out
}

// sets yields quadruples that are degenerate or one or a few units in the last
// place away from it.
func sets(seed uint64, n int, yield func(kind string, q [4]grid.Point)) {
	rng := rand.New(rand.NewPCG(seed, 1))
	ints := func(r int64) float64 { return float64(rng.Int64N(2*r+1) - r) }
	circle := onCircle()
	for range n {
		var q [4]grid.Point
		for i := range q { // lattice
			q[i] = grid.Point{X: ints(3), Y: ints(3)}
		}
		yield("lattice", q)
		for i := range q { // lattice that is not representable, seven digits, rotated
			s, c := math.Sincos(0.3)
			x, y := 0.1*q[i].X, 0.1*q[i].Y
			q[i] = grid.Point{X: math.Round((c*x-s*y)*1e7) / 1e7, Y: math.Round((s*x+c*y)*1e7) / 1e7}
		}
		yield("rotated", q)
		o, k := ints(1000), math.Ldexp(1, rng.IntN(20)-10)
		for i := range q { // co-circular integers, moved and scaled
			p := circle[rng.IntN(len(circle))]
			q[i] = grid.Point{X: k*p[0] + o, Y: k*p[1] - o}
		}
		yield("circle", q)
		i := rng.IntN(4)
		q[i].X = next(q[i].X, rng.IntN(5)-2)
		q[i].Y = next(q[i].Y, rng.IntN(5)-2)
		yield("circle+ulp", q)
		for i := range q { // a line through the origin and a few units off it
			t := rng.Float64()
			q[i] = grid.Point{X: next(t, rng.IntN(3)-1), Y: next(3*t, rng.IntN(3)-1)}
		}
		yield("line+ulp", q)
		for i := range q { // the neighbourhood of one point, Kettner's grids
			q[i] = grid.Point{X: next(0.5, rng.IntN(64)), Y: next(0.5, rng.IntN(64))}
		}
		q[1], q[2] = grid.Point{X: 12, Y: 12}, grid.Point{X: 24, Y: 24}
		yield("nextafter", q)
		for i := range q { // a square with 1e-12 of jitter, far away
			x, y := float64(i>>1), float64(i&1)
			q[i] = grid.Point{X: 1e6 + x + 1e-9*ints(2), Y: -1e6 + y + 1e-9*ints(2)}
			if rng.IntN(2) == 0 {
				q[i] = grid.Point{X: x + 1e-12*ints(2), Y: y + 1e-12*ints(2)}
			}
		}
		yield("jitter", q)
		for i := range q { // scales that differences cannot hold
			q[i] = grid.Point{X: math.Ldexp(ints(9), rng.IntN(120)-60), Y: math.Ldexp(ints(9), rng.IntN(120)-60)}
		}
		yield("scales", q)
		for i := range q { // exponents that expansions cannot hold
			q[i] = grid.Point{X: math.Ldexp(ints(9), rng.IntN(2000)-1040), Y: math.Ldexp(ints(9), rng.IntN(2000)-1040)}
		}
		yield("extreme", q)
		e := rng.IntN(1900) - 1050
		for i := range q { // one small or huge lattice
			q[i] = grid.Point{X: math.Ldexp(ints(2), e), Y: math.Ldexp(ints(2), e)}
		}
		yield("tiny", q)
	}
}

// TestOracle holds both predicates, with and without filter, against rational
// arithmetic.
func TestOracle(t *testing.T) {
	n := 250
	if testing.Short() {
		n = 150
	}
	const seed = 7
	zero, all := map[string]int{}, map[string]int{}
	sets(seed, n, func(kind string, q [4]grid.Point) {
		a, b, c, d := q[0], q[1], q[2], q[3]
		want := oracleOrient(a, b, c)
		if got := Orient(a, b, c); got != want {
			t.Fatalf("seed %d, %s: Orient(%v) = %d, exactly %d", seed, kind, q[:3], got, want)
		}
		if got := orientExact(a, b, c); got != want {
			t.Fatalf("seed %d, %s: orientExact(%v) = %d, exactly %d", seed, kind, q[:3], got, want)
		}
		want = oracleInCircle(a, b, c, d)
		if got := InCircle(a, b, c, d); got != want {
			t.Fatalf("seed %d, %s: InCircle(%v) = %d, exactly %d", seed, kind, q, got, want)
		}
		if got := inCircleExact(a, b, c, d); got != want {
			t.Fatalf("seed %d, %s: inCircleExact(%v) = %d, exactly %d", seed, kind, q, got, want)
		}
		all[kind]++
		if want == 0 {
			zero[kind]++
		}
	})
	// The sets must hold both kinds of answers, or the test is blind.
	if zero["circle"] != all["circle"] {
		t.Errorf("circle: only %d of %d are co-circular", zero["circle"], all["circle"])
	}
	for _, kind := range []string{"lattice", "circle+ulp", "tiny"} {
		if z := zero[kind]; z == 0 || z == all[kind] {
			t.Errorf("%s: %d of %d are co-circular", kind, z, all[kind])
		}
	}
}

// TestInCircleFilter: the filter must not judge where rounding decides. The points lie
// on one circle exactly, but their coordinates have so many digits that the
// determinant does not come out as 0; its largest value, over the permanent, is
// what the bound has to cover.
func TestInCircleFilter(t *testing.T) {
	// [Shewchuk], figure 25, as he prints it: (10+96ε)ε.
	eps := big.NewRat(1, 1<<53)
	published := new(big.Rat).Add(big.NewRat(10, 1), new(big.Rat).Mul(big.NewRat(96, 1), eps))
	if want, _ := published.Mul(published, eps).Float64(); inCircleBound != want {
		t.Errorf("the bound is %g, published is %g", inCircleBound, want)
	}
	circle := onCircle()
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, 1))
	rounded := 0
	for range 2000 {
		k := float64(2*rng.Int64N(1<<30) + 1)
		var q [4]grid.Point
		for i, j := range rng.Perm(len(circle))[:4] {
			q[i] = grid.Point{X: k * circle[j][0], Y: k * circle[j][1]}
		}
		if got := InCircle(q[0], q[1], q[2], q[3]); got != 0 {
			t.Fatalf("seed %d: InCircle(%v) = %d, all four are on one circle", seed, q, got)
		}
		if plain(q) != 0 {
			rounded++
		}
	}
	if rounded < 500 {
		t.Errorf("the plain determinant is not 0 for %d of 2000 sets only: the test is blind", rounded)
	}
}

// plain is the in-circle determinant in floating point, without any care.
func plain(q [4]grid.Point) float64 {
	var d [3][3]float64
	for i := range d {
		x, y := q[i].X-q[3].X, q[i].Y-q[3].Y
		d[i] = [3]float64{x, y, x*x + y*y}
	}
	return d[0][2]*(d[1][0]*d[2][1]-d[2][0]*d[1][1]) + d[1][2]*(d[2][0]*d[0][1]-d[0][0]*d[2][1]) + d[2][2]*(d[0][0]*d[1][1]-d[1][0]*d[0][1])
}

func TestLaws(t *testing.T) {
	const seed = 11
	sets(seed, 100, func(kind string, q [4]grid.Point) {
		a, b, c, d := q[0], q[1], q[2], q[3]
		o, i := Orient(a, b, c), InCircle(a, b, c, d)
		check := func(law string, got, want int) {
			if got != want {
				t.Fatalf("seed %d, %s, %s at %v: %d, want %d", seed, kind, law, q, got, want)
			}
		}
		check("cyclic", Orient(b, c, a), o)
		check("cyclic", Orient(c, a, b), o)
		check("swap", Orient(b, a, c), -o)
		check("swap", Orient(a, c, b), -o)
		check("circle cyclic", InCircle(b, c, a, d), i)
		check("circle swap", InCircle(b, a, c, d), -i)
		check("circle swap with d", InCircle(a, b, d, c), -i)
		check("circle swap with d", InCircle(d, b, c, a), -i)
		check("own corner", InCircle(a, b, c, a), 0)
		check("own corner", InCircle(a, b, c, b), 0)
		check("own corner", InCircle(a, b, c, c), 0)
		check("repeated corner", Orient(a, b, a), 0)
		neg := func(p grid.Point) grid.Point { return grid.Point{X: -p.X, Y: p.Y} }
		check("mirror", Orient(neg(a), neg(b), neg(c)), -o)
		check("circle mirror", InCircle(neg(a), neg(b), neg(c), neg(d)), -i)
		turn := func(p grid.Point) grid.Point { return grid.Point{X: -p.Y, Y: p.X} }
		check("quarter turn", Orient(turn(a), turn(b), turn(c)), o)
		check("circle quarter turn", InCircle(turn(a), turn(b), turn(c), turn(d)), i)
		if kind == "lattice" || kind == "circle" {
			// Sums of small multiples of 2⁻¹⁰ and a multiple of 2⁻¹⁰ are exact.
			move := func(p grid.Point) grid.Point { return grid.Point{X: p.X + 12345.0625, Y: p.Y - 777.5} }
			check("translation", Orient(move(a), move(b), move(c)), o)
			check("circle translation", InCircle(move(a), move(b), move(c), move(d)), i)
		}
	})
}

func TestKnown(t *testing.T) {
	p := func(x, y float64) grid.Point { return grid.Point{X: x, Y: y} }
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		a, b, c grid.Point
		want    int
	}{
		{p(0, 0), p(1, 0), p(0, 1), 1},
		{p(0, 0), p(0, 1), p(1, 0), -1},
		{p(0, 0), p(1, 1), p(2, 2), 0},
		{p(0.1, 0.3), p(0.2, 0.6), p(0.30000000000000004, 0.8999999999999999), oracleOrient(p(0.1, 0.3), p(0.2, 0.6), p(0.30000000000000004, 0.8999999999999999))},
		{p(-1e308, 0), p(1e308, 0), p(0, 5e-324), 1},
		{p(-1e308, -1e308), p(1e308, 1e308), p(0, -5e-324), -1},
		{p(0, 0), p(5e-324, 0), p(0, 5e-324), 1},
		{p(nan, 0), p(1, 0), p(0, 1), 0},
		{p(0, 0), p(1, inf), p(0, 1), 0},
		{p(0, 0), p(1, 0), p(-inf, 1), 0},
	} {
		if got := Orient(c.a, c.b, c.c); got != c.want {
			t.Errorf("Orient(%v, %v, %v) = %d, want %d", c.a, c.b, c.c, got, c.want)
		}
	}
	for _, c := range []struct {
		d    grid.Point
		want int
	}{
		{p(0.5, 0.5), 1}, {p(1, 1), 0}, {p(next(1, 1), 1), -1}, {p(next(1, -1), 1), 1},
		{p(1e300, 0), -1}, {p(nan, 0), 0}, {p(0, inf), 0},
	} {
		if got := InCircle(p(0, 0), p(1, 0), p(0, 1), c.d); got != c.want {
			t.Errorf("InCircle(unit corner, %v) = %d, want %d", c.d, got, c.want)
		}
	}
}

// TestNoBig pins that the usual cases of lattices and refined meshes never reach numbers of
// any length, which shows as allocation.
func TestNoBig(t *testing.T) {
	const h = 0.0125 // not representable, nor are its multiples
	for _, turn := range []bool{false, true} {
		for i := -3; i <= 3; i++ {
			at := func(x, y float64) grid.Point {
				p := grid.Point{X: -0.3 + h*(float64(i)+x), Y: h * (float64(2*i) + y)}
				if turn {
					p.X, p.Y = p.Y, p.X
				}
				return p
			}
			for name, q := range map[string][4]grid.Point{
				"cell": {at(0, 0), at(1, 0), at(1, 1), at(0, 1)}, "refined": {at(0, 0), at(0, 1), at(0.75, 0.75), at(0.75, 0.25)},
				"own corner": {at(0, 0), at(1, 0), at(0, 1), at(1, 0)}, "row": {at(0, 0), at(1, 0), at(2, 0), at(1, 1)},
			} {
				n := testing.AllocsPerRun(1, func() {
					orientExact(q[0], q[1], q[2])
					inCircleExact(q[0], q[1], q[2], q[3])
				})
				if n != 0 {
					t.Fatalf("%s at %v: %g allocations", name, q, n)
				}
			}
		}
	}
}

func FuzzOracle(f *testing.F) {
	sets(5, 2, func(_ string, q [4]grid.Point) {
		var b []byte
		for _, p := range q {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.X))
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Y))
		}
		f.Add(b)
	})
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) != 64 {
			return
		}
		var v [8]float64
		ok := true
		for i := range v {
			v[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
			ok = ok && !math.IsNaN(v[i]) && !math.IsInf(v[i], 0)
		}
		q := [4]grid.Point{{X: v[0], Y: v[1]}, {X: v[2], Y: v[3]}, {X: v[4], Y: v[5]}, {X: v[6], Y: v[7]}}
		o, i := Orient(q[0], q[1], q[2]), InCircle(q[0], q[1], q[2], q[3])
		if !ok {
			for k := range v[:6] {
				if (math.IsNaN(v[k]) || math.IsInf(v[k], 0)) && o != 0 {
					t.Fatalf("Orient(%v) = %d", q, o)
				}
			}
			if i != 0 {
				t.Fatalf("InCircle(%v) = %d", q, i)
			}
			return
		}
		if want := oracleOrient(q[0], q[1], q[2]); o != want {
			t.Fatalf("Orient(%v) = %d, exactly %d", q, o, want)
		}
		if want := oracleInCircle(q[0], q[1], q[2], q[3]); i != want {
			t.Fatalf("InCircle(%v) = %d, exactly %d", q, i, want)
		}
	})
}
