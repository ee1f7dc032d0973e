package main

import (
	"context"

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
	opt, err := o.survey.measure(false)
	if err != nil {
		return err
	}
	if err := o.uncertainty.add(&opt); err != nil {
		return err
	}
	_, err = o.structure.options(nil)
	return err
}

// read reads the planes, and with them settles how they are measured.
func (o *opening) read(ctx context.Context, e *env, files []string) ([]*wake.Plane, measure.Options, error) {
	planes, err := e.load(ctx, files, o.survey)
	if err != nil {
		return nil, measure.Options{}, err
	}
	opt, err := e.options(ctx, planes, o.survey)
	if err != nil {
		return nil, opt, err
	}
	err = o.uncertainty.add(&opt)
	return planes, opt, err
}
