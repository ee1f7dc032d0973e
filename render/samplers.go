package render

import (
	"image"
	"image/draw"
	"reflect"
	"slices"
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

// Painted keeps the panels that were painted, so that a page that shows one again at the
// same size copies it. It keeps their pages alive, up to keptPixels of panels. The zero
// value is ready; it may be used by several goroutines.
type Painted struct {
	mu     sync.Mutex
	held   []painted
	pixels int
}

const keptPixels = 16_000_000

// painted is a panel with how it was looked at, and what came of it.
type painted struct {
	Panel
	look struct {
		view View
		size image.Point
		em   int
		Theme
	}
	img   *image.RGBA
	seen  shown
	texts []image.Rectangle
}

// alike says whether both panels, with marks and at their sizes, look the same. Fields are
// large: they have to be the same one.
func (a *painted) alike(b *painted) bool {
	return a.Mesh == b.Mesh && a.Mesh != nil && &a.Values[0] == &b.Values[0] && a.Vectors == b.Vectors && a.look == b.look && reflect.DeepEqual(a.Panel, b.Panel)
}

// paint is paintPanel, or a copy of what it made of such a panel before. A nil receiver
// keeps nothing.
func (c *Painted) paint(p *Panel, v View, box grid.Box, img *image.RGBA, on *canvas) shown {
	if c == nil {
		return paintPanel(p, v, box, img, on)
	}
	q := painted{Panel: *p, img: img}
	q.Heading, q.look.view, q.look.size, q.look.em, q.look.Theme = "", v, img.Rect.Size(), on.em, on.theme
	c.mu.Lock()
	k := slices.IndexFunc(c.held, func(old painted) bool { return old.alike(&q) })
	if k >= 0 {
		q = c.held[k]
	}
	c.mu.Unlock()
	if k >= 0 {
		draw.Draw(img, img.Rect, q.img, image.Point{}, draw.Src)
		on.onMap = append(on.onMap, q.texts)
		return q.seen
	}
	q.seen = paintPanel(p, v, box, img, on)
	q.texts = on.onMap[len(on.onMap)-1]
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.pixels += img.Rect.Dx() * img.Rect.Dy(); c.pixels <= keptPixels {
		c.held = append(c.held, q)
	}
	return q.seen
}
