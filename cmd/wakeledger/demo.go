package main

import (
	"cmp"
	"context"
	"io/fs"
	"path/filepath"

	"github.com/spf13/pflag"

	"wakeledger/examples/shuttle"
)

func runDemo(e *env, flags *pflag.FlagSet) work {
	var s studyFlags
	s.add(flags)
	flags.Lookup("out").Usage = "write the study and its results into the folder `DIR` (default: wakeledger-demo)"
	return func(ctx context.Context) error {
		dir := cmp.Or(e.out, "wakeledger-demo")
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
		text, err := shuttle.Files.ReadFile(shuttle.Study)
		if err != nil {
			return err
		}
		e.out = filepath.Join(dir, "ledger")
		return e.study(ctx, filepath.Join(dir, shuttle.Study), text, dir, s)
	}
}
