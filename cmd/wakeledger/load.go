package main

import (
	"context"
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
