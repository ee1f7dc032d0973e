package compare_test

import (
	"context"
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
)

// A fairing behind each front wheel of the campus shuttle: what it does to the wake of
// the right wheel, just behind it.
func ExampleCompare() {
	var planes []*wake.Plane
	for _, name := range []string{"bare_x-0.62.csv.zst", "fairing_x-0.62.csv.zst"} {
		s, err := survey.Read(context.Background(), "../../examples/shuttle/"+name, survey.Options{})
		if err != nil {
			fmt.Println(err)
			return
		}
		p, err := wake.Planes(s, wake.PlaneOptions{Support: grid.Cells, SupportBy: "the example"})
		if err != nil {
			fmt.Println(err)
			return
		}
		planes = append(planes, p...)
	}
	wheel := measure.Box{Name: "right wheel", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.66, Y: 0}, Max: grid.Point{X: 1.8, Y: 1}}}
	// The fairing fills a part of the box: what moves over the samples that both have is
	// another matter than what moves over each plane's own.
	opt := measure.Options{Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}, Regions: []measure.Box{wheel}}
	var surveys []*compare.Survey
	for _, p := range planes {
		m, err := measure.Take(p, opt)
		if err != nil {
			fmt.Println(err)
			return
		}
		surveys = append(surveys, &compare.Survey{Name: p.Name(), Measurement: m, By: opt})
	}
	c, _, err := compare.Compare(surveys, compare.Options{Measure: opt})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range c.Variants {
		for _, r := range v.Regions {
			fmt.Printf("%s: %.0f mm inboard, %.0f over the common samples, ± %.0f: %s\n", r.Name, 1000*(*r.Shift.Inboard), 1000*(*r.Shift.CommonInboard), 1000*r.Shift.Expanded, r.Shift.Verdict)
		}
	}
	// Output:
	// right wheel: 4 mm inboard, 30 over the common samples, ± 30: not resolved
}
