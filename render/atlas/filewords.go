package atlas

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"wakeledger/render/report"
	"wakeledger/wake/study"
)

// maxWord is the length of a word in a file name: names of 255 bytes are common, and
// other words stand around it.
const maxWord = 100

// FileWords makes words for file names of names, in small letters a to z, digits and
// .+_-, that all differ from each other and from those reserved. What was alike but for
// case or for other letters is numbered.
func FileWords(names []string, reserved ...string) []string {
	var out []string
	for _, name := range names {
		word := fileWord(name)
		w := word
		for k := 2; slices.Contains(reserved, w) || slices.Contains(out, w); k++ {
			w = fmt.Sprintf("%s-%d", word, k)
		}
		out = append(out, w)
	}
	return out
}

var unfit = regexp.MustCompile(`[^a-z0-9.+_]+`)

func fileWord(s string) string {
	w := strings.TrimLeft(unfit.ReplaceAllString(strings.ToLower(s), "-"), "-")
	return cmp.Or(strings.Trim(w[:min(len(w), maxWord)], "-."), "unnamed")
}

// shown is a name as a picture holds it: one that is longer would leave no room for the
// map.
func shown(name string) string { return report.Shorten(name, 48) }

// configurationWords are those of a study's configurations, by their names. The sheets of a
// station hold the word change.
func configurationWords(out *study.Outcome) map[string]string {
	var names []string
	for _, c := range out.Configurations {
		names = append(names, c.Name)
	}
	words := map[string]string{}
	for k, w := range FileWords(names, "change") {
		words[names[k]] = w
	}
	return words
}
