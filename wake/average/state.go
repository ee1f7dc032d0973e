package average

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// quantum is the power of two of the step in which a quantity is counted; 0 where no mean of
// it is kept.
var quantum = [wake.NumQuantities]int{wake.U: 40, wake.V: 40, wake.W: 40, wake.P: 28, wake.Pt: 28, wake.Cp: 40, wake.Cpt: 40, wake.Rho: 40}

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
	if o.Plane.Support > grid.Cells {
		return wake.Refuse("", "give --support cells or nodes", "the support is %d", o.Plane.Support)
	}
	m := measure.Options{Reference: wake.Freestream{Speed: 1, Density: 1}, Regions: o.Regions}
	if o.Reference != nil {
		m.Reference = *o.Reference
	}
	m.Reference.TotalPressure = math.NaN()
	return m.Check()
}

// State is what is kept of any number of snapshots. States of parts of a record
// merge to that of the whole (Merge), and travel in files (Encode, Decode).
type State struct {
	head header
	pos  [3][]float64
	// acc has 2 words for each sum of each sample: those of the quantities, then
	// those of pairs.
	acc    []uint64
	blocks blocks
}

// header is what a state says of itself; its JSON form stands at the head of the
// file.
type header struct {
	Samples    int             `json:"samples"`
	Quantities []wake.Quantity `json:"quantities"` // in their order
	CellValues bool            `json:"cell_values"`
	Options    Options         `json:"options"`
	// Density is the least and greatest density met, where there is a density.
	Density *[2]float64 `json:"density_kg_m3"`
	// Stress is true when the snapshots had a stress or k of their own.
	Stress bool `json:"stress_left_out"`
	// Entries are the snapshots in order of their numbers.
	Entries []entry `json:"snapshots"`
}

// entry is what is kept of one snapshot.
type entry struct {
	Index int64  `json:"number"` // in the record, from 1
	Name  string `json:"file"`   // without folder
	// Integrals are the drag areas of the whole and of each region, Probes the axial
	// velocity at a few samples.
	Integrals []float64 `json:"drag_areas_m2"`
	Probes    []float64 `json:"probes_m_s"`
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
func (s *State) Snapshots() int { return len(s.head.Entries) }

// name is that of the snapshot whose positions the state has.
func (s *State) name() string { return s.head.Entries[0].Name }

func byIndex(a, b entry) int { return cmp.Compare(a.Index, b.Index) }
