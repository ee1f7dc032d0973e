package rake

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
)

// rakeAt reduces a two-row log and gives the places of the samples.
func rakeAt(t *testing.T, layout string) [][3]float64 {
	t.Helper()
	log := "y [mm],z [mm],roll [deg],q [Pa],T1 [Pa],T2 [Pa],T3 [Pa]\n100,0,0,400,400,400,400\n200,0,90,400,400,400,400\n"
	r := mustReduce(t, []byte(log), []byte(layout+"[reference]\nq = \"q\"\nspeed = 25\n"), Options{})
	var out [][3]float64
	for _, s := range r.Samples {
		out = append(out, [3]float64{s.X, s.Y, s.Z})
	}
	return out
}

// Places by hand: tubes at 10 and 20 mm along and 5 mm across, the datum at (1, 0, 0.5)
// moved by 100 and then 200 mm along y.
func TestPlaces(t *testing.T) {
	const group = "[[tubes]]\nkind = \"total\"\ncolumns = [\"T1\", \"T2\"]\nfirst = \"10 mm\"\nstep = \"10 mm\"\nacross = \"5 mm\"\naft = \"2 mm\"\n"
	const datum = "[datum]\nx = 1\nz = \"50 cm\"\n"
	half := math.Sqrt2 / 2
	for name, c := range map[string]struct {
		layout string
		want   [4][3]float64
	}{
		// Upright: along is z and across is −y.
		"vertical": {"[traverse]\ny = \"y\"\n" + datum + group, [4][3]float64{{1.002, .095, .51}, {1.002, .095, .52}, {1.002, .195, .51}, {1.002, .195, .52}}},
		"level":    {"attitude = \"horizontal\"\n[traverse]\ny = \"y\"\n" + datum + group, [4][3]float64{{1.002, .11, .505}, {1.002, .12, .505}, {1.002, .21, .505}, {1.002, .22, .505}}},
		"oblique": {"attitude = \"45 deg\"\n[traverse]\ny = \"y\"\n" + datum + group, [4][3]float64{
			{1.002, .1 + half*.005, .5 + half*.015}, {1.002, .1 + half*.015, .5 + half*.025}, {1.002, .2 + half*.005, .5 + half*.015}, {1.002, .2 + half*.015, .5 + half*.025}}},
		// A spoke of a fan, 90° from a level axis, is upright.
		"fan":     {"attitude = \"horizontal\"\n[traverse]\ny = \"y\"\n" + datum + group + "angle = \"90 deg\"\n", [4][3]float64{{1.002, .095, .51}, {1.002, .095, .52}, {1.002, .195, .51}, {1.002, .195, .52}}},
		"reverse": {"[traverse]\ny = \"y\"\nreverse = [\"y\"]\n" + datum + group, [4][3]float64{{1.002, -.105, .51}, {1.002, -.105, .52}, {1.002, -.205, .51}, {1.002, -.205, .52}}},
		// The second row is rolled by 90° from level.
		"rolled": {"attitude = \"horizontal\"\n[traverse]\ny = \"y\"\nroll = \"roll\"\n" + datum + group, [4][3]float64{{1.002, .11, .505}, {1.002, .12, .505}, {1.002, .195, .51}, {1.002, .195, .52}}},
		// x forward, y left: both turn their sign.
		"frame": {"frame = \"x forward, y left, z up\"\n[traverse]\ny = \"y\"\n" + datum + group, [4][3]float64{{-1.002, -.095, .51}, {-1.002, -.095, .52}, {-1.002, -.195, .51}, {-1.002, -.195, .52}}},
	} {
		got := rakeAt(t, c.layout)
		if len(got) != 4 {
			t.Errorf("%s: %v", name, got)
			continue
		}
		for k := range got {
			for a := range 3 {
				if !(math.Abs(got[k][a]-c.want[k][a]) < 1e-12) {
					t.Errorf("%s: sample %d at %v, %v by hand", name, k, got[k], c.want[k])
					break
				}
			}
		}
	}
}

