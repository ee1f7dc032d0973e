package shift

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"wakeledger/grid/poisson"
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

// plan transforms real arrays of ny rows and nx columns, padded with zeros so that two of them
// do not meet round the corner while they are moved by up to rx and ry. ny may be 1. Spectra are halves,
// since F(−k) = F(k)*: wave j along y of wave i along x, 0 to half of px, stands at i·py + j.
type plan struct {
	nx, ny, px, py int
	rx, ry         int
	fx             *fourier.FFT
	fy             *fourier.CmplxFFT
	kx, ky         []float64 // wave numbers, per step
	smooth         []float64 // what smoothing both fields makes of each product of waves
	row            []float64
	waves          []complex128
}

func newPlan(s size) *plan {
	p := &plan{nx: s.nx, ny: s.ny}
	p.px, p.rx = padded(s.nx, s.far)
	p.py, p.ry = padded(s.ny, s.far)
	p.fx, p.fy = fourier.NewFFT(p.px), fourier.NewCmplxFFT(p.py)
	p.row, p.waves = make([]float64, p.px), make([]complex128, p.px/2+1)
	wave := func(i, n int) float64 { return 2 * math.Pi * signed(i, n) / float64(n) }
	for i := range p.waves {
		p.kx = append(p.kx, wave(i, p.px))
	}
	for j := range p.py {
		p.ky = append(p.ky, wave(j, p.py))
	}
	for i, kx := range p.kx {
		for j, ky := range p.ky {
			s := math.Exp(-smoothing * smoothing * (kx*kx + ky*ky))
			// The wave of two steps has no derivative between places.
			if 2*i == p.px || p.py > 1 && 2*j == p.py {
				s = 0
			}
			p.smooth = append(p.smooth, s)
		}
	}
	return p
}

// size is that of an array, and how far two of them may be moved.
type size struct {
	nx, ny int
	far    bool
}

// plans are those that were made: a window and those made of it have few sizes.
type plans map[size]*plan

func (p plans) of(s size) *plan {
	if p[s] == nil {
		p[s] = newPlan(s)
	}
	return p[s]
}

// padded is a length that transforms fast for n places moved by up to reach: a quarter of n and
// what the smoothing needs, or n where it is far. It is 1 for 1.
func padded(n int, far bool) (length, reach int) {
	switch {
	case n == 1:
		return 1, 0
	case far:
		return poisson.FastSize(2 * n), n
	}
	length = poisson.FastSize(min(n+n/4+8, 2*n))
	return length, min(length-n, n)
}

// signed is place i of n counted from the nearer end.
func signed(i, n int) float64 {
	if 2*i > n {
		i -= n
	}
	return float64(i)
}

// spectrum is that of an array.
func (p *plan) spectrum(a []float64) []complex128 {
	out := make([]complex128, len(p.smooth))
	for j := range p.ny {
		copy(p.row, a[j*p.nx:(j+1)*p.nx])
		for i, v := range p.fx.Coefficients(p.waves, p.row) {
			out[i*p.py+j] = v
		}
	}
	for k := 0; k < len(out); k += p.py {
		p.fy.Coefficients(out[k:k+p.py], out[k:k+p.py])
	}
	return out
}

// invert visits rows lo to hi of the array of a spectrum, which it writes over. Row −1 is the last.
func (p *plan) invert(a []complex128, lo, hi int, visit func(j int, row []float64)) {
	for k := 0; k < len(a); k += p.py {
		p.fy.Sequence(a[k:k+p.py], a[k:k+p.py])
	}
	for j := lo; j <= hi; j++ {
		at := (j + p.py) % p.py
		for i := range p.waves {
			p.waves[i] = a[i*p.py+at]
		}
		p.fx.Sequence(p.row, p.waves)
		for i := range p.row {
			p.row[i] /= float64(p.px * p.py)
		}
		visit(j, p.row)
	}
	clear(p.row)
}

// twice is how often a wave along x of the half spectrum is in the whole; that of half of px
// has no part in anything smooth.
func twice(i int) float64 {
	if i == 0 {
		return 1
	}
	return 2
}

// correlate finds the shift d, in steps, that maximises C(d) = ∫ a(x) b(x + d) dx, of arrays of nx
// columns and ny rows. It looks near no shift first; where the maximum is not well inside there,
// everywhere.
func (p plans) correlate(nx, ny int, a, b []float64) (dx, dy float64, gain [2][]float64, ok bool) {
	for _, far := range []bool{false, true} {
		if dx, dy, gain, ok = p.of(size{nx, ny, far}).correlate(a, b); ok {
			break
		}
	}
	return dx, dy, gain, ok
}

