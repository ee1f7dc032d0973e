package draft

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/force"
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

// join makes one survey of files with different quantities at the same points, whose names differ
// in one word; that with the velocity is first.
func (d *Draft) join() {
	slices.SortStableFunc(d.exports, func(a, b *export) int { return cmp.Compare(b.has>>wake.U&1, a.has>>wake.U&1) })
	var out []*export
	word := map[*export]int{} // that the names of joined files differ in
	for _, e := range d.exports {
		joined := false
		for _, o := range out {
			i, ok := differ(o.words, e.words)
			before, several := word[o]
			second, err := filepath.Rel(path.Dir(o.name), e.name) // the reader looks for it beside the first
			if joined = ok && err == nil && e.snapshots+o.snapshots == 0 && !(several && before != i) && slices.Equal(o.at, e.at) && o.samples == e.samples && o.has&e.has>>wake.U == 0; joined {
				o.name += "+" + filepath.ToSlash(second)
				o.has |= e.has
				word[o] = i
				break
			}
		}
		if !joined {
			out = append(out, e)
		}
	}
	for e, i := range word {
		e.words = slices.Delete(e.words, i, i+1)
	}
	d.exports = out
}

// differ is where two lists of words differ; ok is false unless that is in one place.
func differ(a, b []string) (at int, ok bool) {
	n := 0
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			at = i
			n++
		}
	}
	return at, n == 1 && len(a) == len(b)
}

// run is what the names of files take for one state of the vehicle.
type run struct {
	name   string
	words  []string
	files  []*export
	of     *Configuration
	repeat bool
}

// sort makes runs, and configurations of them: of the words of names those tell that some files at
// a station have and others have not.
func (d *Draft) sort() {
	beside := map[string][]*export{} // by stations
	with := count(d.exports)
	for _, e := range d.exports {
		key := fmt.Sprint(e.at)
		beside[key] = append(beside[key], e)
	}
	telling, told := map[string]bool{}, map[string]bool{}
	for key, files := range beside {
		for _, e := range files {
			for _, w := range e.words {
				if slices.ContainsFunc(files, func(o *export) bool { return !slices.Contains(o.words, w) }) {
					telling[w], told[key] = true, true
				}
			}
		}
	}
	runs := map[string]*run{}
	for _, e := range d.exports {
		keep := func(f func(w string) bool) []string {
			return slices.DeleteFunc(slices.Clone(e.words), func(w string) bool { return !f(w) })
		}
		own := func(w string) bool { return with[w] < len(d.exports) }
		words, name := keep(func(w string) bool { return telling[w] }), d.Title
		switch {
		case len(words) > 0 || len(telling) == 0:
		case told[fmt.Sprint(e.at)]:
			name = "base" // which the others' words are added to
		default:
			words = keep(own)
		}
		name = cmp.Or(strings.Join(words, " "), name)
		if runs[name] == nil {
			runs[name] = &run{name: name, words: words}
		}
		runs[name].files = append(runs[name].files, e)
		if len(e.at) == 1 {
			d.Stations[e.at[0]].words = keep(func(w string) bool {
				return !telling[w] && (own(w) || len(d.Stations) == 1 && len(telling) > 0) && !strings.ContainsAny(w, "0123456789")
			})
		}
	}
	d.configurations(shorter(runs))
}

// shorter leaves numbers out of the names of runs where these stay apart: the times of solutions.
func shorter(runs map[string]*run) map[string]*run {
	out := map[string]*run{}
	for _, r := range runs {
		words := slices.DeleteFunc(slices.Clone(r.words), func(w string) bool { return strings.Trim(w, "0123456789.") == "" })
		if name := strings.Join(words, " "); name != "" {
			out[name] = &run{name: name, words: words, files: r.files}
		}
	}
	if len(out) < len(runs) {
		return runs
	}
	return out
}

// Another run is one whose name says so, or ends with a number where there is one without.
var runName = regexp.MustCompile(`(?i)^(.*?)(?:(?:^|[ -])(?:run|rep|repeat)[ -]*[0-9]*|[ -]*([0-9]+))$`)

