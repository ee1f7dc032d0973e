package render

import (
	"sync"

	"wakeledger/grid"
)

// Samplers shares what is found out about a mesh's elements under the pixels
// between pictures of several fields: the second map of a plane needs no new
// search. The zero value is ready; it may be used by several goroutines, and it
// keeps what it holds alive.
type Samplers struct{ held sync.Map }

type samplerKey struct {
	mesh *grid.Mesh
	box  grid.Box
	w, h int
}

// get is NewSampler, once for each mesh, box and size. A nil receiver does not
// share.
func (c *Samplers) get(m *grid.Mesh, box grid.Box, w, h int) *Sampler {
	found := sync.OnceValue(func() *Sampler { return NewSampler(m, box, w, h) })
	if c != nil {
		held, _ := c.held.LoadOrStore(samplerKey{m, box, w, h}, found)
		found = held.(func() *Sampler)
	}
	return found()
}
