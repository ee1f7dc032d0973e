package measure

import (
	"cmp"
	"fmt"
	"math"

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

// What surrounds the flow that the vorticity induces.
const (
	// FreeAir: nothing; ψ and φ of the plane without walls.
	FreeAir = "free air"
	// SectionWalls: four solid walls, ψ = 0 and ∂φ/∂n = 0.
	SectionWalls = "section walls"
	// GroundImage: a floor under free air, by images: vorticity with the opposite
	// sign, source with the same.
	GroundImage = "ground image"
)

// VortexOptions configure VortexDrag.
type VortexOptions struct {
	// Speed is the reference U, m/s.
	Speed float64
	// Boundary is FreeAir, SectionWalls or GroundImage.
	Boundary string
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
	// DragArea is ∫ψξ dS/U², the vortex drag.
	DragArea float64
	// Source is −∫φσ dS/U²: displacement flow near the body, mostly cancelled by the
	// axial term of the momentum integral. It is no part of a vortex drag.
	Source float64
	// Window is ∫(v²+w²)dS/U² over the window alone.
	Window float64
	// Circulation is ∫ξ dS and Outflow ∫σ dS, m²/s.
	Circulation, Outflow float64
	// Resampled says that the plane was interpolated to the lattice of the solution.
	Resampled bool
	// Missing counts the samples inside the window whose vorticity is not known and was
	// taken as zero.
	Missing  int
	Warnings []wake.Warning
}

// slopes gives on a uniform lattice the streamwise vorticity ξ = ∂w/∂y − ∂v/∂z and the
// source σ = ∂v/∂y + ∂w/∂z, 1/s. NaN spreads to the samples whose differences touch it.
func slopes(l poisson.Lattice, v, w []float64) (curl, divergence []float64) {
	vy, vz := poisson.Slopes(l, v)
	wy, wz := poisson.Slopes(l, w)
	for k := range wy {
		wy[k] -= vz[k]
		vy[k] += wz[k]
	}
	return wy, vy
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
	c := &crossflow{VortexOptions: opt, name: p.Name()}
	// A half plane that reaches over y = 0 has been refused.
	samples, room := grid.Bounds(p.Mesh.Points), c.room()
	slack := 1e-5 * (samples.Width() + samples.Height())
	if !room.ContainsBox(widened(samples, -slack)) {
		return nil, wake.Refuse(p.Name(), "check the section's size and the plane's origin", "the samples at %v reach out of the section or below the ground", samples)
	}
	err := c.bring(p)
	if err == nil {
		err = c.solve()
	}
	if _, ok := err.(*wake.InputError); err != nil && !ok {
		err = wake.Refuse(p.Name(), "the vortex drag needs an even lattice of at least 5 × 5 samples inside its boundary", "%v", err)
	}
	return &c.Vortex, err
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

// crossflow is the cross-flow on a uniform lattice inside the window, with NaN where
// it is not known.
type crossflow struct {
	VortexOptions
	Vortex
	name string
	l    poisson.Lattice
	v, w []float64
	// domain is the lattice that is solved on; sample (0, 0) of l is its sample (di, dj).
	domain poisson.Lattice
	di, dj int
}

// warn adds a doubt.
func (c *crossflow) warn(code, cure, format string, a ...any) {
	c.Warnings = append(c.Warnings, wake.Doubt(code, c.name, cure, format, a...))
}

// onLine is how far a line may lie from its place, as a part of the spacing, and
// still count as being on it: text with four decimals puts lines 10 mm apart up to
// half of this off.
const onLine = 0.01

// bring takes the plane to an even lattice that fits the boundary and, for a half plane,
// adds the other half.
func (c *crossflow) bring(p *wake.Plane) error {
	if l, order, ok := poisson.FromMesh(p.Mesh); ok {
		c.l, c.v, c.w = l, wake.At(p.Field[wake.V], order), wake.At(p.Field[wake.W], order)
		if (!c.Half || c.reflect()) && c.place() {
			return nil
		}
	}
	return c.resample(p)
}

// resample interpolates the plane to a lattice made for the boundary.
func (c *crossflow) resample(p *wake.Plane) (err error) {
	c.Resampled = true
	h := cmp.Or(c.Spacing, p.Mesh.Spacing())
	box := p.Mesh.Window().Intersect(c.room())
	if c.Half && box.Centre().X > 0 {
		box.Min.X = 0
	} else if c.Half {
		box.Max.X = 0
	}
	whole := box
	if c.Boundary == SectionWalls {
		whole = c.Section
	}
	// More than so much coarser resolves nothing, and what follows refuses it.
	const most = 8.1 // a little above √(poisson.MaxSamples/grid.MostPlaces)
	if step := grid.RasterStep(whole, h); step > h && step <= most*h {
		c.warn("coarse-lattice", "cut the plane to the wake, leave out samples that stray, or give the section only where its walls are near",
			"the vortex part is found on a lattice with a spacing of %.3g m, since one of %.3g m over %v would have more than %d places", step, h, whole, grid.MostPlaces)
		h = step
	}
	if c.l, err = poisson.Covering(whole, h); err != nil {
		return err
	}
	if c.Boundary == SectionWalls {
		c.l = inside(c.l, box)
	}
	fields := poisson.Resample(p.Mesh, c.l, p.Field[wake.V], p.Field[wake.W])
	c.v, c.w = fields[0], fields[1]
	if c.Half && !c.reflect() || !c.place() {
		return wake.Refuse(c.name, "give a smaller spacing", "the window %v cannot be brought to a lattice under the boundary %s", box, c.Boundary)
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
func (c *crossflow) place() bool {
	c.domain, c.di, c.dj = c.l, 0, 0
	switch c.Boundary {
	case GroundImage:
		return c.l.Box().Min.Y >= -onLine*c.l.HY
	case SectionWalls:
		s := c.Section
		// Of the window's first line the place in the section, in half spacings: odd for cells.
		fit := func(extent, offset, h float64) (n, first int, cells, ok bool) {
			n = int(math.Min(math.Round(extent/h), poisson.MaxSamples))
			twice := math.Round(2 * offset / h)
			ok = math.Abs(extent/h-float64(n)) <= onLine && math.Abs(2*offset/h-twice) <= 2*onLine
			return n, int(math.Floor(twice / 2)), math.Mod(twice, 2) != 0, ok
		}
		nx, di, cells, okX := fit(s.Width(), c.l.Origin.X-s.Min.X, c.l.HX)
		ny, dj, also, okY := fit(s.Height(), c.l.Origin.Y-s.Min.Y, c.l.HY)
		d := poisson.Lattice{Origin: s.Min, HX: c.l.HX, HY: c.l.HY, NX: nx + 1, NY: ny + 1, Support: grid.Nodes}
		if cells {
			d.NX, d.NY, d.Support = nx, ny, grid.Cells
			d.Origin.X += d.HX / 2
			d.Origin.Y += d.HY / 2
		}
		if !okX || !okY || cells != also || di < 0 || dj < 0 || di+c.l.NX > d.NX || dj+c.l.NY > d.NY {
			return false
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
func (c *crossflow) solve() error {
	if err := c.l.Check(); err != nil {
		return err
	}
	curl, divergence := slopes(c.l, c.v, c.w)
	for k := range curl {
		switch sum := curl[k] + divergence[k]; {
		case math.IsInf(sum, 0):
			return fmt.Errorf("the cross-flow at %v is %g and %g m/s; finite numbers are expected", c.l.Point(k), c.v[k], c.w[k])
		case math.IsNaN(sum):
			curl[k], divergence[k] = 0, 0
			c.Missing++
		}
	}
	s2 := c.Speed * c.Speed
	c.Window = c.l.Integrate(func(k int) float64 {
		if e := c.v[k]*c.v[k] + c.w[k]*c.w[k]; !math.IsNaN(e) {
			return e / s2
		}
		return 0
	})
	// energy is ∫f·∇⁻²f dS/U² under the boundary, total ∫f dS.
	energy := func(f []float64, wall poisson.Wall) (energy, total float64) {
		var potential []float64
		switch c.Boundary {
		case SectionWalls:
			potential = poisson.Box(c.domain, f, wall)
		case GroundImage:
			potential = poisson.OverFloor(c.domain, f, wall)
		default:
			potential = poisson.FreeAir(c.domain, f)
		}
		energy = c.domain.Integrate(func(k int) float64 { return potential[k] * f[k] / s2 })
		return energy, c.domain.Integrate(func(k int) float64 { return f[k] })
	}
	c.DragArea, c.Circulation = energy(c.spread(curl), poisson.Dirichlet)
	// With the sign of φ turned: ∇²φ = −σ.
	c.Source, c.Outflow = energy(c.spread(divergence), poisson.Neumann)
	c.doubts()
	return nil
}

// netEffect is the part of a drag area that a constant without meaning may move
// before a warning says so.
const netEffect = 1e-3

// doubts says what the result depends on. A net circulation Γ in free air leaves ψ a
// constant that no condition fixes: a far border e times as far away adds Γ/2π to
// it, and Γ²/2πU² to the drag area. So does a net outflow to the source part, a floor doubles
// it, and the walls of a section have no room for one.
func (c *crossflow) doubts() {
	constant := func(net float64) float64 { return net * net / (2 * math.Pi * c.Speed * c.Speed) }
	least := netEffect * math.Max(math.Abs(c.DragArea), math.Abs(c.Window))
	if e := constant(c.Circulation); c.Boundary == FreeAir && e > least {
		c.warn("net-circulation", "survey a wider plane, state the symmetry of a half plane, or choose section walls or a ground image",
			"the net circulation is %.3g m2/s: in free air the vortex drag then has no fixed value, and a far border 2.7 times as far away moves its drag area by %.3g m2; the lift depends on where y = 0 is", c.Circulation, e)
	}
	if constant(c.Outflow) > least {
		c.warn("net-outflow", "survey a wider plane", "the net source of the cross-flow is %.3g m2/s: the source part then has no fixed value, and in a closed section, which has no room for it, its mean is taken off", c.Outflow)
	}
	if c.Missing > 0 {
		c.warn("vorticity-missing", "fill lost samples, or cut the window to what was surveyed",
			"at %d of %d samples the vorticity is not computable (an opening, the rim or a missing value is next to them); it counts as zero there", c.Missing, c.l.Len())
	}
}
