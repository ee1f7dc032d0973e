package study

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey/settings"
)

// Expand puts the files that wildcards name (* ? and [a-z], as in a shell) in the place of
// these, among surveys, repeats, refinements, snapshots and force records; names are relative to dir. A file
// that has such a letter in its name is taken as it is. Numbers in names count by value: 2 comes
// before 10. The error (*wake.InputError) says which wildcard names nothing.
func (c *Config) Expand(dir string) error {
	var wrong error
	all := func(patterns []string) (files []string) {
		for _, p := range patterns {
			some, err := c.matches(dir, p)
			wrong = cmp.Or(wrong, err)
			files = append(files, some...)
		}
		return files
	}
	for k := range c.Configurations {
		cfg := &c.Configurations[k]
		for _, list := range []*[]Survey{&cfg.Surveys, &cfg.Repeats, &cfg.Refinements} {
			var out []Survey
			for _, s := range *list {
				if s.Files = all(s.Snapshots); s.File == "" {
					out = append(out, s)
					continue
				}
				for _, f := range all([]string{s.File}) {
					if !slices.ContainsFunc(out, func(o Survey) bool { return o.File == f }) {
						s.File = f
						out = append(out, s)
					}
				}
			}
			*list = out
		}
		if f := cfg.Force; f != nil {
			f.Records, f.Repeats = all(f.Records), all(f.Repeats)
		}
	}
	return wrong
}

// matches lists the files that a name of the study matches.
func (c *Config) matches(dir, name string) ([]string, error) {
	path := InFolder(dir, name)
	if _, err := os.Stat(path); err == nil || !strings.ContainsAny(name, "*?[") {
		return []string{name}, nil
	}
	if !filepath.IsAbs(name) && filepath.Separator == '/' {
		// No letter of the folder's own name is a wildcard.
		path = filepath.Join(regexp.MustCompile(`[*?[\\]`).ReplaceAllString(dir, `\$0`), name)
	}
	files, err := filepath.Glob(path)
	if err != nil {
		return nil, &wake.InputError{File: c.File, Text: fmt.Sprintf("%s is not a pattern: %v", settings.Quote(name), err), Cure: "* matches any letters, ? one, [ab] one of those"}
	}
	if len(files) == 0 {
		return nil, &wake.InputError{File: c.File, Text: "no file matches " + settings.Quote(name), Cure: "check the name; it is relative to the study file"}
	}
	slices.SortFunc(files, byNumber)
	if !filepath.IsAbs(name) {
		for i, f := range files {
			if rel, err := filepath.Rel(dir, f); err == nil {
				files[i] = filepath.ToSlash(rel)
			}
		}
	}
	return files, nil
}

// runs are those of digits and of other letters in a name.
var runs = regexp.MustCompile(`[0-9]+|[^0-9]+`)

// byNumber orders names by letters, with runs of digits by their value.
func byNumber(a, b string) int {
	return cmp.Or(slices.CompareFunc(runs.FindAllString(a, -1), runs.FindAllString(b, -1), func(p, q string) int {
		m, errM := strconv.ParseUint(p, 10, 64)
		n, errN := strconv.ParseUint(q, 10, 64)
		if errM == nil && errN == nil && m != n {
			return cmp.Compare(m, n)
		}
		return cmp.Compare(p, q)
	}), cmp.Compare(a, b))
}
