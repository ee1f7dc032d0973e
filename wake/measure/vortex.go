package measure

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"wakeledger/grid"
	"wakeledger/grid/poisson"
	"wakeledger/wake"
)

// References:
//
//	[maskell]  E. C. Maskell, Progress towards a method for the measurement of the
//	           components of the drag of a wing of finite span, RAE TR 72232 (1973)
//	           (from memory).
//	[brune]    G. W. Brune, Quantitative low-speed wake surveys, J. Aircraft 31
//	           (1994) 249.
//	[elrefaee] M. M. Elrefaee, Appl. Sci. Res. 55 (1995) 119: vortex and source parts
//	           in tunnels, wing and car.

// Boundary says what surrounds the flow that the vorticity induces.
type Boundary string

const (
	// FreeAir: nothing; ψ and φ of the plane without walls.
	FreeAir Boundary = "free air"
	// SectionWalls: four solid walls, ψ = 0 and ∂φ/∂n = 0.
	SectionWalls Boundary = "section walls"
	// GroundImage: a floor under free air, by images: vorticity with the opposite
	// sign, source with the same.
	GroundImage Boundary = "ground image"
)

// VortexOptions configure VortexDrag.
type VortexOptions struct {
	// Speed is the reference U, m/s.
	Speed float64
	// Boundary is FreeAir when empty.
	Boundary Boundary
	// Section is the box that the walls enclose, for SectionWalls. The floor of
	// GroundImage is at z = 0.
	Section grid.Box
	// Half says that the plane holds one side of a flow that is symmetric about y = 0.
	// The other side is added by reflection and results are those of the whole flow; a
	// Section is that of the whole flow too.
	Half bool
	// Spacing is the widest spacing of the lattice that a plane without even spacing
	// of its own is resampled to, m; 0 means the mesh's median sample distance.
	Spacing float64
}

// Vortex has the parts of the cross-flow drag, as drag areas D/q in m².
type Vortex struct {
	Boundary Boundary
	// DragArea is ∫ψξ dS/U², the vortex drag.
	DragArea float64
	// Source is −∫φσ dS/U²: displacement flow near the body, mostly cancelled by the
	// axial term of the momentum integral. It is no part of a vortex drag.
	Source float64
	// Window is ∫(v²+w²)dS/U² over the window alone.
	Window float64
	// Circulation is ∫ξ dS and Gross ∫|ξ| dS, m²/s; Outflow is ∫σ dS, m²/s.
	Circulation, Gross, Outflow float64
	// Resampled says that the plane was interpolated to the lattice of the solution,
	// which has Places samples.
	Resampled bool
	Places    int
	// Missing counts the samples inside the window whose vorticity is not known and was
	// taken as zero.
	Missing  int
	Warnings []wake.Warning
}

// slopes gives on a uniform lattice the streamwise vorticity ξ = ∂w/∂y − ∂v/∂z and the
// source σ = ∂v/∂y + ∂w/∂z, 1/s. NaN spreads to the samples whose differences touch it.
func slopes(l poisson.Lattice, v, w []float64) (curl, divergence []float64, err error) {
	vy, vz, err := poisson.Slopes(l, v)
	if err != nil {
		return nil, nil, err
	}
	wy, wz, err := poisson.Slopes(l, w)
	for k := range wy {
		wy[k] -= vz[k]
		vy[k] += wz[k]
	}
	return wy, vy, err
}

// VortexDrag splits the energy of the cross-flow [maskell, brune, elrefaee]. With
// ∇²ψ = −ξ and ∇²φ = σ under the boundary chosen, v = ∂ψ/∂z + ∂φ/∂y and w =
// −∂ψ/∂y + ∂φ/∂z, and
//
//	½ρ∫(v²+w²)dS = ½ρ∫ψξ dS − ½ρ∫φσ dS
//
// over all of the flow inside the boundary, from vorticity and source inside the
// window alone: cross-flow beyond the window is counted, vorticity beyond it is
// not. The density is taken as uniform.
//
// The plane must be normal to x and have v and w. One with even spacing is used as it
// is, any other is resampled (linear, second order). Where the plane has openings or
// NaN, vorticity next to them is zero and a warning says so. Errors are
// *wake.InputError.
func VortexDrag(p *wake.Plane, opt VortexOptions) (*Vortex, error) {
	if opt.Boundary == "" {
		opt.Boundary = FreeAir
	}
	if err := opt.check(p); err != nil {
		return nil, err
	}
	c, err := newCrossflow(p, &opt)
	if err == nil {
		err = c.solve(&opt)
	}
	if err != nil {
		if _, ok := err.(*wake.InputError); ok {
			return nil, err
		}
		return nil, &wake.InputError{
			File: p.Name(), Text: strings.TrimPrefix(err.Error(), poisson.ErrUnusable.Error()+": "),
			Cure: "the vortex drag needs an even lattice of at least 5 × 5 samples inside its boundary",
		}
	}
	return c.out, nil
}

