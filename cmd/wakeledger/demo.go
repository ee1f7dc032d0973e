package main

import (
	"context"
	"io/fs"
	"path/filepath"

	"wakeledger/examples/shuttle"
)

func runDemo(ctx context.Context, e *env, args []string) error {
	flags := e.flags()
	var s studyFlags
	s.add(flags)
	if err := e.parse(flags, args); err != nil {
		return err
	}
	if e.out == "" {
		e.out = "wakeledger-demo"
	}
	dir := e.out
	o := newOutput()
	err := fs.WalkDir(shuttle.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := shuttle.Files.ReadFile(name)
		if err != nil {
			return err
		}
		o.add(name, b)
		return nil
	})
	if err != nil {
		return err
	}
	if err := o.write(dir, nil); err != nil {
		return err
	}
	e.out = filepath.Join(dir, "ledger")
	return e.study(ctx, filepath.Join(dir, shuttle.Study), o.data(shuttle.Study), dir, s)
}
