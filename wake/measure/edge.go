package measure

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// Limits of the closing test.
const (
	// closesFree: the window closes in free air when the edge residual, held over
	// the whole window, is within this part of the drag.
	closesFree = 0.01
	// closesMass and closesNormal: the window is a whole closed section when the mass
	// defect is within this part of its area, and the flow through its border within
	// this part of U.
	closesMass   = 0.005
	closesNormal = 0.005
	// closesAnchored: an anchored edge has no residual by its making, so no more than
	// this part of U may pass through it either.
	closesAnchored = 0.01
	// floorReach: the lower border is the floor when it lies within this many sample
	// distances of z = 0.
	floorReach = 1.01
)

// openEdge lists the samples of the window's border strip, one sample distance
// wide, without the floor and, for a half plane, without the side on its plane of
// symmetry. onFloor says whether the lower side was taken for the floor, mirror which
// plane of symmetry was found.
func openEdge(p *wake.Plane, window grid.Box, h float64, floor string, half bool) (samples []int32, onFloor bool, mirror mirror) {
	if half && p.Normal == wake.AxisX {
		mirror = findMirror(window, h, floor)
	}
	onFloor = p.Normal == wake.AxisX && floor != "none" && mirror != mirrorZ && math.Abs(window.Min.Y) <= floorReach*h
	b := grid.Bounds(p.Mesh.Points)
	left, right := mirror != mirrorY || !(math.Abs(window.Min.X) <= floorReach*h), mirror != mirrorY || !(math.Abs(window.Max.X) <= floorReach*h)
	bottom := !onFloor && mirror != mirrorZ
	// On a lattice just the outermost lines are within half a distance of the border.
	in := h / 2
	if p.Mesh.Kind != grid.KindLattice {
		in = h
	}
	for i, q := range p.Mesh.Points {
		if left && q.X-b.Min.X < in || right && b.Max.X-q.X < in || b.Max.Y-q.Y < in || bottom && q.Y-b.Min.Y < in {
			samples = append(samples, int32(i))
		}
	}
	return samples, onFloor, mirror
}

// measureEdge states what crosses the open border. It needs momentum().
func measureEdge(p *wake.Plane, f *flow, w quad.Weights, window grid.Box, edge []int32, scatter *Scatter, dragArea, area float64) *Edge {
	e := &Edge{Points: len(edge)}
	if len(edge) == 0 {
		return e
	}
	var sum, strip, through quad.Sum
	for _, s := range edge {
		sum.Add(f.local(int(s)))
		strip.Add(w.Weight[s])
		q := p.Mesh.Points[s]
		_, _, v, up, _ := f.at(int(s))
		n := v
		if math.Min(window.Max.Y-q.Y, q.Y-window.Min.Y) < math.Min(window.Max.X-q.X, q.X-window.Min.X) {
			n = up
		}
		through.Add(n * n)
	}
	n := float64(len(edge))
	e.Residual = sum.Value() / n
	var sq quad.Sum
	for _, s := range edge {
		d := f.local(int(s)) - e.Residual
		sq.Add(d * d)
	}
	if n > 1 {
		e.SD = math.Sqrt(sq.Value() / (n - 1))
	}
	e.Strip = strip.Value()
	e.Effect = math.Abs(e.Residual) * e.Strip
	e.Normal = math.Sqrt(through.Value() / n)
	e.MassDefect = w.IntegrateFunc(func(i int) float64 { return 1 - f.u[i]/f.speed })
	switch {
	case math.Abs(e.Residual)*area <= closesFree*math.Abs(dragArea) && (f.ref.Anchor.Kind != "edge" || e.Normal <= closesAnchored):
		e.Closes = true
		e.Why = fmt.Sprintf("the edge residual over the whole window, %.3g m2, is within %g %% of the drag area", math.Abs(e.Residual)*area, 100*closesFree)
	case f.ref.Anchor.Kind != "edge" && e.withinScatter(scatter, edge):
		e.Closes = true
		e.Why = fmt.Sprintf("the edge residual %.2g is no more than three standard errors of the scatter of its %d samples", e.Residual, e.Points)
	case e.wholeSection(area):
		e.Closes = true
		e.Why = fmt.Sprintf("a whole closed section: mass defect %.2g of the area, %.2g U through the border", e.MassDefect/area, e.Normal)
	default:
		e.Why = fmt.Sprintf("edge residual %.4f over %.3g m2 is %.0f %% of the drag area, mass defect %.2g of the area, %.2g U through the border",
			e.Residual, area, 100*math.Abs(e.Residual)*area/math.Abs(dragArea), e.MassDefect/area, e.Normal)
	}
	return e
}

// wholeSection says whether the window looks like a whole closed section: what is
// missing in the wake passes beside it, and nothing through the border.
func (e *Edge) wholeSection(area float64) bool {
	return math.Abs(e.MassDefect) <= closesMass*area && e.Normal <= closesNormal
}

// withinScatter reports whether the residual is no more than what scatter from
// sample to sample makes of a mean of nought. What varies smoothly along the border
// is no scatter, and neither is a step that some samples stand beside: the scatter of
// the border is no more than its median tells (1.4826 of the median of the sizes is
// the standard deviation of a normal distribution).
func (e *Edge) withinScatter(scatter *Scatter, edge []int32) bool {
	r := make([]float64, len(edge))
	var sq float64
	for k, s := range edge {
		r[k] = scatter.residual[s]
		sq += r[k] * r[k]
	}
	typical := 1.4826 * grid.Median(r)
	n := float64(len(edge))
	sq = math.Min(sq, n*typical*typical)
	return sq > 0 && math.Abs(e.Residual)*n <= 3*math.Sqrt(sq)
}

// anchorEdge moves pt∞ to the mean total pressure of the open border samples, and
// with it, at p∞ as given, the speed that the integrands hang on. Areas are still
// formed with the nominal q.
func (f *flow) anchorEdge(edge []int32, off float64) wake.Anchor {
	if len(edge) == 0 || !f.hasLoss() {
		return wake.Anchor{Kind: "none"}
	}
	var sum quad.Sum
	for _, s := range edge {
		sum.Add(f.loss(int(s)))
	}
	shift := off - sum.Value()/float64(len(edge))*f.q
	head := f.ref.TotalPressure + shift - f.ref.Pressure
	if !(head > 0) {
		return wake.Anchor{Kind: "none"}
	}
	f.ref.TotalPressure += shift
	old := f.speed
	f.speed = math.Sqrt(2 * head / f.ref.Density / (1 + f.across()))
	f.dynamic = f.ref.Density / 2 * f.speed * f.speed
	f.norm, f.cptInf = f.dynamic/f.q, head/f.dynamic
	f.onset[0], f.onset[1] = f.onset[0]*old/f.speed, f.onset[1]*old/f.speed
	f.ref.Anchor = wake.Anchor{Kind: "edge", ShiftPa: shift, Points: len(edge), Speed: f.speed}
	return f.ref.Anchor
}
