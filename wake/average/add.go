package average

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
)

// positionTolerance is how far a sample may lie from its place in the first
// snapshot, as a part of the largest coordinate's size or extent: the rounding of
// seven digits.
const positionTolerance = 1e-6

// maxPosition bounds coordinates, in m, so that no area overflows.
const maxPosition = 1e9

// Averager takes snapshots up one by one.
type Averager struct {
	// Only, if not nil, says which numbers of the record Run reads and adds.
	Only func(number int) bool

	opt   Options
	state *State
	in    *integrals
}

// New makes an Averager. The error is about options (*wake.InputError).
func New(opt Options) (*Averager, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	if r := opt.Reference; r != nil {
		opt.Reference = &wake.Freestream{Speed: r.Speed, Density: r.Density, Pressure: r.Pressure}
	}
	return &Averager{opt: opt}, nil
}

// State is what was taken up so far; nil before the first snapshot. It is shared
// with the Averager.
func (a *Averager) State() *State { return a.state }

// Add takes up a snapshot as number index of the record; numbers start at 1 and
// must not repeat. The samples are not kept. Errors are *wake.InputError and name
// the file, and where it has one the line; the state is then as before.
//
// Positions and the quantities must be those of the first snapshot. Values must
// be finite and within the bounds that doc.go states. u is required.
func (a *Averager) Add(index int, s *wake.Samples) error {
	if index < 1 {
		return wake.Refuse(s.File, "numbers start at 1: give --first", "snapshot number %d", index)
	}
	if p := staticPressure(s, a.opt.Reference); p != nil {
		own := *s
		own.Col[wake.P] = p
		s = &own
	}
	st, in, err := a.state, a.in, error(nil)
	if st == nil {
		st, in, err = a.begin(s)
	} else {
		err = st.same(s)
	}
	if err != nil {
		return err
	}
	at, taken := slices.BinarySearchFunc(st.head.Entries, entry{Index: int64(index)}, byIndex)
	if taken {
		return wake.Refuse(s.File, "number each snapshot once", "snapshot number %d is taken by %s", index, st.head.Entries[at].Name)
	}
	if st.Snapshots() >= maxSnapshots {
		return wake.Refuse(s.File, "average parts of the record and compare them", "there are %d snapshots already, the most that the sums hold", maxSnapshots)
	}
	qs := st.head.Quantities
	cols := make([][]float64, len(qs))
	for k, q := range qs {
		cols[k] = s.Col[q]
		if err := bounded(s, q); err != nil {
			return err
		}
	}
	name := filepath.Base(s.File)
	e := entry{Index: int64(index), Name: strings.ToValidUTF8(name, "·")}
	if in != nil {
		e.Integrals = in.take(s.Col[wake.U], s.Col[wake.P], s.Col[wake.Rho], nil)
	}
	for _, i := range probe(s.N) {
		e.Probes = append(e.Probes, s.Col[wake.U][i])
	}
	st.add(cols, qs)
	st.blocks.add(e.Index, cols, qs)
	st.head.Entries = slices.Insert(st.head.Entries, at, e)
	if at == 0 {
		// The positions are those of the lowest number, so that they do not depend on
		// the order.
		for k := range st.pos {
			copy(st.pos[k], s.Col[k])
		}
	}
	st.head.note(s)
	a.state, a.in = st, in
	return nil
}

func (a *Averager) begin(s *wake.Samples) (*State, *integrals, error) {
	if !s.Has(wake.U) {
		return nil, nil, wake.Refuse(s.File, `name its column with --column u="NAME [m/s]"`, "no u")
	}
	st := &State{head: header{Samples: s.N, CellValues: s.CellValues, Options: a.opt}}
	for q := range wake.NumQuantities {
		if quantum[q] > 0 && s.Has(q) {
			st.head.Quantities = append(st.head.Quantities, q)
		}
	}
	for q := wake.X; q <= wake.Z; q++ {
		st.pos[q] = slices.Clone(s.Col[q])
	}
	st.acc = make([]uint64, s.N*stride(st.head.Quantities))
	if a.opt.Reference == nil {
		return st, nil, nil
	}
	if !s.Has(wake.P) {
		return nil, nil, wake.Refuse(s.File, "export p, or average without --speed, --density and --pressure", "no pressure: the momentum integral is not computable")
	}
	in, err := newIntegrals(s, a.opt)
	return st, in, err
}

