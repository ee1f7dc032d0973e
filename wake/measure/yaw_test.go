package measure_test

import (
	"fmt"
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// yawed is a Gaussian deficit of the whole velocity, without change of direction, in a
// stream of unit speed at an angle to x: V = (1 − d)(cos β, sin β).
func yawed(degrees float64) func(y, z float64) waketest.State {
	g := waketest.Gaussian(0.5, 0.2, 0, 0)
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return func(y, z float64) waketest.State {
		s := g(y, z)
		s.U, s.V = s.U*cos, s.U*sin
		return s
	}
}

// In a wake that keeps the stream's direction at p∞ all momentum is lost along the
// stream: over a plane normal to x, whose area the stream sees by cos β, the drag in wind
// axes is cos β times that without yaw, the side force in wind axes is zero, and in body
// axes they are parts of it. All are over ½ρ|V∞|².
func TestForcesInYaw(t *testing.T) {
	const straight = 0.18849556
	for _, degrees := range []float64{-20, 12, 30} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		p := plane(t, waketest.Lattice(yawed(degrees), -1.2, 1.2, -1.2, 1.2, 81, 81), grid.Nodes)
		for _, anchor := range []string{"none", "edge"} {
			r := run(t, p, measure.Options{Yaw: degrees, Floor: "none", Anchor: anchor})
			d, y := r.Drag, r.Drag.Yaw
			near(t, "drag, wind axes", y.WindDrag.Area, cos*straight, 1e-5)
			near(t, "side force, wind axes", y.WindSide.Area, 0, 1e-5)
			near(t, "drag, body axes", y.Drag.Area, cos*cos*straight, 1e-5)
			near(t, "side force, body axes", y.Side.Area, cos*sin*straight, 1e-5)
			near(t, "momentum", d.Momentum.DragArea, y.Drag.Area, 1e-12)
			near(t, "angle", y.Angle, degrees, 1e-12)
			if u := y.WindDrag.Sampling.Expanded; !(u > 0 && u < 0.01*straight) {
				t.Errorf("the wind drag's sampling is %g", u)
			}
		}
	}
}

// Drag along x is the same to whom drifts sideways with the stream. In his frame a wake
// that keeps the stream's v is a wake without yaw, by all methods, and all give cos² β of
// its drag. A wake that keeps the stream's direction has a cross-flow v−V there: wake-only
// and Betz are those of that plane without yaw, and with the energy of v−V added they are
// the momentum integral, but for e²/4 where e = (v−V)².
func TestMethodsInYaw(t *testing.T) {
	const straight = 0.18849556
	lattice := func(at func(y, z float64) waketest.State) *wake.Plane {
		return plane(t, waketest.Lattice(at, -1.2, 1.2, -1.2, 1.2, 81, 81), grid.Nodes)
	}
	g := waketest.Gaussian(0.5, 0.2, 0, 0)
	for _, degrees := range []float64{-20, 12, 30} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		drifting := lattice(func(y, z float64) waketest.State {
			s := g(y, z)
			s.U, s.V = s.U*cos, sin
			return s
		})
		for _, anchor := range []string{"none", "edge"} {
			d := run(t, drifting, measure.Options{Yaw: degrees, Floor: "none", Anchor: anchor}).Drag
			for name, got := range map[string]float64{"wake only": d.WakeOnly.DragArea, "Betz": d.Betz.DragArea, "Jones": d.Jones.DragArea} {
				near(t, fmt.Sprintf("%g degrees, anchor %s: %s", degrees, anchor, name), got, cos*cos*straight, 1e-4)
			}
		}
		turned := yawed(degrees)
		d := run(t, lattice(turned), measure.Options{Yaw: degrees, Floor: "none"}).Drag
		without := run(t, lattice(func(y, z float64) waketest.State {
			s := turned(y, z)
			s.U, s.V = s.U/cos, (s.V-sin)/cos
			return s
		}), measure.Options{Floor: "none"}).Drag
		name := fmt.Sprintf("%g degrees: ", degrees)
		near(t, name+"wake only", d.WakeOnly.DragArea, cos*cos*without.WakeOnly.DragArea, 1e-5)
		near(t, name+"Betz", d.Betz.DragArea, cos*cos*without.Betz.DragArea, 1e-5)
		near(t, name+"Jones", d.Jones.DragArea, cos*cos*without.Jones.DragArea, 1e-5)
		// ∫e = tan²β ε²πσ², ∫e²/4 = tan⁴β ε⁴πσ²/8.
		tan2 := sin * sin / (cos * cos)
		energy, square := tan2*0.25*math.Pi*0.04, tan2*tan2*0.0625*math.Pi*0.04/8
		near(t, name+"Betz and energy", d.Betz.DragArea+cos*cos*energy, cos*cos*(straight+square), 1e-4)
	}
}

// Without yaw nothing changes, and there is no table of axes.
func TestNoYaw(t *testing.T) {
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1.2, 1.2, -1.2, 1.2, 61, 61), grid.Nodes)
	a := run(t, p, measure.Options{})
	if a.Drag.Yaw != nil {
		t.Error("a table of axes without yaw")
	}
	small := run(t, p, measure.Options{Yaw: 1e-7})
	near(t, "nearly no yaw", small.Drag.Momentum.DragArea, a.Drag.Momentum.DragArea, 1e-8)
	near(t, "nearly no yaw, wind axes", small.Drag.Yaw.WindDrag.Area, a.Drag.Momentum.DragArea, 1e-8)
}

// The reference plane of a yawed stream gives |V∞| from its part along x.
func TestReferenceInYaw(t *testing.T) {
	sin, cos := math.Sincos(math.Pi / 18)
	p := plane(t, waketest.Centres(waketest.Uniform(waketest.State{U: 3 * cos, V: 3 * sin}), -1, 1, 1, 2, 16, 16), grid.Cells)
	o := measure.Options{Yaw: 10, Reference: wake.Freestream{Density: 1}}
	if err := o.ReferenceFrom(p, "inlet.csv"); err != nil {
		t.Fatal(err)
	}
	near(t, "speed", o.Reference.Speed, 3, 1e-12)
	near(t, "total pressure", run(t, p, o).Reference.TotalPressure-o.Reference.Pressure, 4.5, 1e-12)
}

func TestYawRefused(t *testing.T) {
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1.2, 1.2, -1.2, 1.2, 21, 21), grid.Nodes)
	for name, opt := range map[string]measure.Options{
		"not a number": {Yaw: math.NaN()},
		"beyond":       {Yaw: 61},
		"half":         {Yaw: 5, Half: true},
	} {
		opt.Reference = waketest.Reference()
		if _, err := measure.Take(p, opt); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
