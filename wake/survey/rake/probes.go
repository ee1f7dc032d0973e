package rake

import (
	"fmt"
	"math"

	"wakeledger/wake"
)

// probeRow is what a multi-hole probe says in a row, over U and q; NaN where a value
// lacks.
type probeRow struct {
	cpt, cp  float64
	velocity [3]float64
	speed    float64
}

// probeSamples makes one sample of each probe at each place.
func (r *reduction) probeSamples() ([]Sample, error) {
	var out []Sample
	for b := range r.lay.Probes {
		rows, err := r.probeRows(&r.lay.Probes[b])
		if err != nil {
			return nil, err
		}
		var group []Sample
		var ss, dof float64
		for p, pl := range r.places {
			s, n := r.probeMean(&r.lay.Probes[b], rows, p)
			if n == 0 {
				r.out.Counts.Missing++
				continue
			}
			for _, i := range pl.rows {
				if v := rows[i].speed; !math.IsNaN(v) && n > 1 {
					ss += (v - s.Speed) * (v - s.Speed)
				}
			}
			dof += n - 1
			group = append(group, s)
		}
		if dof > 0 {
			noise := math.Sqrt(ss / dof)
			for i := range group {
				s := &group[i]
				s.SigmaSpeed = noise / math.Sqrt(float64(s.Readings))
				s.parts[byNoise] = 2 * s.Speed * s.SigmaSpeed
			}
		} else if len(group) > 0 {
			r.warn("no-repeats", "measure some positions twice", "%s measured no position twice: how well its readings repeat is not known and in no uncertainty", r.lay.Probes[b].Name)
		}
		out = append(out, group...)
	}
	return out, nil
}

// probeRows reads a probe's columns and forms coefficients row by row.
func (r *reduction) probeRows(b *Probe) ([]probeRow, error) {
	nan := math.NaN()
	col := func(ref string, d wake.Dimension) ([]float64, error) {
		if ref != "" {
			return r.read(ref, d, true)
		}
		v := make([]float64, r.n)
		for i := range v {
			v[i] = nan
		}
		return v, nil
	}
	var c [4][]float64
	var err error
	refs, dims := [4]string{b.Total, b.Static, b.Pitch, b.Yaw}, [4]wake.Dimension{wake.Pressure, wake.Pressure, wake.Angle, wake.Angle}
	for k := range refs {
		if c[k], err = col(refs[k], dims[k]); err != nil {
			return nil, err
		}
	}
	velocity, err := r.probeVelocity(b)
	if err != nil {
		return nil, err
	}
	if ours, _ := r.lay.Frame.Axis(wake.AxisX); b.Pitch != "" && ours != wake.AxisX {
		return nil, &wake.InputError{File: r.lay.File, Text: fmt.Sprintf("%s has flow angles and the frame's x lies %s", b.Name, [3]string{"aft", "sideways", "upward"}[ours]), Cure: "declare a frame whose x lies fore and aft"}
	}
	out := make([]probeRow, r.n)
	for i := range out {
		w := &out[i]
		*w = probeRow{nan, nan, velocity[i], nan}
		if r.still[i] {
			w.velocity = [3]float64{nan, nan, nan}
			continue
		}
		q := r.q[i]
		if !r.on(Rows) {
			q = r.qMean
		}
		over := func(x float64) float64 {
			if r.lay.absolute() {
				x -= r.ref[i]
			}
			return x / q
		}
		w.cp = over(c[1][i])
		if b.U != "" {
			v := w.velocity
			w.speed = math.Sqrt(v[0]*v[0] + orZero(v[1])*orZero(v[1]) + orZero(v[2])*orZero(v[2]))
			w.cpt = w.cp + w.speed*w.speed
			if !math.IsNaN(b.Acceptance) && math.Atan2(math.Hypot(v[1], v[2]), v[0]) > b.Acceptance {
				r.reject(w)
			}
			continue
		}
		w.cpt = over(c[0][i])
		w.speed = math.Sqrt(math.Max(w.cpt-w.cp, 0))
		if math.IsNaN(w.cpt - w.cp) {
			w.speed = nan
		}
		if b.Pitch == "" {
			continue
		}
		sp, cpitch := math.Sincos(c[2][i])
		sy, cy := math.Sincos(c[3][i])
		v := r.lay.Frame.Vector([3]float64{0, w.speed * cpitch * sy, w.speed * sp})
		v[0] = w.speed * cpitch * cy
		w.velocity = v
		if !math.IsNaN(b.Acceptance) && math.Acos(math.Min(1, cpitch*cy)) > b.Acceptance {
			r.reject(w)
		}
	}
	return out, nil
}

