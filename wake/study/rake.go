package study

import (
	"context"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey/rake"
)

// sameStream is how far the layout's nominal stream may be off the study's before the
// outcome says so: what the rounding of a stated speed brings.
const sameStream = 1e-3

// readRake reduces the log of a rake to a plane in the study's stream. Coefficients
// are the tunnel's own; speeds and pressures are theirs at the study's reference, so
// that tunnel and solver stand on one scale. A sample of a rake is a point, whatever
// those of a slice represent.
func (r *runner) readRake(ctx context.Context, v Survey, ref wake.Freestream) ([]*wake.Plane, *rake.Result, error) {
	var logs []rake.File
	for _, name := range v.Logs {
		logs = append(logs, rake.File{Path: r.path(name), Name: name})
	}
	res, err := rake.Read(ctx, logs, rake.File{Path: r.path(v.Layout), Name: v.Layout}, rake.Options{Worth: true, Speed: ref.Speed, Density: ref.Density})
	if err != nil {
		return nil, nil, err
	}
	if n := res.Reference.Speed; math.Abs(n/ref.Speed-1) > sameStream {
		res.Warnings = append(res.Warnings, wake.Doubt("nominal-stream", v.Name(), "state one speed in both, if they are the same stream",
			"the layout's nominal stream is %.5g m/s and the study's reference %.5g m/s: the rake's coefficients are used at the study's", n, ref.Speed))
	}
	if res.Kind != "plane" {
		return nil, nil, &wake.InputError{File: v.Name(), Text: "the log is of a single line, a study compares planes", Cure: "reduce it with the command rake"}
	}
	s := res.Survey(rake.Stream{Speed: ref.Speed, Dynamic: ref.Dynamic(), Pressure: ref.Pressure})
	planes, err := wake.Planes(s, wake.PlaneOptions{Support: grid.Nodes, SupportBy: "rake"})
	return planes, res, err
}
