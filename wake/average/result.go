package average

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/survey"
	"wakeledger/wake/uncertainty"
)

// Limits of the doubts.
const (
	// densityVaries: the density counts as constant within this part.
	densityVaries = 1e-6
)

// Result is the time mean with what is known of its uncertainty. Its JSON form is
// part of the command's contract; what is not computable is absent and a warning says
// why.
type Result struct {
	// Snapshots were averaged; their numbers run from First to Last, and Missing
	// numbers between are not there. Files names the first and last of them.
	Snapshots int       `json:"snapshots"`
	First     int64     `json:"first"`
	Last      int64     `json:"last"`
	Missing   int64     `json:"missing"`
	Files     [2]string `json:"files"`
	Samples   int       `json:"samples"`
	// Quantities of which there is a mean, Stresses that are resolved.
	Quantities []string `json:"quantities"`
	Stresses   []string `json:"stresses"`
	// TimeStep is the time between neighbouring numbers, s.
	TimeStep  *float64   `json:"time_step_s,omitempty"`
	Reference *Reference `json:"reference,omitempty"`
	// Series are those of the momentum integral: "whole" and the regions.
	Series   []Series       `json:"series"`
	Warnings []wake.Warning `json:"-"`

	// Blocks is into how many parts the record is cut for the uncertainty of what is
	// measured on the mean plane; 0 where it is not, and a warning says why.
	Blocks int `json:"blocks"`

	index  []int64         // of the snapshots
	names  []string        // of their files
	mean   *wake.Samples   // the mean plane
	beside []survey.Column // what samples do not hold: shear stresses, the uncertainty of u
	blocks *wake.Blocks
}

// Reference is that of the momentum integrals.
type Reference struct {
	Speed    float64 `json:"speed_m_s"`
	Density  float64 `json:"density_kg_m3"`
	Pressure float64 `json:"pressure_pa"`
	Symmetry string  `json:"symmetry"`
	Support  string  `json:"support"`
}

// Series is the momentum integral of each snapshot over the whole plane or a
// region, m², without <u'u'>, since an instantaneous field has none.
type Series struct {
	Name string `json:"name"`
	uncertainty.TimeMean
	// ScaleSnapshots and ScaleSeconds are the integral time scale in numbers, and in s where
	// the time step is known.
	ScaleSnapshots float64  `json:"time_scale_snapshots"`
	ScaleSeconds   *float64 `json:"time_scale_s,omitempty"`
	// States are there where the record switches between two.
	States *uncertainty.States `json:"states,omitempty"`
	// MeanPlane is the integral of the mean plane with its resolved stress: the same
	// as the mean of the series but for rounding, if the density is constant.
	MeanPlane *float64 `json:"mean_plane_m2,omitempty"`

	values []float64
}

// uncertaintyColumn is the name of the column with the standard uncertainty of
// the mean u. Readers of surveys do not know it and pass it over.
const uncertaintyColumn = "standard_uncertainty_of_mean_u"

// Result works out the means and all that depends on them. The error is about the
// positions (*wake.InputError): samples that lie on no plane, for example.
func (s *State) Result() (*Result, error) {
	h := &s.head
	n := len(s.head.Entries)
	r := &Result{
		Snapshots: n, First: s.head.Entries[0].Index, Last: s.head.Entries[n-1].Index,
		Files: [2]string{s.head.Entries[0].Name, s.head.Entries[n-1].Name}, Samples: h.Samples,
		Stresses: []string{}, Series: []Series{},
	}
	r.Missing = r.Last - r.First + 1 - int64(n)
	if h.Options.TimeStep > 0 {
		r.TimeStep = &h.Options.TimeStep
	}
	for _, q := range h.Quantities {
		r.Quantities = append(r.Quantities, q.String())
	}
	for _, e := range s.head.Entries {
		r.index, r.names = append(r.index, e.Index), append(r.names, e.Name)
	}
	s.means(r)
	if n == 1 {
		r.warn("one-snapshot", "give more snapshots", "one snapshot has neither stresses nor an uncertainty: it is written as it is")
	}
	r.doubtRecord(s)
	if err := r.series(s); err != nil {
		return nil, err
	}
	r.cut(s)
	return r, nil
}

func (r *Result) warn(code, cure, format string, a ...any) {
	r.Warnings = append(r.Warnings, wake.Doubt(code, r.Files[0], cure, format, a...))
}

