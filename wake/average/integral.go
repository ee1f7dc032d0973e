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
	for q := wake.X; q <= wake.Z; q++ {
		bare.Col[q] = s.Col[q]
	}
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
	spread, err := spreading(p, s)
	if err != nil {
		return nil, err
	}
	in.parts = append(in.parts, spread(quad.NewWeights(p.Mesh, nil)))
	for _, r := range opt.Regions {
		w := spread(quad.NewWeights(p.Mesh, &r.Box))
		if len(w.Index) == 0 {
			return nil, wake.Refuse(s.File, "give --region in m within the window", "region %q, %v, holds no part of the window %v", r.Name, r.Box, p.Mesh.Window())
		}
		in.parts = append(in.parts, w)
	}
	return in, nil
}

// spreading returns the function that takes weights of the mesh's samples to
// weights of the file's samples. Where positions are repeated the mesh has one sample,
// whose weight its repeats share.
func spreading(p *wake.Plane, s *wake.Samples) (func(quad.Weights) quad.Weights, error) {
	at := make(map[grid.Point]int32, len(p.Mesh.Points))
	for i, q := range p.Mesh.Points {
		at[q] = int32(i)
	}
	group := make([]int32, s.N)
	count := make([]float64, len(p.Mesh.Points))
	for i := range group {
		g, ok := at[grid.Point{X: s.Col[wake.Y][i], Y: s.Col[wake.Z][i]}]
		if !ok && p.Dropped > 0 {
			group[i] = -1 // a stray sample has no part in the integrals
			continue
		}
		if !ok {
			return nil, at1(s, i, "nearly repeats the position of another", "export the plane without overlaps")
		}
		group[i] = g
		count[g]++
	}
	return func(w quad.Weights) quad.Weights {
		share := make([]float64, len(p.Mesh.Points))
		for k, v := range w.Weight {
			i := w.Sample(k)
			share[i] = v / count[i]
		}
		out := quad.Weights{Index: []int32{}}
		for i, g := range group {
			if g >= 0 && share[g] != 0 {
				out.Index, out.Weight = append(out.Index, int32(i)), append(out.Weight, share[g])
			}
		}
		return out
	}, nil
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

// staticPressure works out p from what else a snapshot has, or returns nil.
// It must be done before averaging: the mean total pressure holds the kinetic
// energy of the fluctuations, which the mean velocities do not.
func staticPressure(s *wake.Samples, ref *wake.Freestream) []float64 {
	if s.Has(wake.P) || ref == nil {
		return nil
	}
	all := s.Has(wake.U, wake.V, wake.W)
	base, unit, kinetic := 0.0, 1.0, true
	var col []float64
	switch {
	case s.Has(wake.Cp):
		col, base, unit, kinetic = s.Col[wake.Cp], ref.Pressure, ref.Dynamic(), false
	case s.Has(wake.Pt) && all:
		col = s.Col[wake.Pt]
	case s.Has(wake.Cpt) && all:
		col, base, unit = s.Col[wake.Cpt], ref.Pressure, ref.Dynamic()
	default:
		return nil
	}
	out := make([]float64, s.N)
	for i, v := range col {
		out[i] = base + unit*v
		if kinetic {
			r := ref.Density
			if rho := s.Col[wake.Rho]; rho != nil {
				r = rho[i]
			}
			u, v, w := s.Col[wake.U][i], s.Col[wake.V][i], s.Col[wake.W][i]
			out[i] -= r / 2 * (u*u + v*v + w*w)
		}
	}
	return out
}
