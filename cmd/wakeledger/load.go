package main

import (
	"context"
	"fmt"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
)

// load reads files and recognises their planes.
func (e *env) load(ctx context.Context, names []string, f *surveyFlags) ([]*wake.Plane, error) {
	files, err := e.loadEach(ctx, names, f)
	return slices.Concat(files...), err
}

// loadEach reads files and recognises their planes, file by file.
func (e *env) loadEach(ctx context.Context, names []string, f *surveyFlags) ([][]*wake.Plane, error) {
	read, err := f.read()
	if err != nil {
		return nil, err
	}
	opt, err := f.plane()
	if err != nil {
		return nil, err
	}
	opt.Release = true
	progress := e.progress("reading", len(names))
	defer progress.done()
	hugePages(names)
	var files [][]*wake.Plane
	for _, name := range names {
		e.reads(name)
		s, err := average.Read(ctx, name, read)
		if err != nil {
			return nil, err
		}
		lean(s.N)
		e.clock.lap("read")
		p, err := wake.Planes(s, opt)
		if err != nil {
			return nil, err
		}
		e.clock.lap("mesh")
		files = append(files, p)
		progress.step()
	}
	return files, nil
}

// needFiles refuses a call with fewer arguments than the command needs.
func (e *env) needFiles(args []string, least int) error {
	if slices.Contains(args, "") {
		return &usageError{"an empty file name among the arguments", "usage: wakeledger " + e.command.name + " [flags] " + e.command.args}
	}
	e.reads(args...)
	if len(args) >= least {
		return nil
	}
	want := "a file"
	if least > 1 {
		want = fmt.Sprintf("%d files", least)
	}
	return &usageError{fmt.Sprintf("%s needs %s, %d given", e.command.name, want, len(args)), "usage: wakeledger " + e.command.name + " [flags] " + e.command.args}
}

// holdPressure reports whether any plane has a pressure of some kind.
func holdPressure(planes []*wake.Plane) bool {
	for _, p := range planes {
		if p.Has(wake.P) || p.Has(wake.Pt) || p.Has(wake.Cp) || p.Has(wake.Cpt) {
			return true
		}
	}
	return false
}

// options gives the options of measuring the planes of file k: with the reference from the
// plane that --reference names for it, if it does.
func (e *env) options(ctx context.Context, k int, planes []*wake.Plane, f *surveyFlags) (measure.Options, error) {
	opt, err := f.measure(k, holdPressure(planes))
	file := ofFile(f.reference, k)
	if err != nil || file == "" {
		return opt, err
	}
	ref, err := e.load(ctx, []string{file}, f)
	if err != nil {
		return opt, err
	}
	if len(ref) != 1 {
		return opt, &wake.InputError{File: file, Text: fmt.Sprintf("%d planes, the reference is one", len(ref)), Cure: "give a file with one plane"}
	}
	return opt, opt.ReferenceFrom(ref[0], file)
}
