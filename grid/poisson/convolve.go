package poisson

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

	"wakeledger/grid"
)

// kernel is one term of a Green's function on the lattice. at(i, d) is its value
// for i ≥ 0 columns apart, whichever way, and for d rows, −NY < d < NY.
type kernel struct {
	at func(i, d int) float64
	// mirrored says that the kernel acts on the field with its rows in reverse
	// order: d is then the row of the result less the reversed row of the source. One that is
	// not is even in d.
	mirrored bool
}

// convolve returns Σ over kernels of Σ_source at(|i−i'|, j−j')·f(i', j'), by
// transforms on a lattice doubled along both axes and filled up with zeros, so that no copy of
// the source reaches the result.
//
// The kernels are even along X, so their transform along X is a real cosine
// transform, and columns are finished one at a time: the doubled lattice is never
// held whole.
func convolve(nx, ny int, f []float64, kernels []kernel) []float64 {
	px := FastSize(2*nx - 1)
	for px%2 != 0 {
		px = FastSize(px + 1)
	}
	py := FastSize(2*ny - 1)
	m := px/2 + 1 // columns of the transform along X

	// Along X: spec[k·ny+j] is coefficient k of row j, so that columns are contiguous.
	spec := make([]complex128, m*ny)
	grid.Ranges(ny, func(lo, hi int) {
		t := fourier.NewFFT(px)
		row, coeff := make([]float64, px), make([]complex128, m)
		for j := lo; j < hi; j++ {
			copy(row, f[j*nx:(j+1)*nx])
			t.Coefficients(coeff, row)
			for k, c := range coeff {
				spec[k*ny+j] = c
			}
		}
	})
	nd := 2*ny - 1
	kspec := grid.Fill(len(kernels), func(q int) []float64 { return kernels[q].spectrum(nx, ny, m) })
	// The transform of a column in reverse order is this times that of the column at −i.
	reverse := grid.Fill(py, func(i int) complex128 { return cmplx.Rect(1, -2*math.Pi*float64(i*(ny-1)%py)/float64(py)) })
	grid.Ranges(m, func(lo, hi int) {
		t := fourier.NewCmplxFFT(py)
		source, green, sum := make([]complex128, py), make([]complex128, py), make([]complex128, py)
		for k := lo; k < hi; k++ {
			column := spec[k*ny : (k+1)*ny]
			clear(sum)
			clear(source)
			copy(source, column)
			t.Coefficients(source, source)
			for q, g := range kernels {
				clear(green)
				for r, c := range kspec[q][k*nd : (k+1)*nd] {
					d := r - (ny - 1)
					if d < 0 {
						d += py
					}
					green[d] = complex(c, 0)
				}
				t.Coefficients(green, green)
				for i := range sum {
					if g.mirrored {
						sum[i] += reverse[i] * source[(py-i)%py] * green[i]
					} else {
						sum[i] += source[i] * green[i]
					}
				}
			}
			t.Sequence(sum, sum)
			copy(column, sum)
		}
	})
	out := make([]float64, nx*ny)
	scale := 1 / (float64(px) * float64(py))
	grid.Ranges(ny, func(lo, hi int) {
		t := fourier.NewFFT(px)
		row, coeff := make([]float64, px), make([]complex128, m)
		for j := lo; j < hi; j++ {
			for k := range coeff {
				coeff[k] = spec[k*ny+j]
			}
			t.Sequence(row, coeff)
			for i := range nx {
				out[j*nx+i] = scale * row[i]
			}
		}
	})
	return out
}

// spectrum is the cosine transform along X, of m coefficients, of each of the rows d =
// −(ny−1) … ny−1 of a kernel; coefficients are contiguous by d.
func (g kernel) spectrum(nx, ny, m int) []float64 {
	nd := 2*ny - 1
	out := make([]float64, m*nd)
	grid.Ranges(nd, func(lo, hi int) {
		// NewDCT(m) treats m values as one half of an even row of 2(m−1).
		t := fourier.NewDCT(m)
		row := make([]float64, m)
		for r := lo; r < hi; r++ {
			d := r - (ny - 1)
			if d < 0 && !g.mirrored {
				continue
			}
			clear(row)
			for i := range nx {
				row[i] = g.at(i, d)
			}
			t.Transform(row, row)
			for k, c := range row {
				out[k*nd+r] = c
				if !g.mirrored {
					out[k*nd+ny-1-d] = c
				}
			}
		}
	})
	return out
}
