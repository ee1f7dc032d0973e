package study

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

// Named is what a name is made for: the Files that are joined in it, and the Part that follows them.
type Named struct {
	Files []string
	Part  string
}

// short is the name of files without endings, with the last few of their folders.
func (n Named) short(folders int) string {
	var words []string
	for _, f := range n.Files {
		for _, end := range []string{".gz", ".zst", ".csv", ".txt", ".dat", ".tsv"} {
			f = strings.TrimSuffix(f, end)
		}
		way := strings.Split(path.Clean(filepath.ToSlash(f)), "/")
		words = append(words, strings.Join(way[max(0, len(way)-1-folders):], "/"))
	}
	return strings.Join(words, "+") + n.Part
}

// ShortNames tell apart what is named, in titles, tables and file names: by the files' own names, by
// as many of their folders as differ where these are equal, and by a number where one file comes twice.
func ShortNames(list []Named) []string {
	out := make([]string, len(list))
	for folders, left := 0, len(list); left > 0; folders++ {
		// whole is the whole name of each short one, empty for several.
		whole := map[string]string{}
		for _, n := range list {
			s, w := n.short(folders), n.short(1<<20)
			if before, ok := whole[s]; ok && before != w {
				w = ""
			}
			whole[s] = w
		}
		for k, n := range list {
			if s := n.short(folders); out[k] == "" && whole[s] != "" {
				out[k] = s
				left--
			}
		}
	}
	for k, name := range out {
		for i := 2; slices.Contains(out[:k], out[k]); i++ {
			out[k] = fmt.Sprintf("%s (%d)", name, i)
		}
	}
	return out
}

// planeNames are the ShortNames of planes.
func planeNames(planes []*wake.Plane) []string {
	var list []Named
	for _, p := range planes {
		n := Named{Files: []string{p.File}}
		if files, err := survey.Parts(p.File); err == nil {
			n.Files = files
		}
		if p.Part > 0 {
			n.Part = "_" + strconv.Itoa(p.Part)
		}
		list = append(list, n)
	}
	return ShortNames(list)
}
