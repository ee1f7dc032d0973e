package rake

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/wake"
)

var (
	nan      = math.NaN()
	noVector = [3]float64{nan, nan, nan}
)

// probeSamples averages the rows of each probe at a place.
func (r *reduction) probeSamples() {
	for b, rows := range r.probes {
		probe := &r.lay.Probes[b]
		start := len(r.out.Samples)
		var ss, dof float64
		for p, pl := range r.places {
			group := slices.DeleteFunc(slices.Clone(pl.rows), func(i int) bool { return math.IsNaN(rows[i].Speed) })
			if len(group) == 0 {
				r.out.Counts.Missing++
				continue
			}
			y, z := onRake(probe.Along, probe.Across, probe.Angle)
			s, mean := r.sample(p, -1, probe.Name, probe.Aft, y, z), average(rows, group)
			s.Cpt, s.Cp, s.Speed, s.Velocity, s.Readings = mean.Cpt, mean.Cp, mean.Speed, mean.Velocity, mean.Readings
			for _, i := range group {
				ss += sq(rows[i].Speed - s.Speed)
			}
			dof += float64(s.Readings - 1)
			r.out.Samples = append(r.out.Samples, s)
		}
		if dof == 0 && len(r.out.Samples) > start {
			r.warn("no-repeats", "measure some positions twice", "%s measured no position twice: how well its readings repeat is not known and in no uncertainty", probe.Name)
		}
		for i := start; dof > 0 && i < len(r.out.Samples); i++ {
			s := &r.out.Samples[i]
			s.SigmaSpeed = math.Sqrt(ss/dof) / math.Sqrt(float64(s.Readings))
			s.parts[byNoise] = 2 * s.Speed * s.SigmaSpeed
		}
	}
}

func (r *reduction) readProbes() {
	for b := range r.lay.Probes {
		r.probes = append(r.probes, r.probeRows(&r.lay.Probes[b]))
	}
}

// probeRows reads a probe's columns and forms coefficients row by row. A reading outside
// the probe's acceptance is left out.
func (r *reduction) probeRows(b *Probe) []Sample {
	velocity := r.probeVelocity(b)
	var c [4][]float64
	dims := [4]wake.Dimension{wake.Pressure, wake.Pressure, wake.Angle, wake.Angle}
	for k, ref := range [4]string{b.Total, b.Static, b.Pitch, b.Yaw} {
		c[k] = r.read(ref, dims[k], true)
		if ref == "" {
			c[k] = slices.Repeat([]float64{nan}, r.n)
		}
	}
	if ours, _ := r.lay.Frame.Axis(wake.AxisX); b.Pitch != "" && ours != wake.AxisX {
		wake.Stop(&wake.InputError{File: r.lay.File, Text: fmt.Sprintf("%s has flow angles and the frame's x lies %s", b.Name, [3]string{"aft", "sideways", "upward"}[ours]), Cure: "declare a frame whose x lies fore and aft"})
	}
	out := make([]Sample, r.n)
	for i := range out {
		out[i].Speed = nan // no value
		if r.still[i] {
			continue
		}
		q := r.q[i]
		if !r.on(Rows) {
			q = r.qMean
		}
		total, static := c[0][i], c[1][i]
		if r.lay.absolute() {
			total, static = total-r.ref[i], static-r.ref[i]
		}
		w := Sample{Cpt: total / q, Cp: static / q, Velocity: velocity[i], Readings: 1}
		angle := nan // between flow and probe
		if v := w.Velocity; b.U != "" {
			w.Speed = math.Sqrt(v[0]*v[0] + orZero(v[1])*orZero(v[1]) + orZero(v[2])*orZero(v[2]))
			w.Cpt = w.Cp + w.Speed*w.Speed
			angle = math.Atan2(math.Hypot(v[1], v[2]), v[0])
		} else {
			w.Speed = math.Sqrt(math.Max(w.Cpt-w.Cp, 0))
		}
		if b.Pitch != "" {
			sp, cpitch := math.Sincos(c[2][i])
			sy, cy := math.Sincos(c[3][i])
			w.Velocity = r.lay.Frame.Vector([3]float64{0, w.Speed * cpitch * sy, w.Speed * sp})
			w.Velocity[0] = w.Speed * cpitch * cy
			angle = math.Acos(math.Min(1, cpitch*cy))
		}
		if angle > b.Acceptance {
			r.out.Counts.Outside++
			continue
		}
		out[i] = w
	}
	return out
}

// probeVelocity reads velocity components over the stream's speed: a column whose
// unit is 1 holds that ratio already; else each row is divided by its own speed,
// √(2q/ρ), where density and q are known, and by the nominal one elsewhere.
func (r *reduction) probeVelocity(b *Probe) [][3]float64 {
	out := slices.Repeat([][3]float64{noVector}, r.n)
	for k, ref := range [3]string{b.U, b.V, b.W} {
		if ref == "" {
			continue
		}
		c := r.log.find(ref)
		d := wake.Velocity
		if u, err := wake.ParseUnit(c.unit); c.unit != "" && err == nil && u.Is(wake.Dimensionless) {
			d = wake.Dimensionless
		}
		for i, x := range r.read(ref, d, true) {
			speed := r.out.Reference.Speed
			if rho := r.lay.Reference.Density; r.on(Rows) && !math.IsNaN(rho) && r.q[i] > 0 {
				speed = math.Sqrt(2 * r.q[i] / rho)
			}
			if d == wake.Velocity {
				x /= speed
			}
			out[i][k] = x
		}
	}
	if b.U == "" {
		return out
	}
	for i, v := range out {
		out[i] = r.lay.Frame.Vector(v)
	}
	return out
}
