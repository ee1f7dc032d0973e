package report

import (
	"fmt"
	"math"

	"wakeledger/wake/study"
)

// chart draws the changes of drag area with their intervals, one line for each
// station and variant, over a common scale with zero in it. Places are in the
// units of the drawing.
type chart struct {
	Width, Height int
	Zero          string
	Top, Bottom   int
	Ticks         []chartTick
	Lines         []chartLine
	// Words says the same for readers who do not see it.
	Words string
}

type chartTick struct {
	At, Label string
	LabelY    int
}

type chartLine struct {
	Y, TextY       int
	Label, Value   string
	Lo, Hi, Middle string
	Firm           bool
}

// The drawing's measures: labels to the left, values to the right, a line for
// each change.
const (
	chartWidth = 900
	chartLeft  = 300
	chartRight = 700
	chartRow   = 30
	chartTop   = 14
)

// newChart returns nil when there is no change to draw.
func newChart(o *study.Outcome) *chart {
	c := &chart{Width: chartWidth, Top: chartTop}
	type change struct {
		label  string
		lo, hi float64
		mid    float64
		value  string
		firm   bool
	}
	var changes []change
	lo, hi := 0.0, 0.0
	for _, st := range stationsInOrder(o) {
		if st.Comparison == nil {
			continue
		}
		names := stationNames(o, st)
		for i, v := range st.Comparison.Variants {
			if v.Delta == nil {
				continue
			}
			d := v.Delta
			changes = append(changes, change{
				label: Shorten(names[i+1]+", "+clean(st.Name), 38), lo: d.Interval[0], hi: d.Interval[1], mid: d.DragArea,
				value: signedPlusMinus(d.DragArea, d.Expanded, areaDecimals, "m²"), firm: firm(d.Verdict),
			})
			lo, hi = min(lo, d.Interval[0], d.DragArea), max(hi, d.Interval[1], d.DragArea)
		}
	}
	if len(changes) == 0 || !(hi > lo) {
		return nil
	}
	step := tickStep((hi - lo) / 5)
	first, last := math.Floor(lo/step), math.Ceil(hi/step)
	place := func(x float64) string {
		return fmt.Sprintf("%.1f", chartLeft+(chartRight-chartLeft)*(x/step-first)/(last-first))
	}
	c.Bottom = chartTop + chartRow*len(changes)
	c.Height = c.Bottom + 40
	c.Zero = place(0)
	for k := first; k <= last; k++ {
		c.Ticks = append(c.Ticks, chartTick{At: place(k * step), Label: tickLabel(k*step, step), LabelY: c.Bottom + 18})
	}
	for i, x := range changes {
		y := chartTop + chartRow*i + chartRow/2
		c.Lines = append(c.Lines, chartLine{Y: y, TextY: y + 5, Label: x.label, Value: x.value, Lo: place(x.lo), Hi: place(x.hi), Middle: place(x.mid), Firm: x.firm})
		if i > 0 {
			c.Words += "; "
		}
		c.Words += x.label + ": " + x.value
	}
	return c
}

// tickStep returns the 1-2-5 step that is the least one not below x; x > 0.
func tickStep(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x {
			return m * p
		}
	}
	return 10 * p
}

// tickLabel prints a multiple of step with the decimals that step needs.
func tickLabel(x, step float64) string {
	d := min(max(0, int(-math.Floor(math.Log10(step)+1e-9))), maxDecimals)
	if math.Abs(x) < step/2 {
		return "0"
	}
	return signed(x, d)
}