// Readings on an absolute scale, in other units, with factors and known zeros, are the
// same survey.
func TestScales(t *testing.T) {
	log, layout := editLog(func(l []string) []string { return l })
	want := mustReduce(t, log, layout, Options{})
	same := func(name string, r *Result) {
		t.Helper()
		for i := range want.Samples {
			if a, b := r.Samples[i].Cpt, want.Samples[i].Cpt; !(math.Abs(a-b) < 1e-6) {
				t.Errorf("%s: sample %d has Cpt %.9f, %.9f expected", name, i, a, b)
				return
			}
		}
	}
	absolute, _ := editLog(func(l []string) []string {
		for k := 1; k < len(l); k++ { // a barometer that moves from row to row
			ref := 101325 + 3*math.Sin(float64(k))
			setCell(l, k, 3, fmt.Sprintf("%.6f", ref))
			for f := 4; f < 18; f++ {
				setCell(l, k, f, fmt.Sprintf("%.6f", value(strings.Split(l[k], ",")[f])+ref))
			}
		}
		return l
	})
	same("absolute", mustReduce(t, absolute, bytes.Replace(layout, []byte("[reference]\n"), []byte("[reference]\nreadings = \"absolute\"\n"), 1), Options{}))
	hecto, _ := editLog(func(l []string) []string {
		l[0] = strings.ReplaceAll(l[0], "[Pa],T05 [Pa]", "[Pa],T05 [hPa]")
		return eachRow(l, 8, func(s string) string { return fmt.Sprintf("%.9f", value(s)/100) })
	})
	same("hPa", mustReduce(t, hecto, layout, Options{}))
	counts, _ := editLog(func(l []string) []string {
		for f := 4; f < 15; f++ {
			eachRow(l, f, func(s string) string { return fmt.Sprintf("%.9f", value(s)/2+7) })
		}
		return l
	})
	same("factor and zero", mustReduce(t, counts, bytes.Replace(layout, []byte("first = \"0 mm\"\n"), []byte("first = \"0 mm\"\nfactor = 2\nzeros = [7,7,7,7,7,7,7,7,7,7,7]\n"), 1), Options{}))
	comma := strings.NewReplacer(",", ";", ".", ",").Replace(string(log))
	same("semicolons", mustReduce(t, []byte(comma), layout, Options{}))
	total, _ := editLog(func(l []string) []string { // pt_ref instead of q
		l[0] = strings.Replace(l[0], "q_ref", "pt_ref", 1)
		return eachRow(l, 2, func(s string) string { return fmt.Sprintf("%.6f", value(s)+101325) })
	})
	same("pt_ref", mustReduce(t, total, bytes.Replace(layout, []byte("q = \"q_ref\""), []byte("total = \"pt_ref\""), 1), Options{}))
}

func value(s string) float64 {
	var x float64
	fmt.Sscan(s, &x)
	return x
}

