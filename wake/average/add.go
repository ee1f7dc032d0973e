package average

import (
	"fmt"
	"math"
	"math/bits"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

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
	qs    []wake.Quantity
	probe []int
}

// New makes an Averager. The error is about options (*wake.InputError).
func New(opt Options) (*Averager, error) {
	if err := opt.check(); err != nil {
		return nil, err
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
		return &wake.InputError{File: s.File, Text: fmt.Sprintf("snapshot number %d", index), Cure: "numbers start at 1: give --first"}
	}
	derived := staticPressure(s, a.opt.Reference)
	column := func(q wake.Quantity) []float64 {
		if q == wake.P && derived != nil {
			return derived
		}
		return s.Col[q]
	}
	if a.state == nil {
		if err := a.begin(s, derived != nil); err != nil {
			return err
		}
	} else {
		if err := a.same(s, column); err != nil {
			return err
		}
		if err := samePlaces(s, a.state.pos, a.state.name()); err != nil {
			return err
		}
	}
	st := a.state
	at, taken := slices.BinarySearchFunc(st.entries, entry{index: int64(index)}, byIndex)
	if taken {
		return &wake.InputError{File: s.File, Text: fmt.Sprintf("snapshot number %d is taken by %s", index, st.entries[at].name), Cure: "number each snapshot once"}
	}
	if st.head.Snapshots >= maxSnapshots {
		return &wake.InputError{File: s.File, Text: fmt.Sprintf("there are %d snapshots already, the most that the sums hold", maxSnapshots), Cure: "average parts of the record and compare them"}
	}
	cols := make([][]float64, len(a.qs))
	for k, q := range a.qs {
		cols[k] = column(q)
		if err := a.bounded(s, q, cols[k]); err != nil {
			return a.abandon(err)
		}
	}
	e := entry{index: int64(index), name: base(s.File)}
	if a.in != nil {
		e.integrals = a.in.take(column(wake.U), column(wake.P), s.Col[wake.Rho], nil)
	}
	for _, i := range a.probe {
		e.probes = append(e.probes, s.Col[wake.U][i])
	}
	e.hash = st.add(cols, a.qs)
	st.blocks.add(e.index, cols, a.qs)
	st.entries = slices.Insert(st.entries, at, e)
	if at == 0 {
		// The positions are those of the lowest number, so that they do not depend on
		// the order.
		for k := range st.pos {
			copy(st.pos[k], s.Col[k])
		}
	}
	st.head.Snapshots++
	st.head.note(s)
	return nil
}

// base is a file's name without its folder, cut to what a state holds.
func base(file string) string {
	b := filepath.Base(file)
	return b[:min(len(b), maxName)]
}

// abandon forgets a state that no snapshot has been added to.
func (a *Averager) abandon(err error) error {
	if a.state.head.Snapshots == 0 {
		a.state = nil
	}
	return err
}

// begin makes the state from the first snapshot.
func (a *Averager) begin(s *wake.Samples, derived bool) error {
	for q := wake.X; q <= wake.U; q++ {
		if !s.Has(q) {
			return &wake.InputError{File: s.File, Text: "no " + q.String(), Cure: fmt.Sprintf(`name its column with --column %s="NAME [%s]"`, q, q.Unit())}
		}
	}
	if s.N < 1 {
		return &wake.InputError{File: s.File, Text: "no samples", Cure: "export the plane again"}
	}
	st := &State{head: header{Samples: s.N, CellValues: s.CellValues, TimeStep: a.opt.TimeStep, Setup: newSetup(&a.opt), Derived: derived}}
	a.qs = nil
	for _, q := range averaged {
		if s.Has(q.q) || q.q == wake.P && derived {
			a.qs = append(a.qs, q.q)
			st.head.Quantities = append(st.head.Quantities, q.q.String())
		}
	}
	for q := wake.X; q <= wake.Z; q++ {
		for i, x := range s.Col[q] {
			if !(math.Abs(x) <= maxPosition) {
				return at1(s, i, fmt.Sprintf("has %s = %g m, where a number up to %g is expected", q, x, maxPosition), "leave the sample out, or check the unit of the positions")
			}
		}
		st.pos[q] = slices.Clone(s.Col[q])
	}
	a.in = nil
	if a.opt.Reference != nil {
		if !slices.Contains(a.qs, wake.P) {
			return &wake.InputError{File: s.File, Text: "no pressure: the momentum integral cannot be had", Cure: "export p, or average without --speed, --density and --pressure"}
		}
		var err error
		if a.in, err = newIntegrals(s, a.opt); err != nil {
			return err
		}
	}
	st.acc = make([]uint64, s.N*stride(a.qs))
	a.probe = probe(s.N)
	a.state = st
	return nil
}

