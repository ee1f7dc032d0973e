package draft

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"path"
	"regexp"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
)

// place is where a plane lies.
type place struct {
	Normal   string  `json:"normal"`
	Position float64 `json:"position_m"`
	window   grid.Box
}

const (
	// near is how far planes of one station lie apart, m: what a study allows for.
	near = 0.02
	// sameWindow is how far the borders of two meshes of one window lie apart, as a part of its width.
	sameWindow = 0.1
	// asSeries is how many files that differ in a number alone are snapshots.
	asSeries = 10
)

func (a place) where() string { return fmt.Sprintf("%s = %.4g m", a.Normal, a.Position) }

func (a place) beside(b place) bool {
	return a.Normal == b.Normal && math.Abs(a.Position-b.Position) <= near
}

// same reports whether planes lie at one place and are of one window.
func (a place) same(b place) bool {
	w, h := sameWindow*(a.window.Max.X-a.window.Min.X), sameWindow*(a.window.Max.Y-a.window.Min.Y)
	off := func(p, q grid.Point) bool { return math.Abs(p.X-q.X) > w || math.Abs(p.Y-q.Y) > h }
	return a.beside(b) && !off(a.window.Min, b.window.Min) && !off(a.window.Max, b.window.Max)
}

var number = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// series puts one export in the place of files of one window whose names differ in one number, where
// a drag comes from each.
func (d *Draft) series(all []string) {
	groups := map[string][]*export{} // by pattern
	for _, e := range d.exports {
		if enough := e.holds(wake.U) && e.holds(wake.P) || e.holds(wake.Pt) || e.holds(wake.Cpt); !enough || len(e.planes) != 1 {
			continue
		}
		for _, at := range number.FindAllStringIndex(e.name, -1) {
			pattern := e.name[:at[0]] + "*" + e.name[at[1]:]
			groups[pattern] = append(groups[pattern], e)
		}
	}
	for _, pattern := range slices.Sorted(maps.Keys(groups)) {
		group := groups[pattern]
		first := group[0]
		other := func(e *export) bool {
			return e.snapshots > 0 || e.has != first.has || e.samples != first.samples || !first.planes[0].same(e.planes[0])
		}
		if len(group) < asSeries || slices.ContainsFunc(group, other) || !matches(pattern, all, len(group)) {
			continue
		}
		d.exports = slices.DeleteFunc(d.exports, func(e *export) bool { return slices.Contains(group[1:], e) })
		first.name, first.snapshots, first.words = pattern, len(group), wordsOf(strings.Replace(pattern, "*", "", 1))
	}
}

// matches reports whether so many of all names match a pattern.
func matches(pattern string, all []string, n int) bool {
	for _, name := range all {
		if ok, err := path.Match(pattern, name); ok && err == nil {
			n--
		}
	}
	return n == 0
}

// stations finds where planes lie, normal to x first, and gives each file its numbers.
func (d *Draft) stations() {
	for _, e := range d.exports {
		for _, p := range e.planes {
			k := slices.IndexFunc(d.Stations, func(s Station) bool { return s.same(p) })
			if k < 0 {
				k, d.Stations = len(d.Stations), append(d.Stations, Station{place: p})
			}
			if s := &d.Stations[k]; !slices.Contains(s.exports, e) {
				s.exports = append(s.exports, e)
			}
		}
	}
	slices.SortStableFunc(d.Stations, func(a, b Station) int {
		return cmp.Or(cmp.Compare(a.Normal, b.Normal), cmp.Compare(a.Position, b.Position))
	})
	var out []Station
	for _, s := range d.Stations {
		k := slices.IndexFunc(out, func(o Station) bool { return o.beside(s.place) && !apart(o.exports, s.exports) })
		if k < 0 {
			out = append(out, s)
			continue
		}
		for _, e := range s.exports {
			if !slices.Contains(out[k].exports, e) {
				out[k].exports = append(out[k].exports, e)
			}
		}
	}
	d.Stations = out
	for k, s := range d.Stations {
		for _, e := range s.exports {
			e.at = append(e.at, k)
		}
	}
}

// apart reports whether two windows at one place are two stations by the names of their files, and
// not windows of two configurations: snapshots beside a mean, a word that tells files of one window
// apart and is in the other too, or names that words are added to.
func apart(a, b []*export) bool {
	inA, inB := count(a), count(b)
	both, added := false, 0
	for w, n := range inA {
		m := inB[w]
		both = both || m > 0 && (n < len(a) || m < len(b))
		if m > 0 {
			added++
		}
	}
	return both || added == len(inA) || added == len(inB) || a[0].snapshots != b[0].snapshots
}

// count is how many of the files have a word in their names.
func count(files []*export) map[string]int {
	out := map[string]int{}
	for _, e := range files {
		for _, w := range slices.Compact(slices.Sorted(slices.Values(e.words))) {
			out[w]++
		}
	}
	return out
}

// literal takes what is a wildcard in a name as it is.
var literal = strings.NewReplacer("*", "[*]", "?", "[?]", "[", "[[]")

// files is a pattern for the base names of a station's files where others are at its place; own is
// of the station alone, all of the place.
func (d *Draft) files(s *Station) string {
	var own, all []string
	for _, o := range d.Stations {
		for _, e := range o.exports {
			if o.beside(s.place) {
				all = append(all, path.Base(e.name))
			}
			if o.place == s.place {
				own = append(own, path.Base(e.name))
			}
		}
	}
	if len(own) == len(all) {
		return ""
	}
	head, tail := own[0], own[0]
	for _, n := range own[1:] {
		for !strings.HasPrefix(n, head) {
			head = head[:len(head)-1]
		}
		for !strings.HasSuffix(n, tail) {
			tail = tail[1:]
		}
	}
	for _, p := range []string{literal.Replace(head), "*" + literal.Replace(tail), literal.Replace(head) + "*", literal.Replace(head) + "*" + literal.Replace(tail)} {
		if matches(p, own, len(own)) && matches(p, all, len(own)) {
			return p
		}
	}
	d.warn(guessed, s.where(), "no pattern tells the files of this window (%s, …) from those of another at this place: its station holds the first alone", own[0])
	return literal.Replace(own[0])
}