// room is where the flow is.
func (o *VortexOptions) room() grid.Box {
	room := grid.Box{Min: grid.Point{X: math.Inf(-1), Y: math.Inf(-1)}, Max: grid.Point{X: math.Inf(1), Y: math.Inf(1)}}
	switch o.Boundary {
	case SectionWalls:
		return o.Section
	case GroundImage:
		room.Min.Y = 0
	}
	return room
}

// check refuses samples that lie where no flow is.
func (o *VortexOptions) check(p *wake.Plane) error {
	samples, room := grid.Bounds(p.Mesh.Points), o.room()
	slack := 1e-5 * (samples.Width() + samples.Height())
	inner := grid.Box{Min: grid.Point{X: samples.Min.X + slack, Y: samples.Min.Y + slack}, Max: grid.Point{X: samples.Max.X - slack, Y: samples.Max.Y - slack}}
	switch {
	case !room.ContainsBox(inner):
		return &wake.InputError{File: p.Name(), Text: fmt.Sprintf("the samples at %v reach out of the section or below the ground", samples), Cure: "check the section's size and the plane's origin"}
	case o.Half && inner.Min.X < 0 && inner.Max.X > 0:
		return &wake.InputError{File: p.Name(), Text: fmt.Sprintf("a half plane lies on one side of y = 0, but the samples run from %g m to %g m", samples.Min.X, samples.Max.X), Cure: "leave out --symmetry half, or cut the plane at y = 0"}
	}
	return nil
}

// crossflow is the cross-flow on a uniform lattice inside the window, with NaN where
// it is not known.
type crossflow struct {
	name string
	l    poisson.Lattice
	v, w []float64
	// domain is the lattice that is solved on; sample (0, 0) of l is its sample (di, dj).
	domain poisson.Lattice
	di, dj int
	out    *Vortex
}

// warn adds a doubt.
func (c *crossflow) warn(code, cure, format string, a ...any) {
	c.out.Warnings = append(c.out.Warnings, wake.Warning{Code: code, Where: c.name, Text: fmt.Sprintf(format, a...), Cure: cure})
}

// onLine is how far a line may lie from its place, as a part of the spacing, and
// still count as being on it: text with four decimals puts lines 10 mm apart up to
// half of this off.
const onLine = 0.01

// newCrossflow brings the plane to an even lattice that fits the boundary and, for a
// half plane, adds the other half.
func newCrossflow(p *wake.Plane, opt *VortexOptions) (*crossflow, error) {
	c := &crossflow{name: p.Name(), out: &Vortex{Boundary: opt.Boundary}}
	if l, order, ok := poisson.FromMesh(p.Mesh); ok {
		pick := func(f []float64) []float64 {
			out := make([]float64, len(order))
			for k, s := range order {
				out[k] = f[s]
			}
			return out
		}
		c.l, c.v, c.w = l, pick(p.Field[wake.V]), pick(p.Field[wake.W])
		if (!opt.Half || c.reflect()) && c.place(opt) {
			return c, nil
		}
	}
	return c, c.resample(p, opt)
}

// resample interpolates the plane to a lattice made for the boundary.
func (c *crossflow) resample(p *wake.Plane, opt *VortexOptions) (err error) {
	c.out.Resampled = true
	h := opt.Spacing
	if h == 0 {
		h = p.Mesh.Spacing()
	}
	box := p.Mesh.Window().Intersect(opt.room())
	if opt.Half && box.Centre().X > 0 {
		box.Min.X = 0
	} else if opt.Half {
		box.Max.X = 0
	}
	whole := box
	if opt.Boundary == SectionWalls {
		whole = opt.Section
	}
	// More than so much coarser resolves nothing, and what follows refuses it.
	const most = 8.1 // a little above √(poisson.MaxSamples/grid.MostPlaces)
	if step := grid.RasterStep(whole, h); step > h && step <= most*h {
		c.warn("coarse-lattice", "cut the plane to the wake, leave out samples that stray, or give the section only where its walls are near",
			"the vortex part is found on a lattice with a spacing of %.3g m, since one of %.3g m over %v would have more than %d places", step, h, whole, grid.MostPlaces)
		h = step
	}
	if opt.Boundary == SectionWalls {
		s := opt.Section
		if opt.Half && math.Abs(s.Min.X+s.Max.X) > onLine*h {
			return &wake.InputError{
				File: c.name, Text: fmt.Sprintf("the section %v is not symmetric about y = 0, which a half plane needs", s),
				Cure: "give the section of the whole flow, or leave out --symmetry half",
			}
		}
		whole, err := poisson.Covering(s, h)
		if err != nil {
			return err
		}
		c.l = inside(whole, box)
	} else if c.l, err = poisson.Covering(box, h); err != nil {
		return err
	}
	fields := poisson.Resample(p.Mesh, c.l, p.Field[wake.V], p.Field[wake.W])
	c.v, c.w = fields[0], fields[1]
	if opt.Half && !c.reflect() || !c.place(opt) {
		return &wake.InputError{
			File: c.name, Text: fmt.Sprintf("the window %v cannot be brought to a lattice under the boundary %s", box, opt.Boundary),
			Cure: "give a smaller spacing",
		}
	}
	return nil
}