// reject empties a reading outside the probe's acceptance.
func (r *reduction) reject(w *probeRow) {
	r.out.Counts.Outside++
	nan := math.NaN()
	*w = probeRow{nan, nan, [3]float64{nan, nan, nan}, nan}
}

// probeVelocity reads velocity components over the stream's speed: a column whose
// unit is 1 holds that ratio already; else each row is divided by its own speed,
// √(2q/ρ), where density and q are known, and by the nominal one elsewhere.
func (r *reduction) probeVelocity(b *Probe) ([][3]float64, error) {
	nan := math.NaN()
	out := make([][3]float64, r.n)
	for i := range out {
		out[i] = [3]float64{nan, nan, nan}
	}
	for k, ref := range [3]string{b.U, b.V, b.W} {
		if ref == "" {
			continue
		}
		c, err := r.log.find(ref)
		if err != nil {
			return nil, err
		}
		ratio := false
		if c.unit != "" {
			u, err := wake.ParseUnit(c.unit)
			ratio = err == nil && u.Is(wake.Dimensionless)
		}
		d := wake.Velocity
		if ratio {
			d = wake.Dimensionless
		}
		v, err := r.read(ref, d, true)
		if err != nil {
			return nil, err
		}
		for i, x := range v {
			if !ratio {
				speed := r.out.Reference.Speed
				if rho := r.lay.Reference.Density; r.on(Rows) && rho == rho && r.q[i] > 0 {
					speed = math.Sqrt(2 * r.q[i] / rho)
				}
				x /= speed
			}
			out[i][k] = x
		}
	}
	if b.U == "" {
		return out, nil
	}
	for i, v := range out {
		miss := [3]bool{false, math.IsNaN(v[1]), math.IsNaN(v[2])}
		w := r.lay.Frame.Vector([3]float64{v[0], orZero(v[1]), orZero(v[2])})
		for a := wake.AxisY; a <= wake.AxisZ; a++ {
			if ours, _ := r.lay.Frame.Axis(a); miss[a] {
				w[ours] = nan
			}
		}
		out[i] = w
	}
	return out, nil
}

// probeMean averages the readings of a place.
func (r *reduction) probeMean(b *Probe, rows []probeRow, p int) (Sample, float64) {
	pl := r.places[p]
	y, z := onRake(b.Along, b.Across, b.Angle)
	at := r.lay.place(pl.datum, pl.roll, b.Aft, y, z)
	s := Sample{X: at[0], Y: at[1], Z: at[2], Tube: b.Name, tube: -1, origin: r.origin(-1), place: p, log: r.number}
	n := 0.0
	for _, i := range pl.rows {
		w := rows[i]
		if math.IsNaN(w.speed) {
			continue
		}
		n++
		s.Cpt += w.cpt
		s.Cp += w.cp
		s.Speed += w.speed
		for k := range 3 {
			s.Velocity[k] += w.velocity[k]
		}
	}
	s.Cpt, s.Cp, s.Speed = s.Cpt/n, s.Cp/n, s.Speed/n
	for k := range 3 {
		s.Velocity[k] /= n
	}
	s.Readings = int(n)
	return s, n
}