// same refuses a snapshot with other quantities or another number of samples.
func (a *Averager) same(s *wake.Samples, column func(wake.Quantity) []float64) error {
	first := a.state.name()
	for _, q := range averaged {
		has, had := column(q.q) != nil, slices.Contains(a.qs, q.q)
		if has != had {
			verb := "has no"
			other := "has"
			if has {
				verb, other = "has", "lacks"
			}
			return &wake.InputError{File: s.File, Text: fmt.Sprintf("the snapshot %s %s, which %s %s", verb, q.q, first, other), Cure: "export all snapshots with the same columns"}
		}
	}
	for q := wake.X; q <= wake.Z; q++ {
		if !s.Has(q) {
			return &wake.InputError{File: s.File, Text: "no " + q.String(), Cure: fmt.Sprintf(`name its column with --column %s="NAME [%s]"`, q, q.Unit())}
		}
	}
	if s.CellValues != a.state.head.CellValues {
		return &wake.InputError{File: s.File, Text: "values belong to cells here and to points in " + first + ", or the other way round", Cure: "export all snapshots alike"}
	}
	return nil
}

// samePlaces compares the positions with those of the first snapshot.
func samePlaces(s *wake.Samples, pos [3][]float64, first string) error {
	n := len(pos[0])
	tol := tolerance(pos)
	for i := range min(n, s.N) {
		var d float64
		for k := range pos {
			d = max(d, math.Abs(s.Col[k][i]-pos[k][i]))
		}
		if !(d <= tol) {
			text := fmt.Sprintf("is not where sample %d of %s is, at (%.7g, %.7g, %.7g) m, but %.3g m off", i+1, first, pos[0][i], pos[1][i], pos[2][i], d)
			if s.N != n {
				text += fmt.Sprintf("; there are %d samples, not %d", s.N, n)
			}
			return at1(s, i, text, "export all snapshots at the same points and in the same order"+dropped(s))
		}
	}
	if s.N != n {
		i := min(n, s.N)
		text := fmt.Sprintf("%d samples, where %s has %d: ", s.N, first, n)
		if s.N > n {
			text += fmt.Sprintf("sample %d, at (%.7g, %.7g, %.7g) m, is one too many", i+1, s.Col[0][i], s.Col[1][i], s.Col[2][i])
		} else {
			text += fmt.Sprintf("sample %d, at (%.7g, %.7g, %.7g) m, is missing", i+1, pos[0][i], pos[1][i], pos[2][i])
		}
		return &wake.InputError{File: s.File, Text: text, Cure: "export all snapshots at the same points and in the same order" + dropped(s)}
	}
	return nil
}

// dropped hints at the usual cause of missing samples.
func dropped(s *wake.Samples) string {
	if s.Dropped == 0 {
		return ""
	}
	return fmt.Sprintf(" (%d rows without a value were left out here)", s.Dropped)
}

// tolerance is that of positions, in m.
func tolerance(pos [3][]float64) float64 {
	var size float64
	for _, c := range pos {
		lo, hi := slices.Min(c), slices.Max(c)
		size = max(size, math.Abs(lo), math.Abs(hi), hi-lo)
	}
	return positionTolerance * size
}

