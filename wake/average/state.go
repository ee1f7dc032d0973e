package average

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// averaged lists the quantities of which a mean is kept, in the order of their
// sums, with the power of two of their quantum.
var averaged = []struct {
	q    wake.Quantity
	bits int
}{
	{wake.U, 40}, {wake.V, 40}, {wake.W, 40}, {wake.P, 28}, {wake.Pt, 28},
	{wake.Cp, 40}, {wake.Cpt, 40}, {wake.Rho, 40},
}

// quantumBits returns b for the quantum 2⁻ᵇ of q.
func quantumBits(q wake.Quantity) int {
	for _, a := range averaged {
		if a.q == q {
			return a.bits
		}
	}
	panic("average: " + q.String() + " is not averaged")
}

// Options say what goes beside the mean fields. They must be the same for states
// that are to be merged.
type Options struct {
	// Reference, with Speed, Density and Pressure, asks for the time series of the
	// momentum integral. Nil: no series.
	Reference *wake.Freestream
	Regions   []measure.Box
	Half      bool
	// Plane says how the samples are joined for the integrals.
	Plane    wake.PlaneOptions
	TimeStep float64
}

// check refuses options that nothing can be computed with.
func (o *Options) check() error {
	if !(0 <= o.TimeStep && o.TimeStep <= 1e12) {
		return wake.Refuse("", `give --time-step, as in "29.1 ms"`, "the time step is %g s, a positive number is expected", o.TimeStep)
	}
	if !(o.Plane.Gap >= 0) || math.IsInf(o.Plane.Gap, 0) {
		return wake.Refuse("", "give --gap", "the gap factor is %g, a positive number is expected", o.Plane.Gap)
	}
	m := measure.Options{Reference: wake.Freestream{Speed: 1, Density: 1}, Regions: o.Regions}
	if o.Reference != nil {
		m.Reference = *o.Reference
	}
	m.Reference.TotalPressure = math.NaN()
	if err := m.Check(); err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, b := range o.Regions {
		if b.Name == "" || seen[b.Name] {
			return wake.Refuse("", "give each region a name of its own", "the region's name %q is empty or taken", b.Name)
		}
		seen[b.Name] = true
	}
	return nil
}

// State is what is kept of any number of snapshots. States of parts of a record
// merge to that of the whole (Merge), and travel in files (Encode, Decode).
type State struct {
	head    header
	entries []entry // in order of index
	pos     [3][]float64
	// acc has 2 words for each sum of each sample: those of the quantities, then
	// those of pairs.
	acc    []uint64
	blocks blocks
}

// header is what a state says of itself; its JSON form stands at the head of the
// file.
type header struct {
	Samples    int      `json:"samples"`
	Snapshots  int      `json:"snapshots"`
	Quantities []string `json:"quantities"`
	CellValues bool     `json:"cell_values"`
	TimeStep   float64  `json:"time_step_s"`
	Setup      *setup   `json:"setup"`
	// Density is the least and greatest density met, where there is a density.
	Density *[2]float64 `json:"density_kg_m3"`
	// Derived is true when the static pressure was worked out of other pressures.
	Derived bool `json:"pressure_derived"`
	// Stress is true when the snapshots had a stress or k of their own.
	Stress bool `json:"stress_left_out"`
	// Outlines is true when the snapshots had elements, whose outlines are not kept.
	Outlines bool `json:"outlines_left_out"`
}

// setup is the part of Options that the time series depend on.
type setup struct {
	Speed     float64  `json:"speed_m_s"`
	Density   float64  `json:"density_kg_m3"`
	Pressure  float64  `json:"pressure_pa"`
	Half      bool     `json:"half"`
	Support   string   `json:"support"`
	SupportBy string   `json:"support_by"`
	Gap       float64  `json:"gap"`
	Regions   []region `json:"regions"`
}

type region struct {
	Name string     `json:"name"`
	Y    [2]float64 `json:"y_m"`
	Z    [2]float64 `json:"z_m"`
}

func newSetup(o *Options) *setup {
	if o.Reference == nil {
		return nil
	}
	s := &setup{
		Speed: o.Reference.Speed, Density: o.Reference.Density, Pressure: o.Reference.Pressure, Half: o.Half,
		Support: o.Plane.Support.String(), SupportBy: o.Plane.SupportBy, Gap: o.Plane.Gap, Regions: []region{},
	}
	for _, b := range o.Regions {
		s.Regions = append(s.Regions, region{b.Name, [2]float64{b.Box.Min.X, b.Box.Max.X}, [2]float64{b.Box.Min.Y, b.Box.Max.Y}})
	}
	return s
}

func (h *header) options() Options {
	o := Options{TimeStep: h.TimeStep}
	s := h.Setup
	if s == nil {
		return o
	}
	o.Reference = &wake.Freestream{Speed: s.Speed, Density: s.Density, Pressure: s.Pressure}
	o.Half = s.Half
	o.Plane = wake.PlaneOptions{SupportBy: s.SupportBy, Gap: s.Gap}
	if s.Support == grid.Cells.String() {
		o.Plane.Support = grid.Cells
	}
	for _, r := range s.Regions {
		o.Regions = append(o.Regions, measure.Box{Name: r.Name, Box: grid.Box{Min: grid.Point{X: r.Y[0], Y: r.Z[0]}, Max: grid.Point{X: r.Y[1], Y: r.Z[1]}}})
	}
	return o
}

// entry is what is kept of one snapshot.
type entry struct {
	index int64  // its number in the record, from 1
	name  string // its file without folder
	hash  uint64 // of its quantised values
	// integrals are the drag areas of the whole and of each region, probes the axial
	// velocity at a few samples.
	integrals, probes []float64
}

// maxProbes is how many samples' velocities are kept over time, for the time
// scale of local velocities.
const maxProbes = 24

// probe returns the samples whose velocity is kept. Steps of the golden section
// over the sample numbers spread them over rows and columns of a lattice alike.
func probe(samples int) []int {
	const golden = 0.6180339887498949
	n := min(maxProbes, samples)
	out := make([]int, n)
	for k := range out {
		_, f := math.Modf((float64(k) + 0.5) * golden)
		out[k] = min(int(f*float64(samples)), samples-1)
	}
	return out
}

// quantities parses the header's list; the header is valid.
func (h *header) quantities() []wake.Quantity {
	out := make([]wake.Quantity, len(h.Quantities))
	for k, s := range h.Quantities {
		out[k], _ = wake.ParseQuantity(s)
	}
	return out
}

// pair is a product of two velocities: slots of the factors among the quantities,
// and the name of the stress.
type pair struct {
	a, b int
	name string
}

func pairs(qs []wake.Quantity) []pair {
	var out []pair
	for _, p := range [][2]wake.Quantity{{wake.U, wake.U}, {wake.V, wake.V}, {wake.W, wake.W}, {wake.U, wake.V}, {wake.U, wake.W}, {wake.V, wake.W}} {
		a, b := slices.Index(qs, p[0]), slices.Index(qs, p[1])
		if a >= 0 && b >= 0 {
			out = append(out, pair{a, b, p[0].String() + p[1].String()})
		}
	}
	return out
}

func stride(qs []wake.Quantity) int { return 2 * (len(qs) + len(pairs(qs))) }

// Snapshots is how many snapshots the state holds.
func (s *State) Snapshots() int { return s.head.Snapshots }

// Samples is how many samples each of them has.
func (s *State) Samples() int { return s.head.Samples }

// name is that of the snapshot whose positions the state has.
func (s *State) name() string { return s.entries[0].name }

func byIndex(a, b entry) int { return cmp.Compare(a.index, b.index) }
