package study

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey/settings"
)

// assign gives each plane to the nearest station of its kind within tolerance.
// Without stations in the file, the planes' own positions make them. Those that Only leaves out go
// with their planes.
func (r *runner) assign(context.Context) error {
	if r.c.Planes != AtStations {
		return r.direct()
	}
	stations := r.c.Stations
	if len(stations) == 0 {
		stations = r.foundStations()
	}
	r.stations = stations
	r.at = make([][]*wake.Plane, len(stations))
	for s := range stations {
		r.at[s] = make([]*wake.Plane, len(r.planes))
	}
	for k, planes := range r.planes {
		name := r.c.Configurations[k].Name
		for _, p := range planes {
			best := -1
			for s, st := range stations {
				nearer := best < 0 || math.Abs(p.Position-st.Position) < math.Abs(p.Position-stations[best].Position)
				if nearer && st.reaches(p) && takes(st, p) {
					best = s
				}
			}
			switch {
			case best < 0:
				r.warn("no-station", p.Name(), "add a [[station]] or its tolerance", "the plane at %s = %.4g m belongs to no station and is left out", p.Normal, p.Position)
			case r.at[best][k] != nil:
				r.warn("station-taken", p.Name(), "give each plane a station of its own, or list it as a repeat", "configuration %q already has %s at station %q; this plane is left out", name, r.at[best][k].Name(), stations[best].Name)
			default:
				r.at[best][k] = p
			}
		}
	}
	if err := r.keepPart(); err != nil {
		return err
	}
	for s, st := range r.stations {
		o := StationOutcome{Name: st.Name, Normal: st.Normal, Position: st.Position, Missing: []string{}, Variants: []string{}}
		for k, cfg := range r.c.Configurations {
			if r.at[s][k] == nil {
				o.Missing = append(o.Missing, cfg.Name)
			}
		}
		r.out.Stations = append(r.out.Stations, o)
	}
	r.missing()
	return r.reached()
}

// direct makes each plane that a command names a configuration, all at the station of the first, or
// each at one of its own.
func (r *runner) direct() error {
	var all []*wake.Plane
	var from []int // the configuration that a plane came with
	for k, of := range r.planes {
		cfg := &r.c.Configurations[k]
		if cfg.Force != nil && len(of) > 1 {
			return &wake.InputError{File: cfg.Name, Text: fmt.Sprintf("%d planes in the file: which of them the force record is of cannot be told", len(of)), Cure: "give files with one plane each"}
		}
		for _, p := range of {
			all, from = append(all, p), append(from, k)
		}
	}
	if len(all) == 0 {
		return nil
	}
	for _, k := range from {
		// What one file holds is asked of all that share a reference.
		cfg, of, stream := &r.c.Configurations[k], all, r.c.Reference.Stream
		if cfg.Own != nil {
			of, stream = r.planes[k], *cfg.Own
		}
		if key := stream.Into(&wake.Freestream{}, slices.ContainsFunc(of, holdsPressure)); key != "" {
			return r.lacks(key, cfg.Own != nil, cfg)
		}
	}
	c := *r.c
	c.Configurations = wake.At(c.Configurations, from)
	r.c, r.out.Configurations, r.opts = &c, wake.At(r.out.Configurations, from), wake.At(r.opts, from)
	r.repeats, r.refined = wake.At(r.repeats, from), wake.At(r.refined, from)
	for k, name := range planeNames(all) {
		c.Configurations[k].Name, r.out.Configurations[k].Name = name, name
	}
	c.Baseline, r.out.Baseline = c.Configurations[0].Name, c.Configurations[0].Name
	for k, p := range all {
		if k == 0 || c.Planes == Apart {
			st := Station{Name: fmt.Sprintf("%s = %.4g m", p.Normal, p.Position), Normal: p.Normal.String(), Position: p.Position, Tolerance: math.Inf(1)}
			r.stations, r.at = append(r.stations, st), append(r.at, make([]*wake.Plane, len(all)))
			r.out.Stations = append(r.out.Stations, StationOutcome{Name: st.Name, Normal: st.Normal, Position: st.Position, Missing: []string{}, Variants: []string{}})
		}
		r.at[len(r.at)-1][k] = p
	}
	if c.Planes == Together {
		r.stations[0].Tolerance = all[0].Mesh.Spacing()
	}
	for _, p := range slices.Concat(r.repeats[0]...) {
		if !r.stations[0].reaches(p) {
			return wake.Refuse(p.Name(), "give another run of the baseline at its station",
				"the repeat is at %s = %.4f m, the baseline at %s = %.4f m", p.Normal, p.Position, all[0].Normal, all[0].Position)
		}
	}
	return nil
}