// at1 is an error about sample i.
func at1(s *wake.Samples, i int, text, cure string) error {
	e := &wake.InputError{File: s.File, Text: fmt.Sprintf("sample %d, at (%.7g, %.7g, %.7g) m, %s", i+1, s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i], text), Cure: cure}
	if s.LineOf != nil {
		e.Line = s.LineOf(i)
	}
	return e
}

// bounded refuses values that the sums cannot hold, NaN among them.
func (a *Averager) bounded(s *wake.Samples, q wake.Quantity, col []float64) error {
	limit := math.Ldexp(1, valueBits-quantumBits(q))
	bad := s.N
	var mu sync.Mutex
	spread(s.N, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			if !(math.Abs(col[i]) <= limit) {
				mu.Lock()
				bad = min(bad, i)
				mu.Unlock()
				return
			}
		}
	})
	if bad == s.N {
		return nil
	}
	return at1(s, bad, fmt.Sprintf("has %s = %g %s, where a number up to %g is expected", q, col[bad], q.Unit(), limit),
		fmt.Sprintf(`check the unit, as in --column %s="NAME [%s]"`, q, q.Unit()))
}

// note keeps what the result has to say of the snapshots. It does not depend on
// their order.
func (h *header) note(s *wake.Samples) {
	if s.Has(wake.K) || s.Has(wake.UU) || s.Has(wake.VV) || s.Has(wake.WW) {
		h.Stress = true
	}
	if s.Elements != nil {
		h.Outlines = true
	}
	if rho := s.Col[wake.Rho]; rho != nil {
		r := [2]float64{slices.Min(rho), slices.Max(rho)}
		if h.Density != nil {
			r = [2]float64{min(r[0], h.Density[0]), max(r[1], h.Density[1])}
		}
		h.Density = &r
	}
}

// hashBlock is how many samples are hashed in one go.
const hashBlock = 1 << 12

// add adds the columns to the sums, over all cores, and returns a hash of the
// quantised values.
func (s *State) add(cols [][]float64, qs []wake.Quantity) uint64 {
	scale := make([]float64, len(qs))
	for k, q := range qs {
		scale[k] = math.Ldexp(1, quantumBits(q))
	}
	ps, st := pairs(qs), stride(qs)
	hashes := make([]uint64, (s.head.Samples+hashBlock-1)/hashBlock)
	spread(len(hashes), func(b0, b1 int) {
		n := make([]int64, len(qs))
		for b := b0; b < b1; b++ {
			h := uint64(b)
			for i := b * hashBlock; i < min(s.head.Samples, (b+1)*hashBlock); i++ {
				acc := s.acc[i*st : (i+1)*st]
				for k, c := range cols {
					v := quantise(c[i], scale[k])
					n[k] = v
					add128(acc[2*k:], v)
					h = mix(h, uint64(v))
				}
				acc = acc[2*len(cols):]
				for k, p := range ps {
					addProduct(acc[2*k:], n[p.a], n[p.b])
				}
			}
			hashes[b] = h
		}
	})
	h := uint64(len(qs))
	for _, x := range hashes {
		h = mix(h, x)
	}
	return h
}

// mix folds v into the hash h: multiplication by an odd constant to 128 bits,
// whose halves are joined.
func mix(h, v uint64) uint64 {
	hi, lo := bits.Mul64(h^v^0x9e3779b97f4a7c15, 0xd1342543de82ef95)
	return (hi ^ lo) + v
}

// spread calls f on pieces of 0 … n−1 on all cores. Small n is not worth it.
func spread(n int, f func(lo, hi int)) {
	workers := runtime.GOMAXPROCS(0)
	if n < 2 || workers < 2 {
		f(0, n)
		return
	}
	cuts := min(n, workers)
	var wg sync.WaitGroup
	for w := range cuts {
		wg.Go(func() { f(w*n/cuts, (w+1)*n/cuts) })
	}
	wg.Wait()
}
