package measure

import (
	"math"

	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// ReferenceFrom makes the reference state of a plane that no wake disturbs, such as
// an inlet or an empty section: the uniform stream with the same flux of mass and of
// momentum,
//
//	U = mean u,  p∞ + ρU² = mean (p + ρu²),  pt∞ = p∞ + ½ρU²
//
// Means are over area. The plane needs u and a static pressure. In yaw (Options.Yaw, in
// degrees) U is the part along x, and the speed of the reference is |V∞| = U/cos β.
func ReferenceFrom(p *wake.Plane, density, yaw float64) (wake.Freestream, error) {
	bad := func(text, cure string) error {
		return &wake.InputError{File: p.Name(), Text: text, Cure: cure}
	}
	switch {
	case p.Normal != wake.AxisX:
		return wake.Freestream{}, bad("the reference plane is normal to "+p.Normal.String(), "a plane normal to x is expected")
	case !p.Has(wake.U, wake.P):
		return wake.Freestream{}, bad("the reference plane lacks u or p", "export both")
	case !(density > 0) || math.IsInf(density, 0):
		return wake.Freestream{}, &wake.InputError{Text: "the reference plane needs a density", Cure: "give --density"}
	}
	w := quad.NewWeights(p.Mesh, nil)
	u, pr := p.Field[wake.U], p.Field[wake.P]
	sum := w.IntegrateAll(3, func(i int, weight float64, s []float64) {
		s[0] += weight
		s[1] += weight * u[i]
		s[2] += weight * (pr[i] + density*u[i]*u[i])
	})
	r := wake.Freestream{Speed: sum[1] / sum[0], Density: density}
	if !(r.Speed > 0) {
		return r, bad("the mean axial velocity of the reference plane is not positive", "declare the axes with --frame")
	}
	r.Pressure = sum[2]/sum[0] - density*r.Speed*r.Speed
	r.Speed /= math.Cos(yaw * math.Pi / 180)
	r.TotalPressure = r.Pressure + r.Dynamic()
	return r, nil
}
