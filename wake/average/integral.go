package average

import (
	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// integrals are the weights with which every snapshot is integrated. They are
// made once, since all snapshots have the same points.
type integrals struct {
	opt   Options
	parts []quad.Weights // whole, then regions
	// cutsBody: the whole plane has no total drag.
	cutsBody bool
}

// newIntegrals joins the samples, of which the positions are used alone.
func newIntegrals(s *wake.Samples, opt Options) (*integrals, error) {
	bare := &wake.Samples{File: s.File, N: s.N, CellValues: s.CellValues, LineOf: s.LineOf}
	copy(bare.Col[:wake.U], s.Col[:wake.U])
	// The group of a source of no errors tells which of the samples each one of the mesh is: of
	// repeated positions the first, since snapshots repeat values with positions.
	bare.Errors = []wake.SampleError{{Groups: s.N, Group: grid.Fill(s.N, func(i int) int32 { return int32(i) })}}
	planes, err := wake.Planes(bare, opt.Plane)
	if err != nil {
		return nil, err
	}
	if len(planes) > 1 {
		return nil, wake.Refuse(s.File, "average one plane at a time: export each into files of its own", "the file holds %d planes", len(planes))
	}
	p := planes[0]
	if p.Normal != wake.AxisX {
		return nil, wake.Refuse(s.File, "average it without --speed, --density and --pressure", "the plane is normal to %s, and no drag is carried by it", p.Normal)
	}
	in := &integrals{opt: opt, cutsBody: p.Mesh.CutsBody()}
	weights := func(box *grid.Box) quad.Weights {
		w := quad.NewWeights(p.Mesh, box)
		w.Index = grid.Fill(len(w.Weight), func(k int) int32 { return p.Errors[0].Group[w.Sample(k)] })
		return w
	}
	in.parts = append(in.parts, weights(nil))
	for _, r := range opt.Regions {
		w := weights(&r.Box)
		if len(w.Index) == 0 {
			return nil, wake.Refuse(s.File, "give --region in m within the window", "region %q, %v, holds no part of the window %v", r.Name, r.Box, p.Mesh.Window())
		}
		in.parts = append(in.parts, w)
	}
	return in, nil
}

// take integrates the momentum integrand: drag areas of the whole and of each region, m².
// uu is nil for an instantaneous field.
//
// The integrand −cp + 2r u(1−u) is quadratic in u and linear in p: the mean of the
// integrals is, for constant density, the integral of the mean plane with −2r<u'u'>/U².
func (in *integrals) take(u, p, rho, uu []float64) []float64 {
	ref := in.opt.Reference
	q := ref.Dynamic()
	scale := 1.0
	if in.opt.Half {
		scale = 2
	}
	out := make([]float64, len(in.parts))
	for k, part := range in.parts {
		out[k] = scale * part.IntegrateFunc(func(i int) float64 {
			r := 1.0
			if rho != nil {
				r = rho[i] / ref.Density
			}
			d := measure.MomentumDensity((p[i]-ref.Pressure)/q, r, u[i]/ref.Speed)
			if uu != nil {
				d += measure.TurbulenceTerm(r, uu[i]/(ref.Speed*ref.Speed))
			}
			return d
		})
	}
	return out
}

// staticPressure is p of a snapshot that has cp instead; nil without, and without a reference.
func staticPressure(s *wake.Samples, ref *wake.Freestream) []float64 {
	if s.Has(wake.P) || ref == nil || !s.Has(wake.Cp) {
		return nil
	}
	return grid.Fill(s.N, func(i int) float64 { return ref.Pressure + ref.Dynamic()*s.Col[wake.Cp][i] })
}
