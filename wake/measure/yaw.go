package measure

import (
	"math"

	"wakeledger/wake/uncertainty"
)

// References
//   - METHOD.md 1a, "Yawed onset": F_y = ∫ρu(V_y − v)dS on a plane normal to x, from the
//     same control volume as the drag; re-derived, no publication.

// SideDensity is the integrand of the side force toward +y over ½ρ∞U²: 2r u(V − v), with
// velocities over U and r the density over ρ∞. onset is V, the free stream's v. The
// integral has no pressure, since the plane is normal to x.
func SideDensity(r, u, v, onset float64) float64 { return 2 * r * u * (onset - v) }

// YawForces are the momentum integral's forces in yaw as areas, force over q: along the
// vehicle's x and y, and along the free stream and across it. A side force is positive
// toward +y; across the stream, toward the side on which +y is. Uncertainty holds
// sampling alone. F_y lacks −ρ⟨u'v'⟩, since no column holds it.
type YawForces struct {
	// Angle is that of the free stream to x about z, degrees, positive toward +y.
	Angle float64   `json:"yaw_deg"`
	Drag  BodyForce `json:"drag_body"`
	Side  BodyForce `json:"side_body"`
	// WindDrag = F_x cos β + F_y sin β, WindSide = F_y cos β − F_x sin β.
	WindDrag BodyForce `json:"drag_wind"`
	WindSide BodyForce `json:"side_wind"`
}

// BodyForce is a force over q, m², with what sampling leaves open.
type BodyForce struct {
	Area     float64            `json:"area_m2"`
	Cd       *float64           `json:"coefficient,omitempty"`
	Sampling uncertainty.Budget `json:"sampling"`
}

// yaw gives the forces in body and wind axes, or nil where the stream is along x. It
// needs momentum().
func (m *measuring) yaw() *YawForces {
	f := m.flow
	if m.opt.Yaw == 0 {
		return nil
	}
	sin, cos := math.Sincos(m.opt.Yaw * math.Pi / 180)
	force := func(x, y float64) BodyForce {
		at := func(i int) float64 {
			r, u, v, _, _ := f.at(i)
			return x*f.local(i) + y*f.norm*SideDensity(r, u, v, f.onset)
		}
		area := m.scale * m.whole.IntegrateFunc(at)
		return BodyForce{area, m.coefficient(area), uncertainty.NewBudget(m.scatterOf(at).Items(m.whole, m.scale)...)}
	}
	return &YawForces{
		Angle: m.opt.Yaw, Drag: force(1, 0), Side: force(0, 1),
		WindDrag: force(cos, sin), WindSide: force(-sin, cos),
	}
}
