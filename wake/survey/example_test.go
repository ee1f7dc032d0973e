package survey_test

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// Reading a file gives samples in SI; a plane is recognised among them. A fault names
// file, line and field.
func ExampleReadFrom() {
	text := `x [mm],y [mm],z [mm],u [km/h],p [hPa]
2500,-400,200,90,0
2500,0,200,72,-0.5
2500,400,200,90,0
2500,-400,600,90,0
2500,0,600,81,-0.25
2500,400,600,nan,0
`
	s, err := survey.ReadFrom(context.Background(), "wake.csv", strings.NewReader(text), survey.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d samples, %d rows left out, u = %g m/s and p = %g Pa in line %d\n", s.N, s.Dropped, s.Col[wake.U][1], s.Col[wake.P][1], s.LineOf(1))
	planes, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range planes {
		fmt.Printf("plane %s = %g m\n", p.Normal, p.Position)
	}

	_, err = survey.ReadFrom(context.Background(), "wake.csv", strings.NewReader("x,y,z,u\n1,0,0,fast\n1,1,0,20\n"), survey.Options{})
	var in *wake.InputError
	if errors.As(err, &in) {
		fmt.Printf("line %d, field %d: %s\n", in.Line, in.Column, in.Text)
	}
	// Output:
	// 5 samples, 1 rows left out, u = 20 m/s and p = -50 Pa in line 3
	// plane x = 2.5 m
	// line 2, field 4: "fast" is not a number (u)
}
