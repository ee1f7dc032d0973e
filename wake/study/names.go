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

// short is the name of files without endings, and without their folders unless whole.
func (n Named) short(whole bool) string {
	var words []string
	for _, f := range n.Files {
		for _, end := range []string{".gz", ".zst", ".csv", ".txt", ".dat", ".tsv"} {
			f = strings.TrimSuffix(f, end)
		}
		if f = path.Clean(filepath.ToSlash(f)); !whole {
			f = path.Base(f)
		}
		words = append(words, f)
	}
	return strings.Join(words, "+") + n.Part
}

// ShortNames tell apart what is named, in titles, tables and file names: by the files' own names, with
// their folders where these are equal, and by a number where one file comes twice.
func ShortNames(list []Named) []string {
	out, whole := make([]string, len(list)), map[string]string{}
	alone := map[string]bool{} // short names of one thing
	for _, n := range list {
		s, w := n.short(false), n.short(true)
		before, known := whole[s]
		whole[s], alone[s] = w, !known || alone[s] && before == w
	}
	for k, n := range list {
		if out[k] = n.short(false); !alone[out[k]] {
			out[k] = n.short(true)
		}
		name := out[k]
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
