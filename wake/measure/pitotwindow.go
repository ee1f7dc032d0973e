package measure

import (
	"math"
	"slices"

	"wakeledger/wake"
)

// PitotWindow is what a window of pitot and static pressures holds, over the surveyed part of a
// plane alone: not the vehicle's drag unless the window holds its wake and cuts no body.
type PitotWindow struct {
	// DragArea is Jones's integral 2∫(u/U)(1−√Cpt)dS, m² (JonesDensity).
	DragArea float64 `json:"jones_m2"`
	// Loss is ∫(1−Cpt)dS, m².
	Loss float64 `json:"total_pressure_loss_m2"`
	// Area is the surveyed area, Invalid the part of the wake's (1−Cpt > 0.01) where
	// Jones has no meaning (Cpt ≤ 0 or u ≤ 0).
	Area    float64 `json:"area_m2"`
	Invalid float64 `json:"invalid_area_fraction"`
	// Bracket is the drag area with Cp 0.1 lower and higher, where no static pressure
	// was measured.
	Bracket *[2]float64 `json:"bracket_m2,omitempty"`
	// Centroid of the loss in y and z, m; absent where the loss is less than a hundredth of
	// the area.
	Centroid *[2]float64 `json:"centroid_m,omitempty"`
}

// Sound says whether Jones's method has a meaning in all but a hundredth of the wake;
// else it is not quoted.
func (w *PitotWindow) Sound() bool { return w.Invalid <= wake.SoundJones }

// PitotPoint is a sample with its share of the area, m²: where it is, m, Cpt, Cp (NaN: not
// measured), u/U, and which of the four interleaved subsets of the samples has it.
type PitotPoint struct {
	Area, Y, Z, Cpt, Cp, U float64
	Subset                 uint8
}

// NewPitotWindow integrates points over an area, m².
func NewPitotWindow(area float64, points []PitotPoint) *PitotWindow {
	d := &PitotWindow{Area: area}
	var invalid, wakeArea, lo, hi, my, mz float64
	measured := false
	for _, x := range points {
		density, ok := JonesDensity(x.Cpt, 1, x.U)
		low, _ := JonesDensity(x.Cpt, 1, math.Sqrt(math.Max(x.Cpt+bracketCp, 0)))
		high, _ := JonesDensity(x.Cpt, 1, math.Sqrt(math.Max(x.Cpt-bracketCp, 0)))
		loss := 1 - x.Cpt
		d.DragArea += x.Area * density
		lo, hi = lo+x.Area*low, hi+x.Area*high
		d.Loss += x.Area * loss
		my += x.Area * loss * x.Y
		mz += x.Area * loss * x.Z
		if loss > wake.WakeLoss {
			wakeArea += x.Area
		}
		if !ok {
			invalid += x.Area
		}
		measured = measured || !math.IsNaN(x.Cp)
	}
	if wakeArea > 0 {
		d.Invalid = invalid / wakeArea
	}
	if !measured {
		d.Bracket = &[2]float64{math.Min(lo, hi), math.Max(lo, hi)}
	}
	if d.Loss > 0.01*d.Area {
		d.Centroid = &[2]float64{my / d.Loss, mz / d.Loss}
	}
	return d
}

// SubsetSampling recomputes Jones's integral from each of the four subsets; half the range
// over √3 is the standard uncertainty of sampling, 0 where a subset has no area.
func SubsetSampling(points []PitotPoint) float64 {
	var area, sum [4]float64
	total := 0.0
	for _, x := range points {
		s := x.Subset % 4
		density, _ := JonesDensity(x.Cpt, 1, x.U)
		area[s] += x.Area
		sum[s] += x.Area * density
		total += x.Area
	}
	for s := range sum {
		sum[s] = total * sum[s] / area[s]
	}
	if slices.Min(area[:]) > 0 {
		return (slices.Max(sum[:]) - slices.Min(sum[:])) / 2 / math.Sqrt(3)
	}
	return 0
}