// inside is the part of a lattice of cells whose centres lie in box.
func inside(l poisson.Lattice, box grid.Box) poisson.Lattice {
	cut := func(lo, hi, origin, h float64, n int) (first, count int) {
		first = max(0, int(math.Ceil((lo-origin)/h-1e-9)))
		last := min(n-1, int(math.Floor((hi-origin)/h+1e-9)))
		return first, max(0, last-first+1)
	}
	i, nx := cut(box.Min.X, box.Max.X, l.Origin.X, l.HX, l.NX)
	j, ny := cut(box.Min.Y, box.Max.Y, l.Origin.Y, l.HY, l.NY)
	l.Origin = l.Point(j*l.NX + i)
	l.NX, l.NY = nx, ny
	return l
}

// reflect adds the other half of a symmetric flow: v(−y) = −v(y), w(−y) = w(y). It
// reports false where y = 0 is neither on a column nor half way between two, or is
// too far away.
func (c *crossflow) reflect() bool {
	l := c.l
	first, last := l.Origin.X/l.HX, l.Origin.X/l.HX+float64(l.NX-1)
	left := first+last < 0
	if left {
		first, last = -last, -first
	}
	twice := math.Round(2 * last)
	if math.Abs(2*last-twice) > 2*onLine || first < -onLine || twice*float64(l.NY) > poisson.MaxSamples {
		return false
	}
	n := int(twice) + 1
	wide := l
	wide.NX, wide.Origin.X = n, -float64(n-1)/2*l.HX
	v, w := make([]float64, n*l.NY), make([]float64, n*l.NY)
	for k := range v {
		// Columns count from the outermost ones; a strip round y = 0 may stay open.
		column := min(k%n, n-1-k%n)
		if column >= l.NX {
			v[k], w[k] = math.NaN(), math.NaN()
			continue
		}
		from := k/n*l.NX + column
		if !left {
			from += l.NX - 1 - 2*column
		}
		// On y = 0 itself v is zero; NaN stays NaN.
		sign := float64(cmp.Compare(2*(k%n), n-1))
		if left {
			sign = -sign
		}
		v[k], w[k] = sign*c.v[from], c.w[from]
	}
	c.l, c.v, c.w = wide, v, w
	return true
}

// place finds the lattice that is solved on and where the window's lies in it. It
// reports false where the two do not fit.
func (c *crossflow) place(opt *VortexOptions) bool {
	c.domain, c.di, c.dj = c.l, 0, 0
	switch opt.Boundary {
	case GroundImage:
		return c.l.Box().Min.Y >= -onLine*c.l.HY
	case SectionWalls:
		s := opt.Section
		fit := func(extent, offset, h float64) (n, first int, support grid.Support, ok bool) {
			if n = int(math.Min(math.Round(extent/h), poisson.MaxSamples)); math.Abs(extent/h-float64(n)) > onLine {
				return 0, 0, 0, false
			}
			at := offset / h
			if whole := math.Round(at); math.Abs(at-whole) <= onLine {
				return n + 1, int(whole), grid.Nodes, true
			}
			whole := math.Floor(at)
			return n, int(whole), grid.Cells, math.Abs(at-whole-0.5) <= onLine
		}
		nx, di, kindX, okX := fit(s.Width(), c.l.Origin.X-s.Min.X, c.l.HX)
		ny, dj, kindY, okY := fit(s.Height(), c.l.Origin.Y-s.Min.Y, c.l.HY)
		if !okX || !okY || kindX != kindY || di < 0 || dj < 0 || di+c.l.NX > nx || dj+c.l.NY > ny {
			return false
		}
		d := poisson.Lattice{Origin: s.Min, HX: c.l.HX, HY: c.l.HY, NX: nx, NY: ny, Support: kindX}
		if kindX == grid.Cells {
			d.Origin.X += d.HX / 2
			d.Origin.Y += d.HY / 2
		}
		c.domain, c.di, c.dj = d, di, dj
		return d.Check() == nil && d.Len() <= max(grid.MostPlaces, 4*c.l.Len())
	}
	return true
}

