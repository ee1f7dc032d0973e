package main

import (
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// named is what a name is made for: the files that are joined in it, and which plane of them it is,
// 0 for the only one.
type named struct {
	files []string
	part  int
}

// short is the name of files without endings, with the last few of their folders.
func (n named) short(folders int) string {
	var words []string
	for _, f := range n.files {
		for _, end := range []string{".gz", ".zst", ".csv", ".txt", ".dat", ".tsv"} {
			f = strings.TrimSuffix(f, end)
		}
		way := strings.Split(path.Clean(filepath.ToSlash(f)), "/")
		words = append(words, strings.Join(way[max(0, len(way)-1-folders):], "/"))
	}
	s := strings.Join(words, "+")
	if n.part > 0 {
		s += "_" + strconv.Itoa(n.part)
	}
	return s
}

// shortNames tell apart what is named, in titles, tables and file names: by the files' own names, by
// as many of their folders as differ where these are equal, and by a number where one file comes twice.
func shortNames(list []named) []string {
	folders, out := make([]int, len(list)), make([]string, len(list))
	for more := true; more; {
		more = false
		for k, n := range list {
			out[k] = n.short(folders[k])
		}
		for k, name := range out {
			again := slices.Contains(out[:k], name) || slices.Contains(out[k+1:], name)
			if again && list[k].short(folders[k]+1) != name {
				folders[k]++
				more = true
			}
		}
	}
	for k, name := range out {
		for n := 2; slices.Contains(out[:k], out[k]); n++ {
			out[k] = fmt.Sprintf("%s (%d)", name, n)
		}
	}
	return out
}

// planeNames are the shortNames of planes.
func planeNames(planes []*wake.Plane) []string {
	var list []named
	for _, p := range planes {
		files, err := survey.Parts(p.File)
		if err != nil {
			files = []string{p.File}
		}
		list = append(list, named{files, p.Part})
	}
	return shortNames(list)
}