func (st *State) same(s *wake.Samples) error {
	for q := range wake.NumQuantities {
		has, had := s.Has(q), slices.Contains(st.head.Quantities, q)
		if quantum[q] > 0 && has != had {
			verb, other := "has no", "has"
			if has {
				verb, other = "has", "lacks"
			}
			return wake.Refuse(s.File, "export all snapshots with the same columns", "it %s %s, which %s %s", verb, q, st.name(), other)
		}
	}
	if s.CellValues != st.head.CellValues {
		return wake.Refuse(s.File, "export all snapshots alike", "values belong to cells here and to points in %s, or the other way round", st.name())
	}
	return samePlaces(s, st.pos, st.name())
}

func samePlaces(s *wake.Samples, pos [3][]float64, first string) error {
	n, tol := len(pos[0]), tolerance(pos)
	cure, number := "export all snapshots at the same points and in the same order", ""
	if s.N != n {
		number = fmt.Sprintf("%d samples, where %s has %d", s.N, first, n)
	}
	if s.Dropped > 0 { // the usual cause of missing samples
		cure += fmt.Sprintf(" (%d rows without a value were left out here)", s.Dropped)
	}
	for i := range min(n, s.N) {
		var d float64
		for k := range pos {
			d = max(d, math.Abs(s.Col[k][i]-pos[k][i]))
		}
		if !(d <= tol) {
			text := fmt.Sprintf("is not where sample %d of %s is, at (%.7g, %.7g, %.7g) m, but %.3g m off", i+1, first, pos[0][i], pos[1][i], pos[2][i], d)
			if number != "" {
				text += "; there are " + number
			}
			return at1(s, i, text, cure)
		}
	}
	if number != "" {
		return wake.Refuse(s.File, cure, "%s", number)
	}
	return nil
}

func tolerance(pos [3][]float64) float64 {
	var size float64
	for _, c := range pos {
		lo, hi := slices.Min(c), slices.Max(c)
		size = max(size, math.Abs(lo), math.Abs(hi), hi-lo)
	}
	return positionTolerance * size
}

func at1(s *wake.Samples, i int, text, cure string) error {
	return &wake.InputError{File: s.File, Line: s.Line(i), Text: fmt.Sprintf("sample %d, at (%.7g, %.7g, %.7g) m, %s", i+1, s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i], text), Cure: cure}
}

// bounded refuses values that the sums cannot hold, NaN among them.
func bounded(s *wake.Samples, q wake.Quantity) error {
	limit := math.Ldexp(1, valueBits-quantum[q])
	for i, v := range s.Col[q] {
		if !(math.Abs(v) <= limit) {
			return at1(s, i, fmt.Sprintf("has %s = %g %s, where a number up to %g is expected", q, v, q.Unit(), limit),
				fmt.Sprintf(`check the unit, as in --column %s="NAME [%s]"`, q, q.Unit()))
		}
	}
	return nil
}

// note keeps what the result has to say of the snapshots. It does not depend on
// their order.
func (h *header) note(s *wake.Samples) {
	if s.Has(wake.K) || s.Has(wake.UU) || s.Has(wake.VV) || s.Has(wake.WW) {
		h.Stress = true
	}
	if rho := s.Col[wake.Rho]; rho != nil {
		r := [2]float64{slices.Min(rho), slices.Max(rho)}
		if h.Density != nil {
			r = [2]float64{min(r[0], h.Density[0]), max(r[1], h.Density[1])}
		}
		h.Density = &r
	}
}

// add adds the columns to the sums, over all cores.
func (s *State) add(cols [][]float64, qs []wake.Quantity) {
	scale := grid.Fill(len(qs), func(k int) float64 { return math.Ldexp(1, quantum[qs[k]]) })
	ps, st := pairs(qs), stride(qs)
	grid.Ranges(s.head.Samples, func(lo, hi int) {
		n := make([]int64, len(qs))
		for i := lo; i < hi; i++ {
			acc := s.acc[i*st : (i+1)*st]
			for k, c := range cols {
				v := quantise(c[i], scale[k])
				n[k] = v
				add128(acc[2*k:], uint64(v), uint64(v>>63))
			}
			acc = acc[2*len(cols):]
			for k, p := range ps {
				addProduct(acc[2*k:], n[p.a], n[p.b])
			}
		}
	})
}
