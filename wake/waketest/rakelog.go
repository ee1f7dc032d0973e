package waketest

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
)

// Rake describes an invented tunnel traverse: a vertical rake of total tubes, with
// static tubes beside them, through the wake of a Field. Its errors are known.
type Rake struct {
	Field Field
	// Half is the half width of the window about (0, 0) and Step the distance of tubes
	// and of traverse positions, m.
	Half, Step float64
	// Shift is the displacement of each total tube's effective centre toward higher
	// total pressure, m.
	Shift float64
	// Zeros and Drifts: standard deviations of the tubes' zeros before the traverse and
	// of their change until after it, Pa. Noise is that of a reading with the wind on,
	// over q; a fifth of it with the wind off.
	Zeros, Drifts, Noise float64
	// Wander is the amplitude of the dynamic pressure's drift over the rows, relative.
	Wander float64
	// Blocked, Leaking and Lagging are numbers of total tubes, from 1; 0 for none.
	Blocked, Leaking, Lagging int
	// Leak is the part of the pressure that a leaking tube loses, Lag the part of a
	// step that a lagging one still lacks a row later.
	Leak, Lag float64
	Seed      uint64
}

// RakeSpeed and RakeDensity are the nominal stream of invented logs, m/s and kg/m³.
const (
	RakeSpeed   = 25.0
	RakeDensity = 1.2
)

// RakeTruth is what went into a log: zeros before the traverse and their change until
// the wind-off rows after it, Pa, by total tube.
type RakeTruth struct{ Zero, Drift []float64 }

// Log gives the log as comma-separated text, the layout that fits it without any
// correction section, and the truth.
func (k Rake) Log() (log, layout []byte, truth RakeTruth) {
	r := rand.New(rand.NewPCG(k.Seed, 7))
	n := int(math.Round(2*k.Half/k.Step)) + 1
	const statics = 3
	q := RakeDensity * RakeSpeed * RakeSpeed / 2
	zero, drift := make([]float64, n+statics), make([]float64, n+statics)
	for t := range zero {
		zero[t], drift[t] = k.Zeros*r.NormFloat64(), k.Drifts*r.NormFloat64()
	}
	var places []float64
	for i := range n {
		y := -k.Half + k.Step*float64(i)
		places = append(places, y)
		if i%5 == 0 {
			places = append(places, y)
		}
	}
	rows := 3 + len(places) + 3
	var b bytes.Buffer
	b.WriteString("time [s],traverse [mm],q_ref [Pa],p_ref [Pa]")
	for t := range n {
		fmt.Fprintf(&b, ",T%02d [Pa]", t+1)
	}
	for t := range statics {
		fmt.Fprintf(&b, ",S%02d [Pa]", t+1)
	}
	b.WriteByte('\n')
	lagged := 0.0
	last := float64(rows-2) - 1
	for row := range rows {
		on := row >= 3 && row < rows-3
		y := places[min(max(row-3, 0), len(places)-1)]
		qi := 0.0
		if on {
			qi = q * (1 + k.Wander*math.Sin(4*float64(row)/float64(rows)))
		}
		fmt.Fprintf(&b, "%d,%.3f,%.4f,101325", 5*row, 1000*y, qi)
		// Drift is 0 in the middle wind-off row before and whole in that after.
		part := (float64(row) - 1) / last
		for t := range n + statics {
			v := 0.0
			switch {
			case on && t < n:
				v = qi * (k.total(y, -k.Half+k.Step*float64(t)) + k.Noise*r.NormFloat64())
			case on:
				s := k.Field(y, k.Half*float64(t-n-1)/2)
				v = qi * (2*s.P + k.Noise*r.NormFloat64())
			default:
				v = q * k.Noise / 5 * r.NormFloat64()
			}
			switch t + 1 {
			case k.Blocked:
				v = -0.1*q + q*k.Noise/5*r.NormFloat64()
				if !on {
					v = 0
				}
			case k.Leaking:
				v *= 1 - k.Leak
			case k.Lagging:
				v = k.Lag*lagged + (1-k.Lag)*v
				lagged = v
			}
			fmt.Fprintf(&b, ",%.4f", v+zero[t]+part*drift[t])
		}
		b.WriteByte('\n')
	}
	truth = RakeTruth{zero[:n], drift[:n]}
	return b.Bytes(), k.layout(n), truth
}

// total is the total-pressure coefficient that a tube at (y, z) reads: that of the
// point Shift away along its gradient.
func (k Rake) total(y, z float64) float64 {
	at := func(y, z float64) float64 {
		s := k.Field(y, z)
		return 2*s.P + s.U*s.U + s.V*s.V + s.W*s.W
	}
	const e = 1e-6
	gy, gz := at(y+e, z)-at(y-e, z), at(y, z+e)-at(y, z-e)
	if g := math.Hypot(gy, gz); g > 1e-14 {
		y, z = y+k.Shift*gy/g, z+k.Shift*gz/g
	}
	return at(y, z)
}

func (k Rake) layout(n int) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `title = "invented wake"
[datum]
x = "1 m"
z = "%g m"
[traverse]
y = "traverse"
[reference]
q = "q_ref"
pressure = "p_ref"
time = "time"
speed = "%g m/s"
density = "%g kg/m3"
[[tubes]]
kind = "total"
diameter = "2 mm"
first = "0 mm"
step = "%g mm"
columns = [`, -k.Half, RakeSpeed, RakeDensity, 1000*k.Step)
	for t := range n {
		fmt.Fprintf(&b, "\"T%02d\", ", t+1)
	}
	fmt.Fprintf(&b, "]\n[[tubes]]\nkind = \"static\"\ncolumns = [\"S01\", \"S02\", \"S03\"]\nalong = [\"%g m\", \"%g m\", \"%g m\"]\n", k.Half/2, k.Half, 3*k.Half/2)
	return b.Bytes()
}
