package main

import (
	"fmt"
	"math"

	"github.com/spf13/pflag"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
)

// structureFlags say how parts of the wake are found and what their moves are set
// against.
type structureFlags struct {
	by                    string
	threshold, prominence float64
	width                 string
}

func addStructureFlags(fs *pflag.FlagSet) *structureFlags {
	f := &structureFlags{}
	fs.StringVar(&f.by, "structures", "weight", "find parts of the wake by weight, vorticity or swirl, or none")
	fs.Float64Var(&f.threshold, "structure-threshold", 0, "`LEVEL` that bounds a part (0: a weight of 0.1, or a tenth of the largest vorticity or swirl, 1/s)")
	fs.Float64Var(&f.prominence, "prominence", 0, "`PART` of its height by which a peak must rise above its saddle to be a part by itself (0: 0.05)")
	return f
}

// addWidthFlag adds what a comparison sets moves against.
func (f *structureFlags) addWidthFlag(fs *pflag.FlagSet) {
	fs.StringVar(&f.width, "width", "", "a tyre's or the vehicle's `WIDTH`, which moves are also given as a part of")
}

// options gives those of parts.Find, or nil where no structures are asked for.
func (f *structureFlags) options(regions []measure.Box) (*parts.Options, error) {
	opt := &parts.Options{Threshold: f.threshold, Prominence: f.prominence, Regions: regions}
	if !(f.threshold >= 0 && f.threshold <= math.MaxFloat64) {
		return nil, &usageError{fmt.Sprintf("--structure-threshold %g", f.threshold), "a positive level is expected, or 0"}
	}
	if !(f.prominence >= 0 && f.prominence < 1) {
		return nil, &usageError{fmt.Sprintf("--prominence %g", f.prominence), "a part between 0 and 1 is expected"}
	}
	switch f.by {
	case "none":
		return nil, nil
	case "weight":
	case "vorticity":
		opt.Criterion = parts.ByVorticity
	case "swirl":
		opt.Criterion = parts.BySwirl
	default:
		return nil, &usageError{fmt.Sprintf("--structures %q is not known", f.by), "weight, vorticity, swirl or none is expected"}
	}
	return opt, nil
}

// shift gives the options of the moves.
func (f *structureFlags) shift() (shift.Options, error) {
	var opt shift.Options
	if f.width == "" {
		return opt, nil
	}
	var err error
	if opt.Width, err = value("width", f.width, wake.Length, ""); err != nil {
		return opt, err
	}
	if !(opt.Width > 0) {
		return opt, &usageError{fmt.Sprintf("--width %q", f.width), "a positive length is expected"}
	}
	opt.WidthOf = fmt.Sprintf("width of %g m", opt.Width)
	return opt, nil
}
