package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// FloorLayerCode is the code of the warning about a floor boundary layer; a tare
// answers it.
const FloorLayerCode = "floor-boundary-layer"

const (
	// layerDeficit is the loss of total pressure in the lowest row, over what is above
	// it, from which a boundary layer is suspected: for a 1/7 law it is reached 0.9
	// of the thickness up.
	layerDeficit = 0.03
	// layerEnd: the layer ends where the loss has fallen to this.
	layerEnd = 0.002
	// layerStrip is the part of the window's width that is looked at along each side.
	layerStrip = 0.1
)

// checkFloorLayer looks for a boundary layer on the floor: a loss of total pressure
// in the lowest rows that reaches all open lateral borders, where no wake should be,
// and that has gone within a quarter of the window's height. It is sized from there,
// held over the whole width: with g the loss over that at a quarter to a half of the
// height, at the pressure that is there,
//
//	∫ 2√(1−g) (1−√(1−g)) dS · width/strip
//
// which for a 1/7-power profile is twice its momentum thickness, 7δ/36, times the
// width (H. Schlichting, Boundary-Layer Theory, from memory).
func (m *measuring) checkFloorLayer() {
	if !m.floor {
		return
	}
	size, height, least, n := 0.0, 0.0, math.Inf(1), 0.0
	for k, at := range [2]float64{m.window.Min.X, m.window.Max.X} {
		if m.mirror && math.Abs(at) <= floorReach*m.spacing {
			continue
		}
		strip := m.window
		if k == 0 {
			strip.Max.X = at + layerStrip*strip.Width()
		} else {
			strip.Min.X = at - layerStrip*strip.Width()
		}
		deficit, top, drag, ok := m.floorLayer(strip)
		if !ok {
			return
		}
		size, height, least, n = size+drag, math.Max(height, top), math.Min(least, deficit), n+1
	}
	m.warn(FloorLayerCode, "survey the empty section and give it with --tare, or leave the lowest rows out of both",
		"the total pressure in the lowest rows is %.3g %% of q below that above them at the lateral borders too, up to z = %.3g m: a boundary layer on the floor, which counts as about %.4f m2 of drag area over the width of the window",
		100*least, height, m.scale*size/n)
}

// floorLayer is what a strip shows of a floor boundary layer: the loss in its lowest row, the
// height up to which there is one, m, and the drag area of a layer alike over the whole
// width, m²; ok is false where there is none, or where it is still there at a quarter of the
// height: that is no layer but the stream.
func (m *station) floorLayer(strip grid.Box) (deficit, height, size float64, ok bool) {
	f, h := m.flow, m.spacing
	rows := int(m.window.Height() / 4 / h)
	if !(1 <= rows && rows <= len(m.plane.Mesh.Points)) {
		return 0, 0, 0, false
	}
	// The loss and the area of each row, and of all those at a quarter to a half of the height.
	part := quad.NewWeights(m.plane.Mesh, &strip)
	row := func(i int) int { return int((m.plane.Mesh.Points[i].Y - m.window.Min.Y) / h) }
	sum := part.IntegrateAll(2*rows+2, func(i int, weight float64, s []float64) {
		if k := row(i); 0 <= k && k < 2*rows {
			k = 2 * min(k, rows)
			s[k] += weight * f.lossLike(i)
			s[k+1] += weight
		}
	})
	above := sum[2*rows] / sum[2*rows+1]
	head := f.cptInf*f.norm - above
	for k := range rows {
		loss, area := sum[2*k], sum[2*k+1]
		if area == 0 {
			continue
		}
		g := (loss/area - above) / head
		if deficit == 0 {
			deficit = g
		}
		switch {
		case !(deficit > layerDeficit):
			return 0, 0, 0, false
		case g <= layerEnd:
			size = part.IntegrateFunc(func(i int) float64 {
				s := math.Sqrt(math.Max(0, 1-(f.lossLike(i)-above)/head))
				if row(i) >= k {
					s = 1
				}
				return head * 2 * s * (1 - s)
			})
			return deficit, m.window.Min.Y + float64(k)*h, size * m.window.Width() / strip.Width(), true
		}
	}
	return 0, 0, 0, false
}