// A multi-hole probe in a stream that turns by 10° to the right and 20° up, by angles
// and by components; beyond its cone it is left out and counted.
func TestProbes(t *testing.T) {
	const ref = "[traverse]\ny = \"y\"\nz = \"z\"\n[reference]\nq = \"q\"\nspeed = 25\ndensity = 1.28\n[[probe]]\nname = \"five-hole\"\nacceptance = \"40 deg\"\n"
	var angles, components bytes.Buffer
	angles.WriteString("y [m],z [m],q [Pa],pt [Pa],ps [Pa],pitch [deg],yaw [deg]\n")
	components.WriteString("y [m],z [m],q [Pa],u [m/s],v [m/s],w [m/s],ps [Pa]\n")
	p, y := 20*math.Pi/180, 10*math.Pi/180
	u, v, w := math.Cos(p)*math.Cos(y), math.Cos(p)*math.Sin(y), math.Sin(p)
	for i := range 4 {
		for j := range 4 {
			q := 400 + 4*float64(i)
			speed := 0.8 * math.Sqrt(2*q/1.28)
			pitch, side := 20.0, v
			if i == 3 && j == 3 {
				pitch, side = 60, 3
			}
			fmt.Fprintf(&angles, "%g,%g,%g,%.17g,%.17g,%g,10\n", 0.1*float64(i), 0.1*float64(j), q, (0.64-0.1)*q, -0.1*q, pitch)
			fmt.Fprintf(&components, "%g,%g,%g,%.17g,%.17g,%.17g,%.17g\n", 0.1*float64(i), 0.1*float64(j), q, speed*u, speed*side, speed*w, -0.1*q)
		}
	}
	for name, c := range map[string][2]string{
		"angles":     {angles.String(), "total = \"pt\"\nstatic = \"ps\"\npitch = \"pitch\"\nyaw = \"yaw\"\n"},
		"components": {components.String(), "u = \"u\"\nv = \"v\"\nw = \"w\"\nstatic = \"ps\"\n"},
	} {
		r := mustReduce(t, []byte(c[0]), []byte(ref+c[1]), Options{})
		if len(r.Samples) != 15 || r.Counts.Outside != 1 || !hasCode(r, "outside-acceptance") || hasCode(r, "speed-not-u") || r.Velocity != "components" {
			t.Errorf("%s: %d samples, %+v, velocity %s, %v", name, len(r.Samples), r.Counts, r.Velocity, r.Warnings)
		}
		for _, s := range r.Samples {
			want := [3]float64{0.8 * u, 0.8 * v, 0.8 * w}
			for k := range 3 {
				if !(math.Abs(s.Velocity[k]-want[k]) < 1e-12) {
					t.Fatalf("%s: velocity %v, want %v", name, s.Velocity, want)
				}
			}
			if !(math.Abs(s.Cpt-0.54) < 1e-12 && math.Abs(s.Cp+0.1) < 1e-12) {
				t.Fatalf("%s: Cpt %g, Cp %g", name, s.Cpt, s.Cp)
			}
		}
		// In ISO 8855 the same readings are mirrored: +yaw is a flow to the left.
		if name == "components" {
			// Components go with the axes: downstream would be −u there.
			if _, err := tryReduce([]byte(c[0]), []byte("frame = \"ISO 8855\"\n"+ref+c[1]), Options{}); err == nil || !strings.Contains(err.Error(), "16 outside the acceptance") {
				t.Errorf("u > 0 in a frame with x forward: %v", err)
			}
			continue
		}
		iso := mustReduce(t, []byte(c[0]), []byte("frame = \"ISO 8855\"\n"+ref+c[1]), Options{})
		if !(math.Abs(iso.Samples[0].Velocity[1]+0.8*v) < 1e-12 && math.Abs(iso.Samples[0].Velocity[0]-0.8*u) < 1e-12) {
			t.Errorf("%s in ISO 8855: %v", name, iso.Samples[0].Velocity)
		}
	}
}

// The laws of the displacement and of the wall against their formulas at a point.
func TestLaws(t *testing.T) {
	// Young and Maas at d/D = 0.6: 0.131 + 0.082·0.6 = 0.1802; MacMillan 0.15.
	if got := displacement(0.003, 0.0018) / 0.003; math.Abs(got-0.1802) > 1e-12 {
		t.Errorf("displacement %.4f D", got)
	}
	if got := displacement(0.002, math.NaN()); math.Abs(got-0.0003) > 1e-15 {
		t.Errorf("displacement %g m", got)
	}
	// McKeon: α = 0.0625 gives tanh 1; nothing without shear.
	if got := fade(0.002, 1, 62.5); math.Abs(got-math.Tanh(1)) > 1e-12 {
		t.Errorf("fade %.6f", got)
	}
	if got := fade(0.002, 1, 0); got != 0 {
		t.Errorf("fade %.6f without shear", got)
	}
	// MacMillan: 1.5 % for a tube on the wall, nothing from two diameters on.
	if got := wallFactor(0.001, 0.002); math.Abs(got-1.015) > 1e-12 {
		t.Errorf("wall %.6f", got)
	}
	if a, b := wallFactor(0.004, 0.002), wallFactor(math.NaN(), 0.002); a != 1 || b != 1 {
		t.Errorf("wall %.6f at two diameters, %.6f at no place", a, b)
	}
}

// A tube half a diameter above the floor reads 1.5 % slow, and the switch leaves it so.
func TestWall(t *testing.T) {
	log, layout := editLog(func(l []string) []string { return l })
	layout = append(layout, "[corrections]\ndisplacement = false\nfloor = \"-0.101 m\"\n"...)
	with := mustReduce(t, log, layout, Options{})
	without := mustReduce(t, log, off(layout, Wall), Options{})
	n := 0
	for i, s := range with.Samples {
		want := 1.0
		if s.Tube == "T01" {
			want = 1.015
			n++
		}
		if got := s.Speed / without.Samples[i].Speed; !(math.Abs(got-want) < 1e-9) {
			t.Errorf("%s: speed up by %.6f, want %.6f", s.Tube, got, want)
		}
	}
	if n == 0 {
		t.Error("no sample of T01")
	}
}

