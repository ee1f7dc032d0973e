package measure_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

var update = flag.Bool("update", false, "write the table of accuracy anew")

// accuracy is one row of the table: a case that has a known answer, run
// through the ordinary measurement.
type accuracy struct {
	field, sampling, result string
	value                   func(t *testing.T) float64
	want, tol               float64
	source                  string
}

// wide is a window that holds the Gaussian wake of width 0.2 whole.
const wide = 1.2

func accuracies() []accuracy {
	gauss := waketest.Gaussian(0.5, 0.2, 0, 0)
	nodes := func(f waketest.Field, half float64, n int) func(t *testing.T) *wake.Plane {
		return func(t *testing.T) *wake.Plane {
			return plane(t, waketest.Lattice(f, -half, half, -half, half, n, n), grid.Nodes)
		}
	}
	cells := func(f waketest.Field, half float64, n int) func(t *testing.T) *wake.Plane {
		return func(t *testing.T) *wake.Plane {
			return plane(t, waketest.Centres(f, -half, half, -half, half, n, n), grid.Cells)
		}
	}
	scatter := func(f waketest.Field, half float64, n int) func(t *testing.T) *wake.Plane {
		return func(t *testing.T) *wake.Plane {
			return plane(t, waketest.Scatter(f, -half, half, -half, half, n, n, 1), grid.Nodes)
		}
	}
	of := func(p func(t *testing.T) *wake.Plane, opt measure.Options, get func(r *measure.Result) float64) func(t *testing.T) float64 {
		opt.Floor, opt.Section = "none", noWakeOnly
		return func(t *testing.T) float64 { return get(run(t, p(t), opt)) }
	}
	momentum := func(r *measure.Result) float64 { return r.Drag.Momentum.DragArea }
	behind := func(name string) func(t *testing.T) float64 {
		return func(t *testing.T) float64 {
			return momentum(run(t, shuttlePlane(t, filepath.Join("..", "..", "examples", "shuttle", name+"_x+2.91_whole.csv.zst")), measure.Options{Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}}))
		}
	}
	const theSame = "the same"
	return []accuracy{
		{"Gaussian wake, depth 0.5, width 0.2", "lattice 97×97", "momentum integral, m²", of(nodes(gauss, wide, 97), measure.Options{}, momentum), 0.18849556, 1e-5, "closed form; Bastankhah & Porté-Agel 2014"},
		{theSame, "scattered 97×97", "momentum integral, m²", of(scatter(gauss, wide, 97), measure.Options{}, momentum), 0.18849556, 2e-4, theSame},
		{theSame, "lattice 97×97", "dissipation, m²", of(nodes(gauss, wide, 97), measure.Options{}, func(r *measure.Result) float64 { return r.Drag.Energy.Dissipation }), 0.16755161, 1e-5, "Drela 2009"},
		{theSame, "lattice 97×97", "area where 1−u/U > 0.05, m²", of(nodes(gauss, wide, 97), measure.Options{Weight: measure.WeightDeficit, Thresholds: []float64{0.05}}, func(r *measure.Result) float64 { return r.Wake.Areas[0].Area }), 0.578703, 1e-3, "closed form"},
		{theSame, "scattered 97×97", "area where 1−u/U > 0.05, m²", of(scatter(gauss, wide, 97), measure.Options{Weight: measure.WeightDeficit, Thresholds: []float64{0.05}}, func(r *measure.Result) float64 { return r.Wake.Areas[0].Area }), 0.578703, 2e-3, "closed form"},
		{theSame, "lattice 97×97", "effective area, m²", of(nodes(gauss, wide, 97), measure.Options{Weight: measure.WeightDeficit}, func(r *measure.Result) float64 { return *r.Wake.Effective }), 0.50265482, 1e-3, "closed form"},
		{theSame, "lattice 101×101, window ±0.5", "momentum integral, m²", of(nodes(gauss, 0.5, 101), measure.Options{}, momentum), 0.18234282, 2e-5, "error functions"},
		{theSame, "lattice 97×97, y < 0.1", "momentum integral, m²", of(nodes(gauss, wide, 97), measure.Options{Regions: []measure.Box{{Name: "left", Box: box(-wide, 0.1, -wide, wide)}}}, func(r *measure.Result) float64 { return *r.Regions[0].DragArea }), 0.12601556, 1e-4, "normal distribution"},
		{"Gaussian wake on the ground, width 0.1, 0.1 up", "lattice 41×401", "height of the centroid, m", func(t *testing.T) float64 {
			p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.1, 0, 0.1), -0.6, 0.6, 0, 1, 41, 401), grid.Nodes)
			return run(t, p, measure.Options{Weight: measure.WeightDeficit}).Wake.Centroid[1]
		}, 0.12876, 1e-5, "truncated normal distribution"},
		{"far wake of an actuator disc, a = 1/3", "cells 40×40", "momentum integral, m²", of(cells(topHat(1.0/3, 1, 2), 2, 40), measure.Options{}, momentum), 8.0 / 9, 1e-9, "Froude; Betz 1925"},
		{theSame, "cells 40×40", "Jones, m²", of(cells(topHat(1.0/3, 1, 2), 2, 40), measure.Options{}, func(r *measure.Result) float64 { return r.Drag.Jones.DragArea }), 8.0 / 9, 1e-9, "Jones 1936 (from memory)"},
		{"at the disc itself, in its streamtube", "cells 12×12", "Betz, m² (reads low so near)", of(cells(waketest.Uniform(disc(1.0/3)), 0.5, 12), measure.Options{}, func(r *measure.Result) float64 { return r.Drag.Betz.DragArea }), 0.80171, 1e-6, "Betz 1925"},
		{"cosine wake of radius 1", "lattice 121×121", "momentum integral, m²", of(nodes(cosine, wide, 121), measure.Options{}, momentum), math.Pi / 4, 1e-5, "Fox & McDonald, problem 4.100"},
		{"potential flow 2 m behind a sphere of 1 m", "lattice 161×161, window ±4", "velocity only, m² (no drag at all)", of(nodes(waketest.Sphere(1, 2), 4, 161), measure.Options{}, func(r *measure.Result) float64 { return r.Drag.VelocityOnly.DragArea }), 0.99366148, 1e-4, "potential flow"},
		{"vortex pair, ±1 m²/s, 1 m apart, core 0.1", "lattice 241×241, window ±2", "vortex drag in free air, N", func(t *testing.T) float64 {
			return half * vortex(t, nodes(pair, 2, 241)(t), measure.VortexOptions{}).DragArea
		}, pairEnergy, 1e-4, "Lamb, Hydrodynamics; Maskell 1973 (from memory)"},
		{"elliptic loading, Γ₀ = 2 m²/s, span 1.5 m", "lattice 400×400, window ±1.5", "vortex drag in free air, N", func(t *testing.T) float64 {
			return half * 100 * vortex(t, nodes(ellipticSheet(2, 1.5), 1.5, 400)(t), measure.VortexOptions{Speed: 10}).DragArea
		}, 1.88495559, 0.04, "Prandtl"},
		{"shuttle, bare, +2.91 m, whole section", "cells", "momentum integral, m²", behind("bare"), 2.1436, 0.011, "force on the body, ± 0.011"},
		{"shuttle, fairing, +2.91 m, whole section", "cells", "momentum integral, m²", behind("fairing"), 2.0794, 0.023, "force on the body, ± 0.023"},
		{"shuttle, flare, +2.91 m, whole section", "cells", "momentum integral, m²", behind("flare"), 2.2475, 0.011, "force on the body, ± 0.011"},
	}
}

