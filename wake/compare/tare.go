package compare

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Tare measures a plane and takes the survey of the empty section off: the two are
// put on common samples and measured with the same options, and
//
//	drag area = I(plane) − I(empty)
//
// with I the momentum integral. By the momentum theorem that is the drag and what the
// body changes of the floor's friction, for displaced mass that leaves at U. The other
// form, each sample referred to the empty section's state at its place, is stated
// beside it (Result.Tare). The result is that of the plane on the common samples;
// where the two surveys do not have the same ones, the empty section is interpolated
// linearly at the plane's.
//
// A momentum integral that one of the two lacks leaves Result.Tare nil with a
// warning. Errors say why the two cannot be put together (*wake.InputError).
func Tare(plane, empty *wake.Plane, opt measure.Options) (*measure.Measurement, error) {
	common, how, warnings, err := commonPlanes([]*wake.Plane{plane, empty})
	if err != nil {
		return nil, err
	}
	own, err := measure.Take(common[0], opt)
	tare, errTare := measure.Take(common[1], opt)
	if err := cmp.Or(err, errTare); err != nil {
		return nil, err
	}
	r, e := own.Result, tare.Result
	warn := func(code, cure, format string, a ...any) {
		r.Warnings = append(r.Warnings, wake.Doubt(code, plane.Name(), cure, format, a...))
	}
	for _, w := range warnings {
		w.Text = "the empty section: " + w.Text
		r.Warnings = append(r.Warnings, w)
	}
	if how != sameSamples {
		warn("resampled", "survey the empty section at the same points",
			"the empty section %s does not have the samples of this plane; it was interpolated linearly at them", empty.Name())
	}
	local, ok := own.LocalReference(tare)
	if !ok || momentumOf(r) == nil || momentumOf(e) == nil {
		warn("no-tare", "give the pressure and all three velocities of both, on planes behind the body",
			"this plane or %s has no momentum integral: the empty section cannot be taken off", empty.Name())
		return own, nil
	}
	t := &measure.Tare{File: empty.Name(), Empty: e.Drag.Momentum.DragArea, LocalReference: local}
	t.DragArea = r.Drag.Momentum.DragArea - t.Empty
	t.Gap = t.LocalReference - t.DragArea
	if opt.FrontalArea > 0 {
		t.Cd = new(t.DragArea / opt.FrontalArea)
	}
	r.Tare = t
	if how != sameSamples {
		how = "the empty section interpolated at the plane's samples"
	}
	r.Method = append(r.Method, measure.Setting{Name: "tare", Value: "the empty section " + empty.Name() + " taken off: " + how})
	// The layer that was found in the plane is now taken off.
	r.Warnings = slices.DeleteFunc(r.Warnings, func(w wake.Warning) bool { return w.Code == measure.FloorLayerCode })
	for k, p := range []*wake.Plane{plane, empty} {
		if a, b := covered(p), covered(common[k]); math.Abs(a-b) > 1e-6*a {
			warn("tare-window", "survey the empty section in the same window", "the tare covers %.4f m2 of the %.4f m2 of %s", b, a, p.Name())
		}
	}
	if a, b := r.Reference, e.Reference; math.Abs(a.TotalPressure-b.TotalPressure) > 1e-9*a.Dynamic {
		d := (a.TotalPressure - b.TotalPressure) / a.Dynamic
		warn("tare-reference", "state one reference for both with --total-pressure, without --anchor edge",
			"the references of the two surveys differ by %+.3g %% of q (anchored, each on its own edge): that changes the difference by %+.4f m2", 100*d, 1000*d*a.Sensitivity)
	}
	return own, nil
}

// covered is the area that a plane's elements cover, m².
func covered(p *wake.Plane) float64 { return quad.NewWeights(p.Mesh, nil).Area() }