// configurations tells configurations from further runs of one.
func (d *Draft) configurations(runs map[string]*run) {
	all := map[string]*Configuration{}
	for _, name := range slices.Sorted(maps.Keys(runs)) {
		r, base := runs[name], name
		m := runName.FindStringSubmatch(name)
		byNumber := m != nil && m[2] != ""
		if m != nil && (!byNumber || runs[m[1]] != nil) {
			base = cmp.Or(m[1], d.Title)
		}
		if r.of, r.repeat = all[base], all[base] != nil; !r.repeat {
			r.of = &Configuration{Name: base}
			all[base], d.Configurations = r.of, append(d.Configurations, r.of)
		} else if byNumber {
			d.warn(guessed, base, "%s is taken as another run of %s by its name; if it is a configuration of its own, give it a [[configuration]]", name, base)
		}
		d.claims(r)
		d.runs = append(d.runs, r)
	}
}

// claims gives a configuration the files of a run; of two at one station the first counts.
func (d *Draft) claims(r *run) {
	taken := map[int]string{}
	var surveys []string
	inlet := ""
	for _, e := range r.files {
		twice := slices.IndexFunc(e.at, func(k int) bool { return taken[k] != "" })
		upstream := d.upstream(e)
		switch {
		case e.snapshots > 0 && (r.repeat || r.of.Snapshots != ""):
			d.warn(notUsed, e.name, "not used: snapshots of a further run, or beside those of another place, for which a study has no place")
		case upstream && inlet == "":
			inlet = e.name
		case upstream:
			d.warn(notUsed, e.name, "not used: another plane far upstream beside %s", inlet)
		case !e.holds(wake.U) && !e.holds(wake.Pt) && !e.holds(wake.Cpt):
			d.warn(notUsed, e.name, "not used: no velocity along x and no total pressure in it, nor a file with these at the same points")
		case twice >= 0:
			k := e.at[twice]
			d.warn(guessed, r.of.Name, "two files are %s at %s: %s is left out beside %s", r.name, d.Stations[k].where(), e.name, taken[k])
		default:
			for _, k := range e.at {
				taken[k], d.Stations[k].used = e.name, true
			}
			if e.snapshots > 0 {
				r.of.Snapshots = e.name
				d.warn(guessed, r.of.Name, "%d files are taken as snapshots of one flow: %s; if they are surveys of their own, list them", e.snapshots, e.name)
				continue
			}
			surveys = append(surveys, e.name)
		}
	}
	if !r.repeat {
		r.of.Surveys, r.of.Inlet = surveys, inlet
		return
	}
	for _, s := range surveys {
		d.inlets[s] = inlet
	}
	r.of.Repeats = append(r.of.Repeats, surveys...)
}

// upstream reports whether a file is one even plane with a pressure, ahead of all that the vehicle
// disturbs.
func (d *Draft) upstream(e *export) bool {
	if len(e.planes) != 1 || e.snapshots > 0 || !e.even || !e.holds(wake.P) || e.planes[0].Normal != "x" {
		return false
	}
	front := math.Inf(-1)
	for k, s := range d.Stations {
		if s.Normal == "x" && slices.ContainsFunc(d.exports, func(o *export) bool { return !o.even && slices.Contains(o.at, k) }) {
			front = s.Position
			break
		}
	}
	return e.planes[0].Position < front-near
}

// records gives each record to the run whose words its name has all of. A further run has one, beside
// that of the first.
func (d *Draft) records(dir string, all []*export) {
	further := map[*run][]string{}
	for _, r := range all {
		var best *run
		for _, t := range d.runs {
			lacks := slices.ContainsFunc(t.words, func(w string) bool {
				return !slices.ContainsFunc(r.words, func(o string) bool { return strings.EqualFold(o, w) })
			})
			if len(d.runs) == 1 || !lacks && len(t.words) > 0 && (best == nil || len(t.words) > len(best.words)) {
				best = t
			}
		}
		if best == nil {
			d.warn(notUsed, r.name, "not used: the record of a force, of no configuration by its name")
			continue
		}
		if best.repeat {
			further[best] = append(further[best], r.name)
			continue
		}
		var files []force.File
		for _, name := range append(best.of.Records, r.name) {
			files = append(files, force.File{Path: filepath.Join(dir, filepath.FromSlash(name)), Name: name})
		}
		if _, err := force.Read(files, anyForce); err != nil {
			d.warn(notUsed, r.name, "not used: another record of the force of %s, which does not join the first", best.of.Name)
			continue
		}
		best.of.Records = append(best.of.Records, r.name)
	}
	for _, r := range d.runs {
		of, names := r.of, further[r]
		if len(names) > 0 && len(of.Records) > 0 {
			of.ForceRepeats, names = append(of.ForceRepeats, names[0]), names[1:]
		}
		for _, name := range names {
			d.warn(notUsed, name, "not used: the record of the force of %s, another run of %s: a study takes one of each, where the first run has one", r.name, of.Name)
		}
	}
}
