package measure

import (
	"fmt"
	"sync"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// station is a plane ready to be integrated: its fields over the anchored reference, what
// follows from the places of its samples, the weight and the wake's region. Nothing is
// written to it once it is made.
type station struct {
	plane *wake.Plane
	// opt are the options with their defaults and the weight that is used; asked is the
	// weight that was asked for.
	opt   Options
	asked Weight
	flow  *flow
	*geometry
	// weight is nil where the plane has none.
	weight []float64
	scale  float64
	anchor wake.Anchor
	// cuts says that the plane cuts a body, refused that regions were left out.
	cuts, refused bool
	// along is alongEdge, made when first asked for.
	along func() [stretches]float64
}

// geometry is what a measurement takes from the places of the samples alone, so that
// measuring again with other values need not work it out anew.
type geometry struct {
	mesh   *grid.Mesh
	window grid.Box
	whole  quad.Weights
	// parts are the weights of the regions, in their order.
	parts []quad.Weights
	area  float64
	// spacing is the mesh's median sample distance.
	spacing float64
	edge    *border
	floor   bool
	mirror  bool
}

func newGeometry(p *wake.Plane, opt *Options) *geometry {
	g := &geometry{mesh: p.Mesh, window: p.Mesh.Window(), whole: quad.NewWeights(p.Mesh, nil), spacing: p.Mesh.Spacing()}
	g.area = g.whole.Area()
	g.edge, g.floor, g.mirror = openEdge(p, g.window, g.spacing, opt.Floor, opt.Half)
	for k := range opt.Regions {
		g.parts = append(g.parts, quad.NewWeights(p.Mesh, &opt.Regions[k].Box))
	}
	return g
}

// shared is what a measurement of the same plane with an input off takes over from the
// first: the geometry and the wake's region, nil to find them, and by how much the level
// that the edge is anchored on is off, Pa.
type shared struct {
	geometry  *geometry
	wake      *region
	anchorOff float64
}

func newStation(p *wake.Plane, opt Options, with shared) (*station, error) {
	if err := opt.Check(); err != nil {
		return nil, err
	}
	if len(opt.Thresholds) == 0 {
		opt.Thresholds = DefaultThresholds
	}
	s := &station{asked: opt.Weight, scale: 1}
	s.along = sync.OnceValue(s.alongEdge)
	if opt.Half {
		s.scale = 2
		if p.Normal == wake.AxisX {
			var err error
			if p, err = toMirror(p); err != nil {
				return nil, err
			}
		}
	}
	if len(opt.Regions) > 0 && (p.Normal == wake.AxisY || p.Normal == wake.AxisZ) {
		// Their limits are of y and z; in-plane axes of other planes are others.
		opt.Regions, s.refused = nil, true
	}
	s.plane, s.flow, s.geometry, s.cuts = p, newFlow(p, &opt), with.geometry, p.Mesh.CutsBody()
	if s.geometry == nil || s.geometry.mesh != p.Mesh {
		s.geometry = newGeometry(p, &opt)
	}
	s.anchor = wake.Anchor{Kind: AnchorNone}
	if opt.Anchor == AnchorEdge {
		s.anchor = s.flow.anchorEdge(s.edge, with.anchorOff)
	}
	s.weight = s.flow.weight(opt.Weight)
	if s.weight == nil {
		opt.Weight = WeightDeficit
		if s.flow.u == nil {
			opt.Weight = WeightTotalPressure
		}
		if s.weight = s.flow.weight(opt.Weight); s.weight == nil {
			opt.Weight = s.asked
		}
	}
	s.opt = opt
	s.flow.wake = s.wakeRegion(with.wake)
	return s, nil
}

// coefficient turns a drag area into C_D, or nil without a frontal area.
func (s *station) coefficient(dragArea float64) *float64 {
	if s.opt.FrontalArea == 0 {
		return nil
	}
	return new(dragArea / s.opt.FrontalArea)
}

// edgeLevel is what the weight is off on the open edge, for the reference is.
func (s *station) edgeLevel() float64 {
	level, _, _ := s.edge.level(func(i int) float64 { return s.weight[i] })
	return level
}

// result says what was measured, and how, without the numbers.
func (s *station) result() *Result {
	r, mesh := s.flow.ref, s.mesh
	return &Result{
		File:     s.plane.Name(),
		Station:  Station{Normal: s.plane.Normal.String(), Position: s.plane.Position, Scatter: s.plane.Scatter},
		Samples:  len(mesh.Points),
		Rejected: s.plane.Dropped + s.plane.Merged,
		Window:   windowOf(s.window),
		Reference: Reference{
			Speed: r.Speed, Density: r.Density, Pressure: r.Pressure, TotalPressure: r.TotalPressure,
			Dynamic: s.flow.q, Area: s.opt.FrontalArea, Anchor: s.anchor, Sensitivity: s.sensitivity(),
		},
		Mesh: MeshInfo{
			Kind: mesh.Kind.String(), Support: mesh.Support.String(), SupportBy: s.plane.SupportBy,
			Elements: mesh.Elements(), Area: s.area, Holes: mesh.Holes(), DroppedArea: mesh.DroppedArea,
			Spacing: s.spacing, CutsBody: s.cuts,
		},
	}
}

// sensitivity is Reference.Sensitivity.
func (s *station) sensitivity() float64 { return s.area * s.scale / 1000 }

func windowOf(b grid.Box) Window {
	return Window{Y: [2]float64{b.Min.X, b.Max.X}, Z: [2]float64{b.Min.Y, b.Max.Y}}
}

// settings lists the choices that the numbers depend on and that no other part of the result
// holds.
func (s *station) settings() []Setting {
	turb := "none: no stress column"
	switch {
	case s.flow.uu != nil && s.flow.uuScale == 1:
		turb = "normal stress <u'u'> from the file"
	case s.flow.uu != nil:
		turb = "isotropic, <u'u'> = 2k/3"
	case s.opt.Turbulence == TurbulenceNone:
		turb = "left out as asked"
	}
	sym := "full plane"
	if s.opt.Half {
		sym = "half plane about y = 0, drags and areas doubled"
	}
	out := []Setting{{"turbulence", turb}, {"symmetry", sym}}
	add := func(is bool, name, value string) {
		if is {
			out = append(out, Setting{name, value})
		}
	}
	add(s.weight != nil, "weight", s.opt.Weight.String()+": "+s.opt.Weight.Formula())
	if w := s.flow.wake; w != nil {
		add(true, "wake region", w.Rule)
	}
	add(s.opt.ReferenceBy != "", "reference", s.opt.ReferenceBy)
	add(s.opt.Yaw != 0, "yaw", fmt.Sprintf("%g degrees, positive where the free stream has a part toward +y; U is |V∞|, drag is along x", s.opt.Yaw))
	add(s.opt.PressureIncludesK, "pressure", "2/3 of density times k taken out")
	return out
}
