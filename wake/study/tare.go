package study

import (
	"context"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
)

// readTares reads the surveys of the empty section: each file once, those of a
// configuration in place of the reference's.
func (r *runner) readTares(ctx context.Context) error {
	read := map[string][]*wake.Plane{}
	r.tares = make([][]*wake.Plane, len(r.c.Configurations))
	for k, cfg := range r.c.Configurations {
		names, of := r.c.Reference.Tare, ""
		if cfg.Tare != nil {
			names, of = cfg.Tare, cfg.Name
		}
		for _, name := range names {
			if _, ok := read[name]; !ok {
				err := r.enter(name, "tare", of)
				if err == nil {
					read[name], err = r.readFile(ctx, name, r.opts[k].Reference.Density)
				}
				if err != nil {
					return err
				}
			}
			r.tares[k] = append(r.tares[k], read[name]...)
		}
	}
	return nil
}

// take measures the plane of configuration k at station s, less the empty section
// where there is a survey of it at that station. Differences between configurations
// are left to the comparison, where what the empty section adds cancels.
func (r *runner) take(s, k int, p *wake.Plane, opt measure.Options) (*measure.Measurement, error) {
	if len(r.tares[k]) == 0 {
		return measure.Take(p, opt)
	}
	st := r.stations[s]
	empty := st.nearest(r.tares[k])
	if empty == nil && r.c.Planes != AtStations {
		return nil, wake.Refuse(p.Name(), "give a survey of the empty section at the same station", "a tare is named, but no plane of the empty section is normal to %s", p.Normal)
	}
	if empty == nil {
		m, err := measure.Take(p, opt)
		if err == nil {
			m.Result.Warnings = append(m.Result.Warnings, wake.Warning{
				Code: "no-tare", Where: p.Name(), Text: "a tare is named, but no survey of the empty section is at station \"" + st.Name + "\": nothing is taken off here",
				Cure: "survey the empty section at this station too",
			})
		}
		return m, err
	}
	return compare.Tare(p, empty, opt)
}