// The table of DEVELOPERS.md stands between these lines.
const accuracyBegin, accuracyEnd = "<!-- accuracy: go test ./wake/measure -run Accuracy -update -->\n", "<!-- end of accuracy -->\n"

// TestAccuracy checks every row, and that DEVELOPERS.md says what the rows give.
func TestAccuracy(t *testing.T) {
	var b strings.Builder
	b.WriteString("| field | samples | result | value | expected | relative error | source of the expected value |\n|---|---|---|---|---|---|---|\n")
	for _, a := range accuracies() {
		v := a.value(t)
		near(t, a.field+", "+a.sampling+", "+a.result, v, a.want, a.tol)
		off := math.Abs(v/a.want - 1)
		size := "< 1e-8"
		if off >= 1e-8 {
			size = fmt.Sprintf("%.1g", off)
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %.6g | %.6g | %s | %s |\n", a.field, a.sampling, a.result, v, a.want, size, a.source)
	}
	name := filepath.Join("..", "..", "DEVELOPERS.md")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok1 := bytes.Cut(text, []byte(accuracyBegin))
	old, after, ok2 := bytes.Cut(rest, []byte(accuracyEnd))
	if !ok1 || !ok2 {
		t.Fatal("DEVELOPERS.md has no place for the table of accuracy")
	}
	if string(old) == b.String() {
		return
	}
	if !*update {
		t.Fatalf("the table of accuracy is not what the program gives; run with -update and read the difference:\n%s", b.String())
	}
	out := string(before) + accuracyBegin + b.String() + accuracyEnd + string(after)
	if err := os.WriteFile(name, []byte(out), 0o666); err != nil {
		t.Fatal(err)
	}
}
