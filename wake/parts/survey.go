package parts

import (
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// Survey finds the structures of a measured plane, hands them to its Result with
// the rule and the warnings, and returns the set; for a plane normal to z it does
// the same with the wake's edges, at the same threshold. What does not apply is nil:
// the set of a plane that is not normal to x, the view of one not normal to z, both
// of a plane without a weight. Errors are those of NewTopView.
func Survey(m *measure.Measurement, opt Options) (*Set, *TopView, error) {
	if m.Weight == nil || m.Plane.Normal != wake.AxisX && m.Plane.Normal != wake.AxisZ {
		return nil, nil, nil
	}
	f, r := NewField(m), m.Result
	if m.Plane.Normal == wake.AxisZ {
		if opt.Criterion == ByVorticity {
			opt.Threshold = 0
		}
		v, err := NewTopView(f, opt.Threshold)
		if err != nil {
			return nil, nil, err
		}
		r.TopView = &v.TopEdges
		return nil, v, nil
	}
	if opt.Criterion == ByVorticity && f.Vorticity == nil {
		r.Warnings = append(r.Warnings, wake.Doubt("no-structures", f.Name, "export all three velocities, or find structures by weight",
			"the plane lacks a cross-flow velocity, so no structures are found by %s", opt.Criterion))
		return nil, nil, nil
	}
	s := Find(f, opt)
	r.Structures = slices.Clone(s.Structures)
	r.StructureRule = &s.StructureRule
	r.Warnings = append(r.Warnings, s.Warnings...)
	return s, nil, nil
}
