package uncertainty

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// Sample sums up repeated values: their number, mean and standard deviation with
// n−1, which is NaN for fewer than two values (and the mean for none).
type Sample struct {
	N        int
	Mean, SD float64
}

// NewSample sums up v.
func NewSample(v []float64) Sample {
	s := Sample{N: len(v), Mean: math.NaN(), SD: math.NaN()}
	if s.N == 0 {
		return s
	}
	s.Mean = mean(v)
	if s.N > 1 {
		s.SD = stat.StdDev(v, nil)
	}
	return s
}

// Standard is the standard uncertainty of the mean, SD/√n. Source: JCGM 100:2008,
// 4.2.3.
func (s Sample) Standard() float64 { return s.SD / math.Sqrt(float64(s.N)) }

// Copied reports whether two lists hold the same values, in whatever order, but for rounding. Two
// runs never do: their extremes alone differ by more.
func Copied(a, b []float64) bool {
	if len(a) != len(b) || len(a) == 0 {
		return false
	}
	least, most := floats.Min(a), floats.Max(a)
	near := func(x, y float64) bool { return math.Abs(x-y) <= rounding*(most-least) }
	if !near(least, floats.Min(b)) || !near(most, floats.Max(b)) { // spares the sorting
		return false
	}
	return slices.EqualFunc(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)), near)
}

// rounding is how far a copy may lie off, as a part of the range of its values: files hold five digits
// and more.
const rounding = 1e-5

// Rounded reports whether of two lists of values at the same places one is the other with fewer digits: all are
// within the last digit of the one, and the other has more in some. Two runs that are far apart somewhere never are.
func Rounded(a, b []float64) bool {
	if len(a) != len(b) || len(a) == 0 {
		return false
	}
	fewer := false
	// Some values tell it of most lists that are apart: with more of them the last digit is no larger.
	for _, n := range []int{min(len(a), 100), len(a)} {
		lastA, lastB := lastDigit(a[:n]), lastDigit(b[:n])
		for i, x := range a[:n] {
			p, q := lastA(x), lastB(b[i])
			if math.Abs(x-b[i]) > math.Max(p, q)*(1+1e-9) {
				return false
			}
			fewer = fewer || math.Min(p, q) < math.Max(p, q)/2
		}
	}
	return fewer
}

// lastDigit gives the size of the last digit of a value, by how many digits and decimals a list of them has.
func lastDigit(v []float64) func(x float64) float64 {
	var significant, decimals float64
	for _, x := range v {
		mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(math.Abs(x), 'e', -1, 64), "e")
		n := float64(len(strings.Replace(mantissa, ".", "", 1)))
		e, _ := strconv.ParseFloat(exponent, 64)
		significant, decimals = math.Max(significant, n), math.Max(decimals, n-1-e)
	}
	return func(x float64) float64 {
		return math.Pow(10, math.Max(-decimals, math.Floor(math.Log10(math.Abs(x)))-significant+1))
	}
}

// Pooled is the standard deviation that several samples have together,
// √(Σ(nᵢ−1)sᵢ² / Σ(nᵢ−1)), with its degrees of freedom Σ(nᵢ−1). Samples of fewer
// than two values add nothing; without any other, sd is NaN and dof 0. So they are where the values
// agree to a billionth: no two runs do, and what was not repeated tells no scatter. Source:
// JCGM 100:2008, H.3.6 and ISO 5725-2, 7.4 (formula from memory).
func Pooled(samples ...Sample) (sd, dof float64) {
	var sq, size float64
	for _, s := range samples {
		if s.N > 1 {
			sq += float64(s.N-1) * s.SD * s.SD
			dof += float64(s.N - 1)
			size = math.Max(size, math.Abs(s.Mean))
		}
	}
	if sd = math.Sqrt(sq / dof); !(sd > 1e-9*size) {
		return math.NaN(), 0
	}
	return sd, dof
}

// Repeats is the item of what runs scatter by.
func Repeats(standard, dof float64) Item {
	return Item{Name: "repeats", Category: RunToRun, HoldsTime: true, Kind: Random, Standard: standard, DOF: &dof}
}

// Scatter is Repeats pooled over samples, where the variance is times that of one run; none where
// nothing was repeated.
func Scatter(times float64, samples ...Sample) []Item {
	sd, dof := Pooled(samples...)
	if dof == 0 {
		return nil
	}
	return []Item{Repeats(sd*math.Sqrt(times), dof)}
}
