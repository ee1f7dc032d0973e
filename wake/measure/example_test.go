package measure_test

import (
	"context"
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
)

// The whole section behind the campus shuttle: its drag by the momentum integral; nothing is
// doubtful here. The force on the body was 2.144 m².
func ExampleTake() {
	samples, err := survey.Read(context.Background(), "../../examples/shuttle/bare_x+5.98_whole.csv.zst", survey.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	// Each sample of this export is the mean over a square.
	planes, err := wake.Planes(samples, wake.PlaneOptions{Support: grid.Cells, SupportBy: "caller"})
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := measure.Take(planes[0], measure.Options{
		Reference:   wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}, // pt∞ = p∞ + ½ρU²
		FrontalArea: 2.58,
		Section:     [2]float64{10.8, 6.9},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	d := m.Result.Drag
	fmt.Printf("%s: drag area %.2f m², C_D %.2f\n", d.Headline, d.Momentum.DragArea, *d.Momentum.Cd)
	for _, w := range m.Result.Warnings {
		fmt.Println(w.Code)
	}
	// Output:
	// momentum: drag area 2.14 m², C_D 0.83
}
