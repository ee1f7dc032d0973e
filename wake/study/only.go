package study

import (
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey/settings"
)

// Part says what a run measured where it is a part of the study alone. Its numbers are those that
// the whole study has, save where these pool what is left out: the scatter from run to run over
// the repeats of all configurations, a change over all stations, the paths through them.
type Part struct {
	Configurations []string `json:"configurations"`
	Stations       []string `json:"stations"`

	station string // to keep, until all are known; empty for all
}

// Only keeps a part of the study, "CONFIGURATION,STATION" with either left out: the configuration
// with the baseline that it is compared with, at that station. The station is looked for when it
// is known where planes lie. The error (*wake.InputError) says that there is no such configuration.
func (c *Config) Only(what string) error {
	p := &Part{}
	name, names := "", c.names()
	for _, n := range names {
		// A name may have commas.
		if what == n || strings.HasPrefix(what, n+",") && len(n) > len(name) {
			name = n
		}
	}
	var ok bool
	if p.station, ok = strings.CutPrefix(strings.TrimPrefix(what, name), ","); !ok && what != name || what == "" {
		what, _, _ = strings.Cut(what, ",")
		_, cure := settings.Unknown(what, "configuration", names)
		return &wake.InputError{File: c.File, Text: fmt.Sprintf("--only names %s, which is no configuration", settings.Quote(what)), Cure: cure + `; a station alone follows a comma, as in ",near wake"`}
	}
	p.station = strings.TrimSpace(p.station)
	c.Configurations = slices.DeleteFunc(slices.Clone(c.Configurations), func(cfg Configuration) bool {
		return name != "" && cfg.Name != name && cfg.Name != c.Baseline
	})
	p.Configurations = c.names()
	if c.Quote != p.station && p.station != "" {
		c.Quote = ""
	}
	c.Part = p
	return nil
}

// keepPart leaves the stations out that the run is not of, and says what it is of.
func (r *runner) keepPart() error {
	if r.c.Part == nil {
		return nil
	}
	p := *r.c.Part
	var keep []int
	var all []string
	for s, st := range r.stations {
		if all = append(all, st.Name); p.station == "" || st.Name == p.station {
			keep, p.Stations = append(keep, s), append(p.Stations, st.Name)
		}
	}
	if keep == nil {
		return &wake.InputError{File: r.c.File, Text: fmt.Sprintf("--only names %s, which is no station", settings.Quote(p.station)), Cure: "one of " + strings.Join(all, ", ") + " is expected"}
	}
	r.stations, r.at = wake.At(r.stations, keep), wake.At(r.at, keep)
	p.station = ""
	r.out.Part = &p
	r.out.Title = strings.TrimSpace(r.out.Title + " (part: " + p.Words() + ")")
	return nil
}

// Words say what the part is of.
func (p *Part) Words() string {
	return strings.Join(p.Configurations, ", ") + " at " + strings.Join(p.Stations, ", ")
}
