package study

import (
	"context"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
)

// readTares reads the surveys of the empty section.
func (r *runner) readTares(ctx context.Context) error {
	for _, name := range r.c.Reference.Tare {
		if err := r.enter("tare", "", name); err != nil {
			return err
		}
		planes, err := r.readFile(ctx, name, r.readOpt, r.opt.Reference.Density)
		if err != nil {
			return err
		}
		r.tares = append(r.tares, planes...)
	}
	return nil
}

// take measures a plane at station s, less the empty section
// where there is a survey of it at that station. Differences between configurations
// are left to the comparison, where what the empty section adds cancels.
func (r *runner) take(s int, p *wake.Plane, opt measure.Options) (*measure.Measurement, error) {
	st := r.stations[s]
	if empty := st.nearest(r.tares); empty != nil {
		return compare.Tare(p, empty, opt)
	}
	if len(r.tares) > 0 && r.c.Planes != AtStations {
		return nil, wake.Refuse(p.Name(), "give a survey of the empty section at the same station", "a tare is named, but no plane of the empty section is normal to %s", p.Normal)
	}
	m, err := measure.Take(p, opt)
	if err == nil && len(r.tares) > 0 {
		m.Result.Warnings = append(m.Result.Warnings, wake.Doubt("no-tare", p.Name(), "survey the empty section at this station too",
			"a tare is named, but no survey of the empty section is at station \"%s\": nothing is taken off here", st.Name))
	}
	return m, err
}
