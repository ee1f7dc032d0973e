package compare_test

import (
	"bytes"
	"context"
	"fmt"
	"math"

	"wakeledger/examples/shuttle"
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
		file, err := shuttle.Files.ReadFile(name)
		if err != nil {
			fmt.Println(err)
			return
		}
		s, err := survey.ReadFrom(context.Background(), name, bytes.NewReader(file), survey.Options{})
		if err != nil {
			fmt.Println(err)
			return
		}
		p, err := wake.Planes(s, wake.PlaneOptions{Support: grid.Cells})
		if err != nil {
			fmt.Println(err)
			return
		}
		planes = append(planes, p...)
	}
	wheel := measure.Box{Name: "right wheel", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.66, Y: 0}, Max: grid.Point{X: 1.8, Y: 1}}}
	// Nothing is stated of the time average and of another run: the move is told, and not
	// judged.
	c, _, err := compare.Compare(planes, compare.Options{Measure: measure.Options{
		Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()},
		Regions:   []measure.Box{wheel},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range c.Variants {
		for _, r := range v.Regions {
			fmt.Printf("%s: %.0f mm inboard, %s (margin %.0f mm)\n", r.Name, 1000*(*r.Shift.Inboard), r.Shift.Verdict, 1000*(*r.Shift.Margin))
		}
	}
	// Output:
	// right wheel: 31 mm inboard, not judged (margin 15 mm)
}
