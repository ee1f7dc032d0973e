package structure

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
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

// correlation finds the shift d that maximises
//
//	C(d) = ∫ a(x) b(x + d) dx
//
// for two arrays of ny rows and nx columns (nx = 1 or ny = 1 for lines), in steps.
// Both are padded with noughts to twice their size, so that they do not meet
// round the corner. The largest place of the discrete correlation is refined by
// Newton's method on the trigonometric series that C is of the padded arrays,
// which has the maximum between the places without the bias of a fitted parabola.
//
// With aₛ the smoothed field, the error that noise n in a makes is M⁻¹ Σ n ∂aₛ, M =
// Σ ∂a ∂aₛ, and for b the same with the opposite sign: gain gives these factors.
type correlation struct {
	dx, dy float64
	ok     bool
	// gainX[c], gainY[c] for the two arrays.
	gainX, gainY [2][]float64
}

func correlate(a, b []float64, nx, ny int) correlation {
	px, py := padded(nx), padded(ny)
	fx, fy := fourier.NewCmplxFFT(px), fourier.NewCmplxFFT(py)
	both := [2][]complex128{spectrum(a, nx, ny, px, py, fx, fy), spectrum(b, nx, ny, px, py, fx, fy)}
	kx, ky := waves(px), waves(py)
	h2 := make([]float64, px*py)
	cross := make([]complex128, px*py)
	for j := range py {
		for i := range px {
			k := j*px + i
			h2[k] = math.Exp(-smoothing * smoothing * (kx[i]*kx[i] + ky[j]*ky[j]))
			if px > 1 && 2*i == px || py > 1 && 2*j == py {
				// The wave of two steps has no derivative between places.
				h2[k] = 0
			}
			cross[k] = complex(h2[k], 0) * cmplx.Conj(both[0][k]) * both[1][k]
		}
	}
	real2 := invert(append([]complex128(nil), cross...), px, py, fx, fy)
	best := 0
	for k, v := range real2 {
		if v > real2[best] {
			best = k
		}
	}
	x, y := float64(best%px), float64(best/px)
	if x > float64(px/2) {
		x -= float64(px)
	}
	if y > float64(py/2) {
		y -= float64(py)
	}
	out := correlation{}
	out.dx, out.dy, out.ok = peakNear(cross, kx, ky, x, y)
	if !out.ok {
		return out
	}
	for c := range both {
		out.gainX[c], out.gainY[c] = gains(both[c], h2, kx, ky, nx, ny, fx, fy)
		if c == 1 {
			for k := range out.gainX[c] {
				out.gainX[c][k], out.gainY[c][k] = -out.gainX[c][k], -out.gainY[c][k]
			}
		}
	}
	return out
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

// waves are the wave numbers of the places of a discrete transform, per step.
func waves(n int) []float64 {
	k := make([]float64, n)
	for i := range k {
		f := i
		if 2*i > n {
			f -= n
		}
		k[i] = 2 * math.Pi * float64(f) / float64(n)
	}
	return k
}

func spectrum(a []float64, nx, ny, px, py int, fx, fy *fourier.CmplxFFT) []complex128 {
	out := make([]complex128, px*py)
	for j := range ny {
		for i := range nx {
			out[j*px+i] = complex(a[j*nx+i], 0)
		}
	}
	transform(out, px, py, fx.Coefficients, fy.Coefficients)
	return out
}

// transform applies a transform to the rows and then to the columns.
func transform(a []complex128, px, py int, alongX, alongY func(dst, src []complex128) []complex128) {
	if px > 1 {
		for j := range py {
			row := a[j*px : (j+1)*px]
			alongX(row, row)
		}
	}
	if py > 1 {
		col := make([]complex128, py)
		for i := range px {
			for j := range py {
				col[j] = a[j*px+i]
			}
			alongY(col, col)
			for j := range py {
				a[j*px+i] = col[j]
			}
		}
	}
}

// invert is the real part of the inverse transform; a is used as room.
func invert(a []complex128, px, py int, fx, fy *fourier.CmplxFFT) []float64 {
	transform(a, px, py, fx.Sequence, fy.Sequence)
	out := make([]float64, len(a))
	for k, v := range a {
		out[k] = real(v) / float64(px*py)
	}
	return out
}

// peakNear climbs to the maximum of Σ Re(cross e^{i(kx x + ky y)}) next to (x, y).
// It is lost when it gets more than two steps away or finds no maximum.
func peakNear(cross []complex128, kx, ky []float64, x, y float64) (px, py float64, ok bool) {
	nx, ny := len(kx), len(ky)
	ex := make([]complex128, nx)
	px, py = x, y
	for range newtonSteps {
		for i, k := range kx {
			ex[i] = cmplx.Rect(1, k*px)
		}
		var gx, gy, hxx, hxy, hyy float64
		for j, k := range ky {
			ey := cmplx.Rect(1, k*py)
			for i := range ex {
				v := cross[j*nx+i] * ex[i] * ey
				gx -= kx[i] * imag(v)
				gy -= k * imag(v)
				hxx -= kx[i] * kx[i] * real(v)
				hxy -= kx[i] * k * real(v)
				hyy -= k * k * real(v)
			}
		}
		var sx, sy float64
		switch {
		case nx == 1 && hyy < 0:
			sy = -gy / hyy
		case ny == 1 && hxx < 0:
			sx = -gx / hxx
		case hxx < 0 && hxx*hyy-hxy*hxy > 0:
			d := hxx*hyy - hxy*hxy
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

// gains gives M⁻¹ ∂aₛ at the places of the array, in steps.
func gains(a []complex128, h2, kx, ky []float64, nx, ny int, fx, fy *fourier.CmplxFFT) (gx, gy []float64) {
	px, py := len(kx), len(ky)
	var mxx, mxy, myy float64
	ax, ay := make([]complex128, len(a)), make([]complex128, len(a))
	for j, q := range ky {
		for i, p := range kx {
			k := j*px + i
			e := h2[k] * real(a[k]*cmplx.Conj(a[k])) / float64(px*py)
			mxx += p * p * e
			mxy += p * q * e
			myy += q * q * e
			s := complex(h2[k], 0) * a[k]
			ax[k], ay[k] = complex(0, p)*s, complex(0, q)*s
		}
	}
	dx, dy := invert(ax, px, py, fx, fy), invert(ay, px, py, fx, fy)
	gx, gy = make([]float64, nx*ny), make([]float64, nx*ny)
	d := mxx*myy - mxy*mxy
	for j := range ny {
		for i := range nx {
			k, o := j*px+i, j*nx+i
			switch {
			case nx == 1:
				gy[o] = dy[k] / myy
			case ny == 1:
				gx[o] = dx[k] / mxx
			default:
				gx[o] = (myy*dx[k] - mxy*dy[k]) / d
				gy[o] = (mxx*dy[k] - mxy*dx[k]) / d
			}
		}
	}
	return gx, gy
}

// crop is the smallest block of columns and rows that holds the mask.
func (w *window) crop() (i0, j0, nx, ny int) {
	i0, j0 = w.r.nx, w.r.ny
	i1, j1 := -1, -1
	for k, in := range w.mask {
		if in {
			i, j := k%w.r.nx, k/w.r.nx
			i0, j0, i1, j1 = min(i0, i), min(j0, j), max(i1, i), max(j1, j)
		}
	}
	return i0, j0, i1 - i0 + 1, j1 - j0 + 1
}

// byRegistration is the move at which the two fields of (f − t)₊ lie best on one
// another: the maximum of their cross-correlation in two dimensions.
func (w *window) byRegistration() *measured {
	i0, j0, nx, ny := w.crop()
	if nx < 4 || ny < 4 {
		return &measured{why: "fewer than four samples across the common part"}
	}
	var a [2][]float64
	for c := range a {
		a[c] = make([]float64, nx*ny)
		for j := range ny {
			for i := range nx {
				a[c][j*nx+i] = w.excess(c, (j+j0)*w.r.nx+i+i0)
			}
		}
	}
	q := correlate(a[0], a[1], nx, ny)
	if !q.ok {
		return &measured{why: "the cross-correlation has no clear maximum"}
	}
	m := w.newMeasured(true)
	m.y, m.z = q.dx*w.r.dx, q.dy*w.r.dy
	for c := range a {
		for j := range ny {
			for i := range nx {
				k := (j+j0)*w.r.nx + i + i0
				if w.excess(c, k) > 0 {
					m.gain[c][k] = q.gainX[c][j*nx+i] * w.r.dx
					m.gainZ[c][k] = q.gainY[c][j*nx+i] * w.r.dy
				}
			}
		}
	}
	return m
}

// byProfile is the move at which the lateral profiles, (f − t)₊ summed over the
// height, lie best on one another: the maximum of their cross-correlation.
func (w *window) byProfile() *measured {
	i0, _, nx, _ := w.crop()
	if nx < 4 {
		return &measured{why: "fewer than four samples across the common part"}
	}
	var p [2][]float64
	for c := range p {
		p[c] = make([]float64, nx)
		for k := range w.mask {
			if e := w.excess(c, k); e > 0 {
				p[c][k%w.r.nx-i0] += e
			}
		}
	}
	q := correlate(p[0], p[1], nx, 1)
	if !q.ok {
		return &measured{why: "the cross-correlation of the profiles has no clear maximum"}
	}
	m := w.newMeasured(false)
	m.y = q.dx * w.r.dx
	for c := range p {
		for k := range w.mask {
			if w.excess(c, k) > 0 {
				m.gain[c][k] = q.gainX[c][k%w.r.nx-i0] * w.r.dx
			}
		}
	}
	return m
}