func holdsPressure(p *wake.Plane) bool {
	return p.Has(wake.P) || p.Has(wake.Pt) || p.Has(wake.Cp) || p.Has(wake.Cpt)
}

// missing warns, once for each configuration, of the stations where it has no plane and the
// baseline has one, and of those where the baseline has none.
func (r *runner) missing() {
	for _, cfg := range r.c.Configurations {
		var at []string
		for _, st := range r.out.Stations {
			if slices.Contains(st.Missing, cfg.Name) && (cfg.Name == r.c.Baseline || !slices.Contains(st.Missing, r.c.Baseline)) {
				at = append(at, st.Name)
			}
		}
		if at != nil {
			r.warn("missing-station", cfg.Name, "add the survey to the configuration", "%s has no plane at %s: it is not compared there", cfg.Name, strings.Join(at, ", "))
		}
	}
}

// reached refuses a study in which no plane lies at any station, or of which the station to
// quote is none.
func (r *runner) reached() error {
	var places, names []string
	reached := false
	for s, st := range r.stations {
		reached = reached || slices.ContainsFunc(r.at[s], func(p *wake.Plane) bool { return p != nil })
		places = append(places, fmt.Sprintf("%s = %.4g m", st.Normal, st.Position))
		names = append(names, st.Name)
	}
	if q := r.c.Quote; q != "" && !slices.Contains(names, q) {
		return &wake.InputError{File: r.c.File, Text: fmt.Sprintf("quote is %s, which is no station", settings.Quote(q)), Cure: "one of " + strings.Join(names, ", ") + " is expected"}
	}
	if reached {
		return nil
	}
	var lie []string
	for _, list := range r.planes {
		for _, p := range list {
			if at := fmt.Sprintf("%s = %.4g m", p.Normal, p.Position); !slices.Contains(lie, at) {
				lie = append(lie, at)
			}
		}
	}
	return wake.Refuse(r.c.File, "correct the positions, or leave the stations out and the planes make them",
		"no plane lies at a station: the planes are at %s, the stations at %s", strings.Join(lie, ", "), strings.Join(places, ", "))
}

// reaches reports whether a plane lies at the station.
func (st *Station) reaches(p *wake.Plane) bool {
	return st.Normal == p.Normal.String() && math.Abs(p.Position-st.Position) <= st.Tolerance
}

// nearest is the plane that lies nearest to the station among those that reach it; nil for none.
func (st *Station) nearest(planes []*wake.Plane) (best *wake.Plane) {
	for _, p := range planes {
		if st.reaches(p) && (best == nil || math.Abs(p.Position-st.Position) < math.Abs(best.Position-st.Position)) {
			best = p
		}
	}
	return best
}

// takes reports whether the station's pattern lets the plane's file in.
func takes(st Station, p *wake.Plane) bool {
	if st.Files == "" {
		return true
	}
	ok, err := filepath.Match(st.Files, filepath.Base(p.File))
	return ok && err == nil
}

// foundStations makes a station of each place where planes lie.
func (r *runner) foundStations() []Station {
	var out []Station
	for _, planes := range r.planes {
		for _, p := range planes {
			if !slices.ContainsFunc(out, func(s Station) bool { return s.reaches(p) }) {
				out = append(out, Station{Name: fmt.Sprintf("%s = %.2f m", p.Normal, p.Position), Normal: p.Normal.String(), Position: p.Position, Tolerance: defaultTolerance})
			}
		}
	}
	slices.SortFunc(out, func(a, b Station) int {
		return cmp.Or(cmp.Compare(a.Normal, b.Normal), cmp.Compare(a.Position, b.Position))
	})
	return out
}
