package main

import (
	"context"
	"slices"

	"github.com/spf13/pflag"

	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// opening holds the flags that measure and compare share, and takes their first steps.
type opening struct {
	survey      *surveyFlags
	uncertainty *uncertaintyFlags
	structure   *structureFlags
	maps        *mapFlags
}

func addOpeningFlags(fs *pflag.FlagSet) *opening {
	return &opening{addSurveyFlags(fs), addUncertaintyFlags(fs), addStructureFlags(fs), addMapFlags(fs)}
}

// check finds the faults of the call and its flags, before a file is read.
func (o *opening) check(e *env, files []string, least int) error {
	if err := e.needFiles(files, least); err != nil {
		return err
	}
	if err := o.maps.check(e); err != nil {
		return err
	}
	if err := o.survey.perFiles(len(files)); err != nil {
		return err
	}
	for k := range files {
		opt, err := o.survey.measure(k, false)
		if err != nil {
			return err
		}
		if err := o.uncertainty.add(&opt); err != nil {
			return err
		}
	}
	_, err := o.structure.options(nil)
	return err
}

// read reads the planes, and settles how each is measured.
func (o *opening) read(ctx context.Context, e *env, files []string) (planes []*wake.Plane, opts []measure.Options, err error) {
	each, err := e.loadEach(ctx, files, o.survey)
	if err != nil {
		return nil, nil, err
	}
	var opt measure.Options
	for k, of := range each {
		if own := o.survey.own(); own || k == 0 {
			// What one file holds is asked of all that share a reference.
			all := of
			if !own {
				all = slices.Concat(each...)
			}
			if opt, err = e.options(ctx, k, all, o.survey); err != nil {
				return nil, nil, err
			}
			if err := o.uncertainty.add(&opt); err != nil {
				return nil, nil, err
			}
			if own {
				opt.OwnReference()
			}
		}
		for _, p := range of {
			planes, opts = append(planes, p), append(opts, opt)
		}
	}
	return planes, opts, nil
}