// Two tubes that meet at a point are averaged: a rake moved by its own pitch.
func TestOverlap(t *testing.T) {
	log := "z [mm],y [mm],q [Pa],T1 [Pa],T2 [Pa]\n"
	for _, y := range []int{0, 10, 20} {
		for _, z := range []int{0, 10, 20} {
			log += fmt.Sprintf("%d,%d,400,%d,%d\n", z, y, 400-z-y, 400-z-10-y+2)
		}
	}
	layout := "[traverse]\ny = \"y\"\nz = \"z\"\n[reference]\nq = \"q\"\nspeed = 25\n[[tubes]]\nkind = \"total\"\ncolumns = [\"T1\", \"T2\"]\nfirst = 0\nstep = \"10 mm\"\n"
	r := mustReduce(t, []byte(log), []byte(layout), Options{})
	if len(r.Samples) != 12 {
		t.Fatalf("%d samples, 4 heights at 3 places expected", len(r.Samples))
	}
	for _, s := range r.Samples {
		want := (400 - 1000*s.Z - 1000*s.Y) / 400
		switch {
		case s.Readings == 2:
			want += 1.0 / 400
		case s.Z > 0.025:
			want += 2.0 / 400
		}
		if !(math.Abs(s.Cpt-want) < 1e-12) {
			t.Errorf("at y %g, z %g: Cpt %.6f from %d readings, want %.6f", s.Y, s.Z, s.Cpt, s.Readings, want)
		}
	}
	if all := mustReduce(t, []byte(log), off([]byte(layout), Repeats), Options{}); len(all.Samples) != 12 || all.Samples[1].Readings != 1 {
		t.Errorf("%d samples without averaging", len(all.Samples))
	}
}

// In a field that is linear in y and z all interpolation is exact: static pressure from
// tubes 20 mm beside and unevenly spaced, and a total tube filled from unequal sides.
func TestLinearField(t *testing.T) {
	cp := func(y, z float64) float64 { return -0.2 + 0.5*y - 0.3*z }
	cpt := func(y, z float64) float64 { return 0.6 + 1.5*y + 0.7*z }
	heights, statics := []float64{0, 0.01, 0.04, 0.06, 0.1, 0.11}, []float64{0, 0.03, 0.12}
	var b bytes.Buffer
	b.WriteString("y [m],q [Pa],T1,T2,T3,T4,T5,T6,S1,S2,S3\n")
	for i := range 8 {
		y := 0.025 * float64(i)
		q := 400 + 5*float64(i%3)
		fmt.Fprintf(&b, "%g,%g", y, q)
		for _, z := range heights {
			fmt.Fprintf(&b, ",%.12g", q*cpt(y, z))
		}
		for _, z := range statics {
			fmt.Fprintf(&b, ",%.12g", q*cp(y-0.02, z))
		}
		b.WriteByte('\n')
	}
	layout := "ignore = [\"T3\"]\n[traverse]\ny = \"y\"\n[reference]\nq = \"q\"\nspeed = 25\n" +
		"[[tubes]]\nkind = \"total\"\ncolumns = [\"T1\", \"T2\", \"T3\", \"T4\", \"T5\", \"T6\"]\nalong = [0, 0.01, 0.04, 0.06, 0.1, 0.11]\n" +
		"[[tubes]]\nkind = \"static\"\ncolumns = [\"S1\", \"S2\", \"S3\"]\nalong = [0, 0.03, 0.12]\nacross = \"20 mm\"\n"
	r := mustReduce(t, b.Bytes(), []byte(layout), Options{})
	filled := 0
	for _, s := range r.Samples {
		if s.State == "filled" {
			filled++
		}
		if a, c := cpt(s.Y, s.Z), cp(s.Y, s.Z); !(math.Abs(s.Cpt-a) < 1e-9 && math.Abs(s.Cp-c) < 1e-9) {
			t.Errorf("at y %g, z %g: Cpt %.9f for %.9f, Cp %.9f for %.9f", s.Y, s.Z, s.Cpt, a, s.Cp, c)
		}
	}
	if filled != 8 || len(r.Samples) != 48 {
		t.Errorf("%d samples, %d filled", len(r.Samples), filled)
	}
}

