package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
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
	if !m.floor || m.plane.Normal != wake.AxisX {
		return
	}
	w := m.window
	size, height, least, n := 0.0, 0.0, math.Inf(1), 0.0
	for k, at := range [2]float64{w.Min.X, w.Max.X} {
		if m.mirror && math.Abs(at) <= floorReach*m.spacing {
			continue
		}
		strip := w
		if k == 0 {
			strip.Max.X = at + layerStrip*w.Width()
		} else {
			strip.Min.X = at - layerStrip*w.Width()
		}
		deficit, top, drag, ok := m.floorLayer(strip)
		if !ok {
			return
		}
		size, height, least, n = size+drag, math.Max(height, top), math.Min(least, deficit), n+1
	}
	if n == 0 {
		return
	}
	m.warn(FloorLayerCode, "survey the empty section and give it with --tare, or leave the lowest rows out of both",
		"the total pressure in the lowest rows is %.3g %% of q below that above them at the lateral borders too, up to z = %.3g m: a boundary layer on the floor, which counts as about %.4f m2 of drag area over the width of the window",
		100*least, height, m.scale*size/n)
}

// floorLayer is what a strip shows of a floor boundary layer: the loss in its lowest row, the
// height up to which there is one, m, and the drag area of a layer alike over the whole
// width, m²; ok is false where there is none.
func (m *station) floorLayer(strip grid.Box) (deficit, height, size float64, ok bool) {
	f := m.flow
	part := quad.NewWeights(m.plane.Mesh, &strip)
	h := m.spacing
	quarter := m.window.Height() / 4
	rows := int(quarter/h) + 1
	if !(rows >= 2) || rows > len(m.plane.Mesh.Points) {
		return 0, 0, 0, false
	}
	up := func(i int) float64 { return m.plane.Mesh.Points[i].Y - m.window.Min.Y }
	var level, over grid.Sum
	sums, areas := make([]float64, rows), make([]float64, rows)
	each := func(do func(i int, weight float64)) {
		for k, weight := range part.Weight {
			do(part.Sample(k), weight)
		}
	}
	each(func(i int, weight float64) {
		z := up(i)
		if z > quarter && z <= 2*quarter {
			level.Add(weight * f.lossLike(i))
			over.Add(weight)
		}
		if k := int(z / h); z >= 0 && k < rows {
			sums[k] += weight * f.lossLike(i)
			areas[k] += weight
		}
	})
	if !(over.Value() > 0) {
		return 0, 0, 0, false
	}
	above := level.Value() / over.Value()
	head := f.cptInf*f.norm - above
	first, top := true, -1.0
	for k := range rows {
		if areas[k] == 0 {
			continue
		}
		g := (sums[k]/areas[k] - above) / head
		if first {
			deficit, first = g, false
		}
		if !(deficit > layerDeficit) {
			return 0, 0, 0, false
		}
		if g <= layerEnd || g <= layerEnd*deficit {
			top = float64(k) * h
			break
		}
	}
	// One that is still there at a quarter of the height is no layer but the stream.
	if top < 0 {
		return 0, 0, 0, false
	}
	var sum grid.Sum
	each(func(i int, weight float64) {
		if up(i) >= top {
			return
		}
		if s := 1 - (f.lossLike(i)-above)/head; s > 0 {
			sum.Add(weight * head * 2 * math.Sqrt(s) * (1 - math.Sqrt(s)))
		}
	})
	return deficit, m.window.Min.Y + top, sum.Value() * m.window.Width() / strip.Width(), true
}
