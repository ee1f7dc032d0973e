package shift

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

const (
	// smoothing is the standard deviation, in steps of the raster, of the Gaussian that
	// both fields are smoothed with before they are correlated. It moves neither, and
	// keeps noise times noise small.
	smoothing = 1.0
	// newtonSteps and newtonEnough end the search for the maximum: it converges
	// quadratically, and 1e-10 of a step is far below everything else.
	newtonSteps  = 50
	newtonEnough = 1e-10
)

// plan transforms arrays of ny rows and nx columns, padded with zeros to twice their
// size, so that two of them do not meet round the corner. ny may be 1.
type plan struct {
	nx, ny, px, py int
	fx, fy         *fourier.CmplxFFT
	kx, ky         []float64 // wave numbers, per step
	smooth         []float64 // what smoothing both fields makes of each product of waves
}

func newPlan(nx, ny int) *plan {
	p := &plan{nx: nx, ny: ny, px: padded(nx), py: padded(ny)}
	p.fx, p.fy = fourier.NewCmplxFFT(p.px), fourier.NewCmplxFFT(p.py)
	waves := func(n int) []float64 {
		k := make([]float64, n)
		for i := range k {
			k[i] = 2 * math.Pi * signed(i, n) / float64(n)
		}
		return k
	}
	p.kx, p.ky = waves(p.px), waves(p.py)
	p.smooth = make([]float64, p.px*p.py)
	for j, ky := range p.ky {
		for i, kx := range p.kx {
			// The wave of two steps has no derivative between places.
			if 2*i != p.px && (p.py == 1 || 2*j != p.py) {
				p.smooth[j*p.px+i] = math.Exp(-smoothing * smoothing * (kx*kx + ky*ky))
			}
		}
	}
	return p
}

// padded is a length of at least twice n that has just the factors 2, 3 and 5, or 1
// for 1.
func padded(n int) int {
	if n == 1 {
		return 1
	}
	for p := 2 * n; ; p++ {
		q := p
		for _, f := range []int{2, 3, 5} {
			for q%f == 0 {
				q /= f
			}
		}
		if q == 1 {
			return p
		}
	}
}

// signed is place i of n counted from the nearer end.
func signed(i, n int) float64 {
	if 2*i > n {
		i -= n
	}
	return float64(i)
}

// spectra are those of two real arrays, from the one of a + ib: the part of it with
// F(−k) = F(k)* is a's.
func (p *plan) spectra(a, b []float64) [2][]complex128 {
	z := make([]complex128, p.px*p.py)
	for j := range p.ny {
		for i := range p.nx {
			z[j*p.px+i] = complex(a[j*p.nx+i], b[j*p.nx+i])
		}
	}
	p.rows(z, p.ny, p.fx.Coefficients)
	p.columns(z, p.fy.Coefficients)
	out := [2][]complex128{make([]complex128, len(z)), make([]complex128, len(z))}
	for j := range p.py {
		for i := range p.px {
			k, minus := j*p.px+i, (p.py-j)%p.py*p.px+(p.px-i)%p.px
			f, g := z[k], cmplx.Conj(z[minus])
			out[0][k], out[1][k] = (f+g)*0.5, (f-g)*-0.5i
		}
	}
	return out
}

// rows applies a transform to the first n rows.
func (p *plan) rows(a []complex128, n int, along func(dst, src []complex128) []complex128) {
	for j := range n {
		row := a[j*p.px : (j+1)*p.px]
		along(row, row)
	}
}

// columns applies a transform to the columns.
func (p *plan) columns(a []complex128, along func(dst, src []complex128) []complex128) {
	if p.py == 1 {
		return
	}
	col := make([]complex128, p.py)
	for i := range p.px {
		for j := range col {
			col[j] = a[j*p.px+i]
		}
		along(col, col)
		for j := range col {
			a[j*p.px+i] = col[j]
		}
	}
}

// invert makes the inverse transform of a in its place, times the number of places, as far
// as row n.
func (p *plan) invert(a []complex128, n int) {
	p.columns(a, p.fy.Sequence)
	p.rows(a, n, p.fx.Sequence)
}

// correlate finds the shift d, in steps, that maximises C(d) = ∫ a(x) b(x + d) dx. The
// largest place of the discrete correlation is refined by Newton's method on the
// trigonometric series that C is of the padded arrays, which has the maximum between
// the places without the bias of a fitted parabola.
//
// With aₛ the smoothed field, the error that noise n in a makes is M⁻¹ Σ n ∂aₛ, M =
// Σ ∂a ∂aₛ, and for b the same with the opposite sign: gain has these factors of dx.
func correlate(a, b []float64, nx, ny int) (dx, dy float64, gain [2][]float64, ok bool) {
	p := newPlan(nx, ny)
	both := p.spectra(a, b)
	cross := make([]complex128, len(p.smooth))
	for k, s := range p.smooth {
		cross[k] = complex(s, 0) * cmplx.Conj(both[0][k]) * both[1][k]
	}
	c := slices.Clone(cross)
	p.invert(c, p.py)
	best := 0
	for k, v := range c {
		if real(v) > real(c[best]) {
			best = k
		}
	}
	if dx, dy, ok = p.peakNear(cross, signed(best%p.px, p.px), signed(best/p.px, p.py)); !ok {
		return 0, 0, gain, false
	}
	gain = [2][]float64{p.gain(both[0]), p.gain(both[1])}
	floats.Scale(-1, gain[1])
	return dx, dy, gain, true
}

