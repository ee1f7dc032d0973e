package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// uncertaintyFlags state what is known of the inputs; the study file's
// [uncertainty] has the same words.
type uncertaintyFlags struct {
	speed, density, pressure, total, position, band, length string
	effective                                               float64
	independent                                             []string
	trials                                                  int
	steady                                                  bool
}

func addUncertaintyFlags(fs *pflag.FlagSet) *uncertaintyFlags {
	f := &uncertaintyFlags{}
	fs.StringVar(&f.speed, "u-speed", "", "standard uncertainty of the reference speed, for example 0.05 or \"0.2 %\"")
	fs.StringVar(&f.density, "u-density", "", "that of the reference density")
	fs.StringVar(&f.pressure, "u-pressure", "", "that of the reference pressure, in Pa or in % of the dynamic pressure")
	fs.StringVar(&f.total, "u-total-pressure", "", "that of the reference total pressure, likewise")
	fs.StringVar(&f.position, "u-position", "", "that of the whole survey's position, as a length, or in % as an error of scale")
	fs.StringVar(&f.band, "solution-band", "", "what another run of the solver changes, in % of the drag area, as a standard uncertainty; 0 states that it changes nothing")
	fs.BoolVar(&f.steady, "steady", false, "the planes are of converged steady solutions, which have no time average")
	fs.Float64Var(&f.effective, "effective-samples", 0, "`NUMBER` of independent samples in the time average, for its uncertainty from the stress columns")
	fs.StringVar(&f.length, "correlation-length", "", "`LENGTH` over which neighbouring means err together (default: the plane errs as one)")
	fs.StringSliceVar(&f.independent, "u-independent", nil, "`LIST` of inputs set anew for each survey: "+strings.Join(measure.InputNames, ", ")+" (default: position)")
	fs.IntVar(&f.trials, "trials", 0, "`NUMBER` of Monte Carlo trials to set beside the budget")
	return f
}

// add puts what is stated into the options; the reference has to be in them.
func (f *uncertaintyFlags) add(opt *measure.Options) error {
	u := &opt.Uncertainty
	u.EffectiveSamples, u.Trials, u.Steady = f.effective, f.trials, f.steady
	solution := 0.0
	if f.band != "" {
		u.Solution = &solution
	}
	if len(f.independent) > 0 {
		u.Independent = f.independent
	}
	q := opt.Reference.Dynamic()
	for _, v := range []struct {
		flag, text string
		dim        wake.Dimension
		whole      float64
		to         *float64
	}{
		{"u-speed", f.speed, wake.Velocity, opt.Reference.Speed, &u.Speed},
		{"u-density", f.density, wake.Density, opt.Reference.Density, &u.Density},
		{"u-pressure", f.pressure, wake.Pressure, q, &u.Pressure},
		{"u-total-pressure", f.total, wake.Pressure, q, &u.TotalPressure},
		{"u-position", f.position, wake.Length, 0, &u.Position},
		{"correlation-length", f.length, wake.Length, 0, &u.CorrelationLength},
		{"solution-band", f.band, wake.Dimensionless, 1, &solution},
	} {
		if v.text == "" {
			continue
		}
		dim := v.dim
		relative := strings.HasSuffix(strings.TrimSpace(v.text), "%")
		if relative {
			dim = wake.Dimensionless
		}
		x, err := value(v.flag, v.text, dim, "")
		if err != nil {
			return err
		}
		if !(x >= 0) {
			return &usageError{fmt.Sprintf("--%s %q is negative", v.flag, v.text), "zero or more is expected"}
		}
		switch {
		case relative && v.flag == "u-position":
			u.Scale = x
			continue
		case relative && v.flag == "correlation-length":
			return &usageError{fmt.Sprintf("--%s %q", v.flag, v.text), "a length is expected, as in \"0.1 m\""}
		case relative:
			x *= v.whole
		case v.flag == "solution-band" && x >= 1:
			return &usageError{fmt.Sprintf("--%s %q is the whole drag or more", v.flag, v.text), "write it in per cent, as in \"1 %\""}
		}
		*v.to = x
	}
	if err := u.Check(); err != nil {
		return &usageError{err.Error(), ""}
	}
	return nil
}
