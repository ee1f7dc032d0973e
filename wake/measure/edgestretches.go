package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// stretches is how many parts the window's outline is cut into, to see whether what crosses it cancels and how the edges of two
// planes differ; the floor and a plane of symmetry take some of them.
const stretches = 16

// stretch is that of a sample: stretches are seen under equal angles from the middle of the window,
// as if it were square.
func (m *station) stretch(sample int32) int {
	w, at := m.window, m.mesh.Points[sample]
	turn := math.Atan2((at.Y-w.Min.Y)/w.Height()-0.5, (at.X-w.Min.X)/w.Width()-0.5)/(2*math.Pi) + 0.5
	return int(turn*stretches) % stretches
}

// cut is a sum over the edge's samples by stretches, with the variance that noise leaves in each.
type cut [stretches]struct{ sum, variance float64 }

// cutEdge cuts a sum of a field with weights, whose standard error noise makes; what the border's noise is
// in the median it is on each stretch, whose own samples are too few to tell. Nothing lies beyond the
// walls of a whole closed section, and what differs along them is no tail: it is one stretch.
func (m *station) cutEdge(of func(i int) float64, weight []float64, standard float64, whole bool) (c cut) {
	squares := floats.Dot(weight, weight)
	for k, s := range m.edge.samples {
		j := 0
		if !whole {
			j = m.stretch(s)
		}
		c[j].sum += weight[k] * of(int(s))
		if squares > 0 {
			c[j].variance += standard * standard * weight[k] * weight[k] / squares
		}
	}
	return c
}

// add adds by times another to it.
func (c *cut) add(by float64, d *cut) {
	for j := range c {
		c[j].sum += by * d[j].sum
		c[j].variance += d[j].variance
	}
}

// size is what the sum comes to where its stretches do not cancel: how deep the flow goes on like its
// edge is not the same on each side, so that what one side loses the others do not give back. It is
//
//	max(|Σ s_j|, Σ √max(s_j² − 4 v_j, 0))
//
// with the variance v of each s_j: a stretch counts for what it is beyond twice what noise makes of it, as
// in EdgesApart, so that noise alone opens no window; and where all have one sign, as on the tail of a wake,
// it is the size of the sum itself.
func (c *cut) size() float64 {
	var sum, alone float64
	for j := range c {
		sum += c[j].sum
		alone += math.Sqrt(math.Max(c[j].sum*c[j].sum-4*c[j].variance, 0))
	}
	return math.Max(math.Abs(sum), alone)
}