// spread puts a field of the window on the domain, with zeros round it. Where the
// window ends on a line of nodes inside the domain, that line represents half of its
// area.
func (c *crossflow) spread(f []float64) []float64 {
	if c.domain == c.l {
		return f
	}
	half := func(i, n, at, all int) float64 {
		onWall := c.domain.Support == grid.Nodes && (at == 0 || at == all-1)
		if c.l.Support == grid.Nodes && (i == 0 || i == n-1) && !onWall {
			return 0.5
		}
		return 1
	}
	out := make([]float64, c.domain.Len())
	for j := range c.l.NY {
		row := half(j, c.l.NY, c.dj+j, c.domain.NY)
		for i := range c.l.NX {
			out[(c.dj+j)*c.domain.NX+c.di+i] = row * half(i, c.l.NX, c.di+i, c.domain.NX) * f[j*c.l.NX+i]
		}
	}
	return out
}

// solve fills the result.
func (c *crossflow) solve(opt *VortexOptions) error {
	curl, divergence, err := slopes(c.l, c.v, c.w)
	if err != nil {
		return err
	}
	o := c.out
	for k := range curl {
		if math.IsNaN(curl[k] + divergence[k]) {
			curl[k], divergence[k] = 0, 0
			o.Missing++
		}
	}
	s2 := opt.Speed * opt.Speed
	o.Window = c.l.Integrate(func(k int) float64 {
		if e := c.v[k]*c.v[k] + c.w[k]*c.w[k]; !math.IsNaN(e) {
			return e / s2
		}
		return 0
	})
	xi, sigma := c.spread(curl), c.spread(divergence)
	d := c.domain
	potential := func(f []float64, wall poisson.Wall) (out []float64, err error) {
		switch opt.Boundary {
		case SectionWalls:
			out, _, err = poisson.Box(d, f, wall)
			return out, err
		case GroundImage:
			return poisson.OverFloor(d, f, 0, wall)
		}
		return poisson.FreeAir(d, f)
	}
	psi, err := potential(xi, poisson.Dirichlet)
	if err != nil {
		return err
	}
	phi, err := potential(sigma, poisson.Neumann) // with its sign turned: ∇²phi = −σ
	if err != nil {
		return err
	}
	o.DragArea = d.Integrate(func(k int) float64 { return psi[k] * xi[k] / s2 })
	o.Source = d.Integrate(func(k int) float64 { return phi[k] * sigma[k] / s2 })
	o.Circulation = d.Integrate(func(k int) float64 { return xi[k] })
	o.Gross = d.Integrate(func(k int) float64 { return math.Abs(xi[k]) })
	o.Outflow = d.Integrate(func(k int) float64 { return sigma[k] })
	o.Places = d.Len()
	c.doubts(opt)
	return nil
}

// netEffect is the part of a drag area that a constant without meaning may move
// before a warning says so.
const netEffect = 1e-3

// doubts says what the result depends on. A net circulation Γ in free air leaves ψ a
// constant that no condition fixes: a far border e times as far away adds Γ/2π to
// it, and Γ²/2πU² to the drag area. A floor doubles a net outflow and the walls of a
// section have no room for one.
func (c *crossflow) doubts(opt *VortexOptions) {
	o := c.out
	s2 := opt.Speed * opt.Speed
	scale := netEffect * math.Max(math.Abs(o.DragArea), math.Abs(o.Window))
	if e := o.Circulation * o.Circulation / (2 * math.Pi * s2); opt.Boundary == FreeAir && e > scale {
		c.warn("net-circulation", "survey a wider plane, state the symmetry of a half plane, or choose section walls or a ground image",
			"the net circulation is %.3g m2/s (%.2g %% of what turns either way): in free air the vortex drag then has no fixed value, and a far border 2.7 times as far away moves its drag area by %.3g m2; the lift depends on where y = 0 is",
			o.Circulation, 100*o.Circulation/o.Gross, e)
	}
	e := o.Outflow * o.Outflow / (2 * math.Pi * s2)
	if opt.Boundary == GroundImage {
		e *= 2
	}
	if e > scale {
		cure := "survey a wider plane, or leave the source part out"
		if opt.Boundary == SectionWalls {
			c.warn("net-outflow", cure, "the net source of the cross-flow is %.3g m2/s, for which a closed section has no room: its mean is taken off for the source part", o.Outflow)
		} else {
			c.warn("net-outflow", cure, "the net source of the cross-flow is %.3g m2/s: the source part then has no fixed value, and a far border 2.7 times as far away moves it by %.3g m2", o.Outflow, e)
		}
	}
	if o.Missing > 0 {
		c.warn("vorticity-missing", "fill lost samples, or cut the window to what was surveyed",
			"at %d of %d samples the vorticity is not computable (an opening, the rim or a missing value is next to them); it counts as zero there", o.Missing, c.l.Len())
	}
}
