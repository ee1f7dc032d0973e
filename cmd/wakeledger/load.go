package main

import (
	"context"
	"fmt"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/average"
)

// load reads files and recognises their planes.
func (e *env) load(ctx context.Context, names []string, s *stated) ([]*wake.Plane, error) {
	files, err := e.loadEach(ctx, names, s)
	return slices.Concat(files...), err
}

// loadEach reads files and recognises their planes, file by file.
func (e *env) loadEach(ctx context.Context, names []string, s *stated) ([][]*wake.Plane, error) {
	read, opt := s.Read("flag"), s.Plane("flag")
	opt.Release = true
	progress := e.progress("reading", len(names))
	defer progress.done()
	hugePages(names)
	var files [][]*wake.Plane
	for _, name := range names {
		e.reads(name)
		samples, err := average.Read(ctx, name, read)
		if err != nil {
			return nil, err
		}
		lean(samples.N)
		e.clock.lap("read")
		p, err := wake.Planes(samples, opt)
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
