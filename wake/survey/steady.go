package survey

import (
	"os"

	"wakeledger/grid"
	"wakeledger/wake"
)

// Steady notes size and time of files and returns a function that tells whether they
// are still the same: a file that is written or replaced while it is read gives samples
// of two exports at once. Files that are not there, pipes and the standard input, "-",
// are not judged.
func Steady(names ...string) (check func() error) {
	before := grid.Fill(len(names), func(i int) os.FileInfo { return regular(names[i]) })
	return func() error {
		for i, name := range names {
			if b := before[i]; b != nil {
				if a := regular(name); a == nil || !os.SameFile(a, b) || a.Size() != b.Size() || !a.ModTime().Equal(b.ModTime()) {
					return &wake.InputError{File: name, Text: "was changed while it was read", Cure: "wait until it is written, and run again"}
				}
			}
		}
		return nil
	}
}

func regular(name string) os.FileInfo {
	if name == "-" {
		return nil
	}
	info, err := os.Stat(name)
	if err != nil || !info.Mode().IsRegular() {
		return nil
	}
	return info
}
