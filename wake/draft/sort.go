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

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/force"
)

// near is how far planes of one station lie apart, m: what a study allows for.
const near = 0.02

// sameWindow is how far the borders of two meshes of one window lie apart, as a part of its width.
const sameWindow = 0.1

func (a place) beside(b place) bool {
	return a.normal == b.normal && math.Abs(a.position-b.position) <= near
}

// same reports whether planes lie at one place and are of one window.
func (a place) same(b place) bool {
	w, h := sameWindow*(a.window.Max.X-a.window.Min.X), sameWindow*(a.window.Max.Y-a.window.Min.Y)
	off := func(p, q grid.Point) bool { return math.Abs(p.X-q.X) > w || math.Abs(p.Y-q.Y) > h }
	return a.beside(b) && !off(a.window.Min, b.window.Min) && !off(a.window.Max, b.window.Max)
}

// stations finds where planes lie and gives each file its numbers. Planes at one place with
// windows of their own are of two stations.
func (d *Draft) stations() {
	var places []place
	for _, e := range d.exports {
		places = append(places, e.places...)
	}
	slices.SortStableFunc(places, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.normal, b.normal), cmp.Compare(a.position, b.position))
	})
	number := func(p place) int { return slices.IndexFunc(d.Stations, func(s Station) bool { return s.same(p) }) }
	for _, p := range places {
		if number(p) < 0 {
			d.Stations = append(d.Stations, Station{place: p, Normal: p.normal.String(), Position: p.position})
		}
	}
	for _, e := range d.exports {
		for _, p := range e.places {
			e.at = append(e.at, number(p))
		}
		slices.Sort(e.at)
		e.at = slices.Compact(e.at)
	}
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
	files, with, count := map[string]int{}, map[string]map[string]int{}, map[string]int{}
	for _, e := range d.exports {
		key := fmt.Sprint(e.at)
		if files[key]++; with[key] == nil {
			with[key] = map[string]int{}
		}
		for _, w := range slices.Compact(slices.Sorted(slices.Values(e.words))) {
			with[key][w]++
			count[w]++
		}
	}
	telling, told := map[string]bool{}, map[string]bool{}
	for key, words := range with {
		for w, n := range words {
			if n < files[key] {
				telling[w], told[key] = true, true
			}
		}
	}
	runs := map[string]*run{}
	for _, e := range d.exports {
		keep := func(f func(w string) bool) []string {
			return slices.DeleteFunc(slices.Clone(e.words), func(w string) bool { return !f(w) })
		}
		own := func(w string) bool { return count[w] < len(d.exports) }
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
	var surveys []*export
	inlet := ""
	for _, e := range r.files {
		twice := slices.IndexFunc(e.at, func(k int) bool { return taken[k] != "" })
		// One plane with a pressure, upstream of all that the vehicle disturbs.
		upstream := len(e.places) == 1 && e.places[0].normal == wake.AxisX && e.holds(wake.P) && e.even && e.places[0].position < d.foremost-near
		switch {
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
				taken[k] = e.name
			}
			surveys = append(surveys, e)
		}
	}
	if !r.repeat {
		r.of.surveys, r.of.Inlet = surveys, inlet
		return
	}
	for _, e := range surveys {
		e.inlet = inlet
	}
	r.of.repeats = append(r.of.repeats, surveys...)
}

// records gives each record to the configuration whose words its name has all of.
func (d *Draft) records(dir string, all []*record) {
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
		if best == nil || best.repeat {
			d.warn(notUsed, r.name, "not used: the record of a force, of no configuration by its name, or of a further run, for which a study has no place")
			continue
		}
		var files []force.File
		for _, name := range append(best.of.Records, r.name) {
			files = append(files, force.File{Path: filepath.Join(dir, filepath.FromSlash(name)), Name: name})
		}
		if _, err := force.Read(files, force.Options{Dynamic: 1, Area: 1}); err != nil {
			d.warn(notUsed, r.name, "not used: another record of the force of %s, which does not join the first", best.of.Name)
			continue
		}
		best.of.Records = append(best.of.Records, r.name)
		d.coefficient = d.coefficient || r.coefficient
	}
}

// tell names a station, and gives the pattern that tells its files from those of others at its place.
func (d *Draft) tell(k int) {
	s := &d.Stations[k]
	var own, all []string
	for _, e := range d.exports {
		for _, o := range e.at {
			if d.Stations[o].beside(s.place) {
				if all = append(all, path.Base(e.name)); o == k {
					own = append(own, path.Base(e.name))
				}
			}
		}
	}
	if len(own) < len(all) {
		s.Files = cmp.Or(pattern(own, all), own[0])
	}
	s.Name = cmp.Or(strings.Join(s.words, " "), s.where())
	for _, o := range d.Stations {
		if o.place != s.place && slices.Equal(o.words, s.words) {
			s.Name = strings.TrimSpace(s.where() + " " + strings.Join(s.words, " "))
			if o.beside(s.place) {
				s.Name += " " + s.Files
				break
			}
		}
	}
}