// correlate is that within the plan's reach. The largest place of the discrete correlation is
// refined by Newton's method on the trigonometric series that C is of the padded arrays, which
// has the maximum between the places without the bias of a fitted parabola.
//
// With aₛ the smoothed field, the error that noise n in a makes is M⁻¹ Σ n ∂aₛ, M =
// Σ ∂a ∂aₛ, and for b the same with the opposite sign: gain has these factors of dx.
func (p *plan) correlate(a, b []float64) (dx, dy float64, gain [2][]float64, ok bool) {
	sa, sb := p.spectrum(a), p.spectrum(b)
	cross := make([]complex128, len(p.smooth))
	for k, s := range p.smooth {
		cross[k] = complex(s, 0) * cmplx.Conj(sa[k]) * sb[k]
	}
	most, x, y := math.Inf(-1), 0, 0
	p.invert(slices.Clone(cross), -p.ry, p.ry, func(j int, row []float64) {
		for i := -p.rx; i <= p.rx; i++ {
			if v := row[(i+p.px)%p.px]; v > most {
				most, x, y = v, i, j
			}
		}
	})
	// At the end of the reach it may only rise to a maximum further on.
	if p.rx < p.nx && max(x, -x) == p.rx || p.ry < p.ny && max(y, -y) == p.ry && p.ny > 1 {
		return 0, 0, gain, false
	}
	if dx, dy, ok = p.peakNear(cross, float64(x), float64(y)); !ok {
		return 0, 0, gain, false
	}
	return dx, dy, [2][]float64{p.gain(sa, 1), p.gain(sb, -1)}, true
}

// peakNear climbs to the maximum of Σ Re(cross e^{i(kx x + ky y)}) next to (x, y).
// It is lost when it gets more than two steps away or finds no maximum.
func (p *plan) peakNear(cross []complex128, x, y float64) (px, py float64, ok bool) {
	ey := make([]complex128, p.py)
	px, py = x, y
	for range newtonSteps {
		for j, k := range p.ky {
			ey[j] = cmplx.Rect(1, k*py)
		}
		var gx, gy, hxx, hxy, hyy float64
		for i, kx := range p.kx {
			// Σ over the waves along y, of each with none, one and two factors of its number.
			var one, ky1, ky2 complex128
			for j, ky := range p.ky {
				v := cross[i*p.py+j] * ey[j]
				one += v
				v = complex(ky*real(v), ky*imag(v))
				ky1 += v
				ky2 += complex(ky*real(v), ky*imag(v))
			}
			e := cmplx.Rect(twice(i), kx*px)
			one, ky1, ky2 = one*e, ky1*e, ky2*e
			gx -= kx * imag(one)
			gy -= imag(ky1)
			hxx -= kx * kx * real(one)
			hxy -= kx * real(ky1)
			hyy -= real(ky2)
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

// gain is sign times the first component of M⁻¹ ∂aₛ at the places of the array, in steps. It
// writes over the spectrum.
func (p *plan) gain(a []complex128, sign float64) []float64 {
	var mxx, mxy, myy float64
	for i, kx := range p.kx {
		for j, ky := range p.ky {
			k := i*p.py + j
			e := twice(i) * p.smooth[k] * real(a[k]*cmplx.Conj(a[k])) / float64(p.px*p.py)
			mxx += kx * kx * e
			mxy += kx * ky * e
			myy += ky * ky * e
		}
	}
	fx, fy := sign/mxx, 0.0
	if p.ny > 1 {
		d := mxx*myy - mxy*mxy
		fx, fy = sign*myy/d, -sign*mxy/d
	}
	for i, kx := range p.kx {
		for j, ky := range p.ky {
			k := i*p.py + j
			a[k] *= complex(0, p.smooth[k]*(fx*kx+fy*ky))
		}
	}
	out := make([]float64, p.nx*p.ny)
	p.invert(a, 0, p.ny-1, func(j int, row []float64) { copy(out[j*p.nx:(j+1)*p.nx], row) })
	return out
}

// byCorrelation is the move at which the two fields of (f − t)₊ lie best on one another:
// the maximum of their cross-correlation, in two dimensions or, summed over the height,
// of their lateral profiles.
func (w *window) byCorrelation(profiles bool) *measured {
	i0, j0, i1, j1 := w.bounds(func(k int) bool { return w.mask[k] })
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
	dx, dy, gain, ok := w.plans.correlate(nx, ny, a[0], a[1])
	if !ok {
		return failed(of + " has no clear maximum")
	}
	m := w.newMeasured()
	m.y = dx * w.r.DX
	if !profiles {
		m.z = new(dy * w.r.DY)
	}
	each(func(c, k, at int, e float64) { m.gain[c][k] = gain[c][at] * w.r.DX })
	return m
}