// With few tubes there is no distance test; a stuck tube is still told by its spread.
func TestStuckAmongThree(t *testing.T) {
	log := "y [m],q [Pa],T1 [Pa],T2 [Pa],T3 [Pa],S1 [Pa],S2 [Pa],S3 [Pa]\n"
	for i := range 9 {
		log += fmt.Sprintf("%g,400,%d,%d,%d,%d,%d,-60\n", 0.01*float64(i), 200+20*i, 210+20*i, 250+i%2, -40+9*i, -45+9*i)
	}
	layout := "[traverse]\ny = \"y\"\n[reference]\nq = \"q\"\nspeed = 25\n[[tubes]]\nkind = \"total\"\ncolumns = [\"T1\", \"T2\", \"T3\"]\nfirst = 0\nstep = \"10 mm\"\n" +
		"[[tubes]]\nkind = \"static\"\ncolumns = [\"S1\", \"S2\", \"S3\"]\nfirst = 0\nstep = \"10 mm\"\n"
	for _, tube := range mustReduce(t, []byte(log), []byte(layout), Options{}).Tubes {
		want := "good"
		if tube.Name == "T3" || tube.Name == "S3" {
			want = "blocked"
		}
		if tube.State != want {
			t.Errorf("%s is %s (%s)", tube.Name, tube.State, tube.Why)
		}
	}
}

// Without static pressure u = √Cpt, and the bracket is that of Cp = ∓0.1: for
// √Cpt = 1 − ½e^{−r²/2σ²}, σ = 0.2, Jones gives 0.18849556 with Cp = 0, 0.20507451 with
// −0.1 and 0.16998814 with +0.1.
func TestBracketWithoutStatic(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("y [m],q [Pa]")
	var columns []string
	for j := range 41 {
		columns = append(columns, fmt.Sprintf("\"T%d\"", j))
		fmt.Fprintf(&b, ",T%d [Pa]", j)
	}
	b.WriteByte('\n')
	for i := range 41 {
		y := -1 + 0.05*float64(i)
		fmt.Fprintf(&b, "%.17g,400", y)
		for j := range 41 {
			z := -1 + 0.05*float64(j)
			fmt.Fprintf(&b, ",%.17g", 400*sq(1-0.5*math.Exp(-(y*y+z*z)/0.08)))
		}
		b.WriteByte('\n')
	}
	layout := "[datum]\nz = -1\n[traverse]\ny = \"y\"\n[reference]\nq = \"q\"\nspeed = 25\n[[tubes]]\nkind = \"total\"\nfirst = 0\nstep = \"50 mm\"\ncolumns = [" + strings.Join(columns, ",") + "]\n"
	var r *Result
	// A static tube that was read at one position alone, as that of the stream, is as good
	// as none.
	silent := strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\n", ",\n") + ",0\n"
	silent = strings.Replace(silent, " [Pa],\n", " [Pa],S [Pa]\n", 1)
	for _, c := range []struct{ log, layout, code string }{
		{silent, layout + "[[tubes]]\nkind = \"static\"\nfirst = 1\nstep = \"50 mm\"\ncolumns = [\"S\"]\n", "static-missing"},
		{b.String(), layout, "no-static"},
	} {
		r = mustReduce(t, []byte(c.log), []byte(c.layout), Options{})
		d, _, m := dragOf(t, r)
		if b := m.Drag.Jones.Bracket; b == nil || !hasCode(r, c.code) || !(math.Abs(d-.18849556) < 1e-5 && math.Abs(b[0]-.16998814) < 1e-5 && math.Abs(b[1]-.20507451) < 1e-5) {
			t.Errorf("%s: %.8f m2, %v, warnings %v", c.code, d, b, r.Warnings)
		}
	}
	for _, f := range r.fields(r.Nominal()) {
		if n := f.q.String(); n == "cp" || n == "p" {
			t.Errorf("the plane has %s, which was not measured", n)
		}
	}
}