func (s *State) means(r *Result) {
	qs := s.head.Quantities
	st, count := stride(qs), uint64(s.Snapshots())
	r.mean = s.places(r.Files[0])
	each := func(of func(e *exact, acc []uint64) float64) []float64 {
		out := make([]float64, s.head.Samples)
		grid.Ranges(len(out), func(lo, hi int) {
			var e exact
			for i := lo; i < hi; i++ {
				out[i] = of(&e, s.acc[i*st:(i+1)*st])
			}
		})
		return out
	}
	for k, q := range qs {
		unit := math.Ldexp(1, -quantum[q])
		r.mean.Col[q] = each(func(e *exact, acc []uint64) float64 { return nearest(e.set(&e.a, acc[2*k:])) / float64(count) * unit })
	}
	if count < 2 {
		return
	}
	for k, pr := range pairs(qs) {
		r.Stresses = append(r.Stresses, pr.name)
		unit := math.Ldexp(1, -quantum[qs[pr.a]]-quantum[qs[pr.b]])
		v := each(func(e *exact, acc []uint64) float64 {
			return nearest(e.coMoment(count, acc[2*(len(qs)+k):], acc[2*pr.a:], acc[2*pr.b:])) / float64(count) / float64(count) * unit
		})
		if q, ok := wake.ParseQuantity(pr.name); ok {
			r.mean.Col[q] = v
		} else {
			r.beside = append(r.beside, survey.Column{Name: pr.name, Unit: wake.UU.Unit(), Values: v, Digits: digits})
		}
	}
}

func (r *Result) doubtRecord(s *State) {
	h := &s.head
	if r.Missing > 0 {
		r.warn("missing-snapshots", "average them too, or number the parts with --first",
			"%d of the numbers from %d to %d are missing; the time scale rests on the pairs that are there", r.Missing, r.First, r.Last)
	}
	seen := map[string]entry{} // by what they hold
	for _, e := range s.head.Entries {
		values := fmt.Sprint(e.Integrals, e.Probes)
		if first, ok := seen[values]; ok {
			r.warn("repeated-snapshot", "give each snapshot once", "snapshots %d (%s) and %d (%s) hold the same values", first.Index, first.Name, e.Index, e.Name)
			continue
		}
		seen[values] = e
	}
	if h.Stress {
		r.warn("stress-left-out", "add modelled stresses to the mean by hand, if they are not small",
			"the snapshots hold stresses or k of their own; the mean has the resolved stresses alone")
	}
	qs := h.Quantities
	if !slices.Contains(qs, wake.P) && (slices.Contains(qs, wake.Pt) || slices.Contains(qs, wake.Cpt)) {
		r.warn("pressure-from-total", "export the static pressure of the snapshots, or its coefficient",
			"there is no static pressure, and the mean total pressure holds the kinetic energy of the fluctuations: the mean static pressure is not computable from the means")
	}
	if d := h.Density; d != nil && d[1]-d[0] > densityVaries*math.Abs(d[1]) {
		r.warn("density-varies", "export density-weighted means from the solver for a flow of variable density",
			"the density runs from %.6g to %.6g kg/m3, and the means are plain time means: the integral of the mean plane is not that of the snapshots", d[0], d[1])
	}
}

// seconds is a time in snapshots in s, or nil without a time step.
func (s *State) seconds(scale float64) *float64 {
	if !(s.head.Options.TimeStep > 0) {
		return nil
	}
	return new(scale * s.head.Options.TimeStep)
}

func (r *Result) series(s *State) error {
	opt := &s.head.Options
	if opt.Reference == nil {
		r.warn("no-reference", "give --speed, --density and --pressure", "without a reference there is no time series of the momentum integral")
		return nil
	}
	r.Reference = &Reference{Speed: opt.Reference.Speed, Density: opt.Reference.Density, Pressure: opt.Reference.Pressure, Symmetry: "full", Support: opt.Plane.Support.String()}
	if opt.Half {
		r.Reference.Symmetry = "half"
	}
	in, err := newIntegrals(s.places(r.Files[0]), *opt)
	if err != nil {
		return err
	}
	m := &r.mean.Col
	mean := in.take(m[wake.U], m[wake.P], m[wake.Rho], m[wake.UU])
	names := []string{"whole"}
	for _, g := range opt.Regions {
		names = append(names, g.Name)
	}
	for k, name := range names {
		if k == 0 && in.cutsBody {
			r.warn("cuts-body", "give --region for the parts of the plane that matter", "the plane cuts the body, so it has no total drag")
			continue
		}
		v := Series{Name: name, MeanPlane: &mean[k]}
		for _, e := range s.head.Entries {
			v.values = append(v.values, e.Integrals[k])
		}
		v.TimeMean = *uncertainty.NewTimeMean(r.index, v.values, s.blocks.counts())
		v.ScaleSnapshots, v.ScaleSeconds = v.Scale, s.seconds(v.Scale)
		if v.States = uncertainty.NewStates(r.index, v.values, v.Scale); v.States != nil {
			r.warn("two-states", "average each state by itself, with --state 1 and --state 2, and compare these", "%s: %s", v.Name, v.States.Sentence("m²"))
		}
		r.Series = append(r.Series, v)
	}
	return nil
}

// Numbers are those of the snapshots, in order.
func (r *Result) Numbers() []int64 { return r.index }
