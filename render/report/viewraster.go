package report

import (
	"bytes"
	"encoding/base64"
	"math"

	"github.com/klauspost/compress/flate"
)

// Codes of samples in the page: a value v is kept as the whole number nearest to
// v/step.
const (
	codeNone  = 32767
	codeOver  = 32766
	codeUnder = -32768
	codeMost  = 32765
)

// stepsOnScale is how many steps a quantity's scale has at least.
const stepsOnScale = 4000

// viewStep is the step in which the values of a quantity are kept: the largest of
// 1, 2 or 5 times a power of ten that gives the scale its steps.
func viewStep(s ViewScale) float64 {
	span := s.Levels[len(s.Levels)-1] - s.Levels[0]
	step := tickStep(span / stepsOnScale)
	for step > span/stepsOnScale*(1+1e-9) {
		// tickStep rounds up; the next lower one is within a factor of 2.5.
		step = tickStep(step / 2.6)
	}
	return step
}

// rasterLevel of the compression: the best one, 9, takes 17 times as long and makes the
// rasters of the demo 5 % smaller.
const rasterLevel = 6

// encodeRaster packs samples of nx columns: codes as differences from the plane
// through the neighbours before (left + below − left below), low bytes first and
// then high bytes, deflated, in base64. Smooth fields leave small differences.
func encodeRaster(f []float32, nx int, step float64) string {
	n := len(f)
	buf := make([]byte, 2*n)
	code := make([]int32, n)
	at := func(i, j int) int32 {
		if i < 0 || j < 0 {
			return 0
		}
		return code[j*nx+i]
	}
	for k, v := range f {
		c := math.Round(float64(v) / step)
		switch {
		case c != c:
			code[k] = codeNone
		case c > codeMost:
			code[k] = codeOver
		case c < -codeMost:
			code[k] = codeUnder
		default:
			code[k] = int32(c)
		}
		d := int16(code[k] - (at(k%nx-1, k/nx) + at(k%nx, k/nx-1) - at(k%nx-1, k/nx-1))) // modulo 2¹⁶, as the reader does
		z := uint16(d<<1) ^ uint16(d>>15)                                                // small numbers of either sign become small
		buf[k], buf[n+k] = byte(z), byte(z>>8)
	}
	var b bytes.Buffer
	w, _ := flate.NewWriter(&b, rasterLevel) // into memory: no error
	w.Write(buf)
	w.Close()
	return base64.StdEncoding.EncodeToString(b.Bytes())
}
