package compare

import (
	"errors"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
)

// follow matches the structures of a variant with the baseline's and takes their
// moves, the exchange of drag, and for top views the moves of the edges.
func (c *comparing) follow(sb *side, v *Variant) (err error) {
	sa := c.sides[0]
	if sa.View != nil && sb.View != nil {
		if v.TopView, err = shift.Tops(sa.View, sb.View); err != nil {
			return err
		}
	}
	a, b := sa.Set, sb.Set
	if a == nil || b == nil {
		return nil
	}
	s := &Structures{Match: parts.Match(a, b), Shifts: []*shift.Shift{}, Foremost: []string{}}
	v.Structures = s
	if a.Criterion == parts.ByWeight {
		for _, p := range s.Match.Pairs {
			opt := c.opt.Moves
			opt.Items = c.moveItems(sb, c.partRepeats(p.A))
			opt.Own = sb.ownOff()[b.Index(p.B)] - sa.ownOff()[a.Index(p.A)]
			if i := slices.IndexFunc(c.opt.Measure.Regions, func(r measure.Box) bool { return r.Name == p.A }); i >= 0 {
				opt.Side = c.opt.Measure.Regions[i].Side
			}
			m, err := shift.Between(a, b, p.A, p.B, opt)
			if err != nil {
				// One part without a move is no reason to refuse the rest.
				v.Survey.Warnings = append(v.Survey.Warnings, doubt("no-move", p.A, "the move of this part of the wake cannot be measured", err))
				continue
			}
			s.Shifts = append(s.Shifts, m)
		}
		for _, i := range a.Beside() {
			if name := a.Structures[i].Name; s.Shift(name) != nil {
				s.Foremost = append(s.Foremost, name)
			}
		}
	}
	if sa.field.Local == nil || sb.field.Local == nil {
		return nil
	}
	v.Exchange = parts.NewLedger(a, b, s.Match, c.opt.Measure.Regions)
	v.Survey.Warnings = append(v.Survey.Warnings, v.Exchange.Warnings...)
	return nil
}

// doubt is the warning that something is not computable, with the cure that the error
// knows.
func doubt(code, where, what string, err error) wake.Warning {
	w := wake.Warning{Code: code, Where: where, Text: what + ": " + err.Error()}
	if in, ok := errors.AsType[*wake.InputError](err); ok {
		w.Text, w.Cure = what+": "+in.Text, in.Cure
	}
	return w
}

// Shift finds the move of the baseline's part with the given name; nil for none.
func (s *Structures) Shift(name string) *shift.Shift {
	for _, m := range s.Shifts {
		if m.A == name {
			return m
		}
	}
	return nil
}

// threshold is that of the weight which moves are measured with: the structures', or
// that of parts found by weight where they were found by something else.
func threshold(s *parts.Set) float64 {
	if s.Criterion == parts.ByWeight && s.Threshold > 0 {
		return s.Threshold
	}
	return parts.DefaultThreshold
}

// fourWays adds to a shift what the outline, the profile and registration say of the
// same box. Where they are not computable a warning of the variant says why.
func (c *comparing) fourWays(s *Shift, common float64, b *side, region int, box *grid.Box, side string) {
	a, r := c.sides[0], b.Result
	if a.field == nil || b.field == nil {
		return
	}
	name := "the plane's wake"
	if region != measure.Whole {
		name = c.opt.Measure.Regions[region].Name
	}
	opt := c.opt.Moves
	opt.Side, opt.Items, opt.Own = side, c.moveItems(b, c.boxRepeats(region)), s.Centroid[0]-common
	w, err := shift.InBox(a.field, b.field, name, box, threshold(a.Set), opt)
	if err != nil {
		r.Warnings = append(r.Warnings, doubt("no-four-ways", name, "the move in the box cannot be measured in four ways", err))
		return
	}
	s.FourWays = w
	for i := range w.Moves {
		switch v := &w.Moves[i]; v.Measure {
		case shift.MeasureEdge:
			s.EdgeInboard = v.Inboard
		case shift.MeasureRegistration:
			if v.Vertical != nil {
				s.Registration = &[2]float64{v.Lateral, *v.Vertical}
			}
		}
	}
}
