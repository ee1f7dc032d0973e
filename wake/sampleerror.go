package wake

// SampleError is one source of errors of a plane's samples, as far as whoever made the
// samples knows it: the log of a rake, say.
type SampleError struct {
	// Name is the source in words, Kind that of the items of a budget: random,
	// independent (anew for each survey) or common (alike in surveys that both have a
	// source of this name).
	Name, Kind string
	// Of holds, for each quantity that the source acts on, a standard uncertainty a
	// sample, in the quantity's unit and with the sign by which it acts: what makes one
	// quantity of a sample err makes all of them err. nil where it does not act.
	Of [NumQuantities][]float64
	// Group numbers, from 0 to Groups−1, the samples that err together; nil means that
	// each errs by itself.
	Group  []int32
	Groups int
}

// FromLog ends the names of the errors that the log of a rake tells.
const FromLog = ", from the log"

// Each gives the error at the samples of another plane: sample i of that is sample from[i]
// of this one.
func (e SampleError) Each(from []int32) SampleError {
	for q, f := range e.Of {
		if f != nil {
			e.Of[q] = At(f, from)
		}
	}
	if e.Group != nil {
		e.Group = At(e.Group, from)
	}
	return e
}