// peakNear climbs to the maximum of Σ Re(cross e^{i(kx x + ky y)}) next to (x, y).
// It is lost when it gets more than two steps away or finds no maximum.
func (p *plan) peakNear(cross []complex128, x, y float64) (px, py float64, ok bool) {
	ex := make([]complex128, p.px)
	px, py = x, y
	for range newtonSteps {
		for i, k := range p.kx {
			ex[i] = cmplx.Rect(1, k*px)
		}
		var gx, gy, hxx, hxy, hyy float64
		for j, ky := range p.ky {
			ey := cmplx.Rect(1, ky*py)
			for i, kx := range p.kx {
				v := cross[j*p.px+i] * ex[i] * ey
				gx -= kx * imag(v)
				gy -= ky * imag(v)
				hxx -= kx * kx * real(v)
				hxy -= kx * ky * real(v)
				hyy -= ky * ky * real(v)
			}
		}
		var sx, sy float64
		switch d := hxx*hyy - hxy*hxy; {
		case p.ny == 1 && hxx < 0:
			sx = -gx / hxx
		case hxx < 0 && d > 0:
			sx, sy = -(hyy*gx-hxy*gy)/d, -(hxx*gy-hxy*gx)/d
		default:
			return 0, 0, false
		}
		px, py = px+sx, py+sy
		if !(math.Hypot(px-x, py-y) <= 2) {
			return 0, 0, false
		}
		if math.Hypot(sx, sy) <= newtonEnough {
			return px, py, true
		}
	}
	return 0, 0, false
}

// gain is the first component of M⁻¹ ∂aₛ at the places of the array, in steps.
func (p *plan) gain(a []complex128) []float64 {
	var mxx, mxy, myy float64
	both := make([]complex128, len(a)) // ∂aₛ along x and y, the latter as the imaginary part
	for j, ky := range p.ky {
		for i, kx := range p.kx {
			k := j*p.px + i
			e := p.smooth[k] * real(a[k]*cmplx.Conj(a[k])) / float64(len(a))
			mxx += kx * kx * e
			mxy += kx * ky * e
			myy += ky * ky * e
			both[k] = complex(-ky*p.smooth[k], kx*p.smooth[k]) * a[k]
		}
	}
	p.invert(both, p.ny)
	out := make([]float64, p.nx*p.ny)
	d := mxx*myy - mxy*mxy
	for j := range p.ny {
		for i := range p.nx {
			v := both[j*p.px+i]
			dx, dy := real(v)/float64(len(a)), imag(v)/float64(len(a))
			if out[j*p.nx+i] = dx / mxx; p.ny > 1 {
				out[j*p.nx+i] = (myy*dx - mxy*dy) / d
			}
		}
	}
	return out
}

// byCorrelation is the move at which the two fields of (f − t)₊ lie best on one another:
// the maximum of their cross-correlation, in two dimensions or, summed over the height,
// of their lateral profiles.
func (w *window) byCorrelation(profiles bool) *measured {
	i0, j0, i1, j1 := w.r.NX, w.r.NY, -1, -1
	for k, in := range w.mask {
		if in {
			i, j := k%w.r.NX, k/w.r.NX
			i0, j0, i1, j1 = min(i0, i), min(j0, j), max(i1, i), max(j1, j)
		}
	}
	if i1 >= i0 {
		i0, i1 = max(0, i0+min(0, w.along)), min(w.r.NX-1, i1+max(0, w.along))
	}
	nx, ny, of := i1-i0+1, j1-j0+1, "the cross-correlation"
	if profiles {
		of += " of the profiles"
	}
	if nx < 4 || ny < 4 && !profiles {
		return failed("fewer than four samples across the common part")
	}
	if profiles {
		ny = 1
	}
	a := [2][]float64{make([]float64, nx*ny), make([]float64, nx*ny)}
	// each visits the places of the raster with an excess e, of which at is the place in
	// the arrays.
	each := func(visit func(c, k, at int, e float64)) {
		for c := range a {
			for j := j0; j <= j1; j++ {
				for i := i0; i <= i1; i++ {
					at := i - i0
					if !profiles {
						at += (j - j0) * nx
					}
					k := j*w.r.NX + i
					if e := w.excess(c, k); e > 0 {
						visit(c, k, at, e)
					}
				}
			}
		}
	}
	each(func(c, k, at int, e float64) { a[c][at] += e })
	dx, dy, gain, ok := correlate(a[0], a[1], nx, ny)
	if !ok {
		return failed(of + " has no clear maximum")
	}
	m := w.newMeasured()
	m.y = dx * w.r.DX
	if !profiles {
		z := dy * w.r.DY
		m.z = &z
	}
	each(func(c, k, at int, e float64) { m.gain[c][k] = gain[c][at] * w.r.DX })
	return m
}
