package measure

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// ReferenceFrom takes the reference state from a plane that no wake disturbs, such as an
// inlet or an empty section; file names it. Density and Yaw have to be set. Without a stated
// speed it is the uniform stream with the same flux of mass and of momentum,
//
//	U = mean u,  p∞ + ρU² = mean (p + ρu²),  pt∞ = p∞ + ½ρU²
//
// with a stated one p∞ = mean p, for which the static pressure alone is enough. Means are
// over area. In yaw (Options.Yaw, in degrees) U is the part along x, and the speed of the
// reference is |V∞| = U/cos β.
//
// The standard uncertainties of speed and pressure, unless they are stated, are those of the
// mean of the plane's four quarters, s/√4 with three degrees of freedom: 0 for a uniform inlet.
func (o *Options) ReferenceFrom(p *wake.Plane, file string) error {
	bad := func(text, cure string) error {
		return &wake.InputError{File: p.Name(), Text: text, Cure: cure}
	}
	r, found := &o.Reference, o.Reference.Speed == 0
	switch {
	case p.Normal != wake.AxisX:
		return bad("the reference plane is normal to "+p.Normal.String(), "a plane normal to x is expected")
	case !p.Has(wake.P):
		return bad("the reference plane lacks p", "export the static pressure")
	case found && !p.Has(wake.U):
		return bad("the reference plane lacks u", "export u too, or state the speed")
	case !(r.Density > 0) || math.IsInf(r.Density, 0):
		return refuse("give --density", "the reference plane needs a density")
	}
	cos := math.Cos(o.Yaw * math.Pi / 180)
	u, pr := p.Field[wake.U], p.Field[wake.P]
	stream := func(box *grid.Box) (speed, pressure, area float64) {
		s := quad.NewWeights(p.Mesh, box).IntegrateAll(3, func(i int, weight float64, s []float64) {
			s[0] += weight
			s[1] += weight * pr[i]
			if found {
				s[1] += weight * r.Density * u[i] * u[i]
				s[2] += weight * u[i]
			}
		})
		if !found {
			return r.Speed, s[1] / s[0], s[0]
		}
		speed = s[2] / s[0]
		return speed / cos, s[1]/s[0] - r.Density*speed*speed, s[0]
	}
	speed, pressure, area := stream(nil)
	if !(speed > 0) {
		return bad("the mean axial velocity of the reference plane is not positive", "declare the axes with --frame")
	}
	window := grid.Bounds(p.Mesh.Points)
	var us, ps []float64
	for k := range 4 {
		w, h := window.Width()/2, window.Height()/2
		at := grid.Point{X: window.Min.X + float64(k%2)*w, Y: window.Min.Y + float64(k/2)*h}
		q := grid.Box{Min: at, Max: grid.Point{X: at.X + w, Y: at.Y + h}}
		if u, pr, a := stream(&q); a > 0.01*area {
			us, ps = append(us, u), append(ps, pr)
		}
	}
	standard := func(stated float64, v []float64, rounding float64) (u, dof float64) {
		if s := uncertainty.NewSample(v); stated == 0 && s.Standard() > rounding {
			return s.Standard(), float64(len(v) - 1)
		}
		return stated, 0
	}
	of := &o.Uncertainty
	of.Speed, of.SpeedDOF = standard(of.Speed, us, 1e-9*speed)
	of.Pressure, of.PressureDOF = standard(of.Pressure, ps, 1e-9*r.Density*speed*speed)
	r.Speed, r.Pressure, r.TotalPressure = speed, pressure, math.NaN()
	how := "uniform stream with the mass and momentum of "
	if !found {
		how = "stated speed, mean static pressure of "
	}
	o.ReferenceBy = fmt.Sprintf("%s%s: U = %.6g m/s, u = %.2g; p∞ = %.6g Pa, u = %.2g; over %.4g m²", how, file, speed, of.Speed, pressure, of.Pressure, area)
	return nil
}
