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
func (c *Samplers) get(m *grid.Mesh, box grid.Box, w, h int) (*Sampler, error) {
	make := func() (*Sampler, error) { return NewSampler(m, box, w, h) }
	if c == nil {
		return make()
	}
	once, _ := c.held.LoadOrStore(samplerKey{m, box, w, h}, sync.OnceValues(make))
	return once.(func() (*Sampler, error))()
}
