package draft

import (
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"wakeledger/wake"
)

// endings of files are no words of their names; there may be two of them.
var endings = []string{".gz", ".zst", ".csv", ".txt", ".dat", ".tsv", ".raw", ".xy", ".vtk", ".vtp", ".vtu", ".vts", ".vtr", ".vti", ".npy", ".npz", ".state"}

// A word ends at a blank, a slash or an underscore, at a hyphen that is no sign of a number and
// at a dot that is in none.
var betweenWords = regexp.MustCompile(`[_ /]+|-+([^0-9]|$)|\.+([^0-9]|$)`)

// wordsOf parts a name into words.
func wordsOf(name string) []string {
	for range 2 {
		if ext := path.Ext(name); slices.Contains(endings, strings.ToLower(ext)) {
			name = strings.TrimSuffix(name, ext)
		}
	}
	return strings.Fields(betweenWords.ReplaceAllString(name, " $1$2"))
}

// without is a list without one of its elements.
func without(words []string, i int) []string { return slices.Delete(slices.Clone(words), i, i+1) }

// together puts one export in the place of those of the same planes whose names differ in one word,
// where join makes one of them.
func together(all []*export, join func(group []*export, word int) *export) (out []*export) {
	taken := map[*export]bool{}
	for _, e := range all {
		for i := 0; i < len(e.words) && !taken[e]; i++ {
			group := []*export{e}
			for _, o := range all {
				if o != e && !taken[o] && len(o.words) == len(e.words) && slices.Equal(without(o.words, i), without(e.words, i)) &&
					slices.Equal(o.at, e.at) && o.samples == e.samples {
					group = append(group, o)
				}
			}
			if len(group) == 1 {
				continue
			}
			if one := join(group, i); one != nil {
				for _, o := range group {
					taken[o] = true
				}
				out = append(out, one)
			}
		}
		if !taken[e] {
			out = append(out, e)
		}
	}
	return out
}

// parts joins files that hold different quantities, that with the velocity first; nil where they
// do not.
func parts(group []*export, word int) *export {
	slices.SortStableFunc(group, func(a, b *export) int { return int(b.has>>wake.U&1) - int(a.has>>wake.U&1) })
	out := *group[0]
	for _, o := range group[1:] {
		if out.has&o.has>>wake.U != 0 {
			return nil
		}
		// The reader looks for it beside the first.
		second, err := filepath.Rel(path.Dir(group[0].name), o.name)
		if err != nil {
			return nil
		}
		out.name += "+" + filepath.ToSlash(second)
		out.has |= o.has
	}
	out.files, out.words = len(group), without(out.words, word)
	return &out
}

// asSeries is how many files that differ in a number alone are snapshots.
const asSeries = 10

var number = regexp.MustCompile(`^[A-Za-z]{0,4}[0-9][0-9.]*$`)

// series makes a survey of snapshots; nil where they are none.
func (d *Draft) series(group []*export, word int) *export {
	var names []string
	for _, o := range group {
		if o.files > 1 || o.has != group[0].has || !number.MatchString(o.words[word]) {
			return nil
		}
		names = append(names, o.name)
	}
	out := *group[0]
	out.name = pattern(names, d.files)
	if len(group) < asSeries || out.name == "" {
		return nil
	}
	out.snapshots, out.words = true, without(out.words, word)
	return &out
}

// pattern is one with a star that matches these names and none else of all; empty where none does.
func pattern(names, all []string) string {
	if len(names) < 2 {
		return ""
	}
	head, tail, shortest := names[0], names[0], len(names[0])
	for _, n := range names[1:] {
		for !strings.HasPrefix(n, head) {
			head = head[:len(head)-1]
		}
		for !strings.HasSuffix(n, tail) {
			tail = tail[1:]
		}
		shortest = min(shortest, len(n))
	}
	// The star takes whole words where that is enough.
	inWord := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
	tail = strings.TrimLeftFunc(tail[max(0, len(head)+len(tail)-shortest):], inWord)
	for _, h := range []string{strings.TrimRightFunc(head, inWord), head} {
		p := h + "*" + tail
		if utf8.ValidString(p) && !slices.ContainsFunc(all, func(n string) bool {
			ok, err := path.Match(p, n)
			return err != nil || ok != slices.Contains(names, n)
		}) {
			return p
		}
	}
	return ""
}
