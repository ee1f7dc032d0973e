package render

import (
	"sync"

	"wakeledger/grid"
)

// Samplers shares what is found out about a mesh's elements under the pixels
// between pictures of several fields: the second map of a plane needs no new
// search. The zero value is ready; it may be used by several goroutines, and it
// keeps what it holds alive.
type Samplers struct {
	mu   sync.Mutex
	held map[samplerKey]*samplerEntry
}

type samplerKey struct {
	mesh *grid.Mesh
	box  grid.Box
	w, h int
}

type samplerEntry struct {
	once    sync.Once
	sampler *Sampler
	err     error
}

// get is NewSampler, once for each mesh, box and size. A nil receiver does not
// share.
func (c *Samplers) get(m *grid.Mesh, box grid.Box, w, h int) (*Sampler, error) {
	if c == nil {
		return NewSampler(m, box, w, h)
	}
	key := samplerKey{m, box, w, h}
	c.mu.Lock()
	if c.held == nil {
		c.held = map[samplerKey]*samplerEntry{}
	}
	e := c.held[key]
	if e == nil {
		e = &samplerEntry{}
		c.held[key] = e
	}
	c.mu.Unlock()
	e.once.Do(func() { e.sampler, e.err = NewSampler(m, box, w, h) })
	return e.sampler, e.err
}
