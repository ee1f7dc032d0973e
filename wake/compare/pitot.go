package compare

import (
	"math"

	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// pitotAlone reports whether a survey has Jones's drag and no momentum integral.
func pitotAlone(d *measure.Drag) bool { return d.Jones != nil && d.Momentum == nil }

// pitot is the difference of Jones's integrals of two surveys by total-pressure tubes:
// what their samples do alike cancels, and the difference of the methods' spreads counts
// as in a single survey.
func (c *comparing) pitot(sa, sb *side, a, b *measure.Drag) *Delta {
	items := c.dragItems(sa, sb, nil, sa.Integrand(measure.ByJones), sb.Integrand(measure.ByJones))
	if a.Betz != nil && b.Betz != nil {
		spread := (b.Betz.DragArea - b.Jones.DragArea) - (a.Betz.DragArea - a.Jones.DragArea)
		items = append(items, uncertainty.HalfWidth("method, Jones or Betz", spread/2))
	}
	if a.Jones.Bracket != nil && b.Jones.Bracket != nil {
		// Each may have a static pressure of its own.
		half := math.Hypot(a.Jones.Bracket[1]-a.Jones.Bracket[0], b.Jones.Bracket[1]-b.Jones.Bracket[0]) / 2
		items = append(items, uncertainty.Item{Name: "unknown static pressure, cp within 0.1", Category: uncertainty.Reference, Kind: uncertainty.Independent, Standard: half / math.Sqrt(3), Distribution: uncertainty.Rectangular})
	}
	return c.delta(sa, sb, sa.Layout.Method(measure.ByJones), measure.ByJones, a.Jones.DragArea, b.Jones.DragArea, items)
}
