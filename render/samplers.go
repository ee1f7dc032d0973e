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
func (c *Samplers) get(m *grid.Mesh, box grid.Box, w, h int) (*Sampler, error) {
	make := func() (*Sampler, error) { return NewSampler(m, box, w, h) }
	if c == nil {
		return make()
	}
	once, _ := c.held.LoadOrStore(samplerKey{m, box, w, h}, sync.OnceValues(make))
	return once.(func() (*Sampler, error))()
}

// Painted keeps the panels that were painted, so that a page that shows one again at the
// same size copies it. It keeps their pages alive, up to keptPixels of panels. The zero
// value is ready; it may be used by several goroutines.
type Painted struct {
	mu     sync.Mutex
	held   []paintedPanel
	pixels int
}

const keptPixels = 16_000_000

type paintedPanel struct {
	panel        Panel
	box          grid.Box
	ground, body bool
	em           int
	theme        Theme
	img          *image.RGBA
	bodySeen     bool
	texts        []image.Rectangle
}

// alike says whether both panels, with marks and at their sizes, look the same. Fields are
// large: they have to be the same one.
func (a *paintedPanel) alike(b *paintedPanel) bool {
	return a.panel.Mesh == b.panel.Mesh && a.panel.Mesh != nil && &a.panel.Values[0] == &b.panel.Values[0] && a.panel.Vectors == b.panel.Vectors &&
		a.img.Rect == b.img.Rect && a.box == b.box && a.ground == b.ground && a.body == b.body && a.em == b.em && a.theme == b.theme && reflect.DeepEqual(a.panel, b.panel)
}

// paint is paintPanel, or a copy of what it made of such a panel before. A nil receiver
// keeps nothing.
func (c *Painted) paint(p *Panel, v View, box grid.Box, img *image.RGBA, on *canvas) (body bool, err error) {
	if c == nil {
		return paintPanel(p, v, box, img, on)
	}
	q := paintedPanel{panel: *p, box: box, ground: v.Ground, body: v.Body, em: on.em, theme: on.theme, img: img}
	q.panel.Heading = ""
	c.mu.Lock()
	k := slices.IndexFunc(c.held, func(old paintedPanel) bool { return old.alike(&q) })
	if k >= 0 {
		q = c.held[k]
	}
	c.mu.Unlock()
	if k >= 0 {
		draw.Draw(img, img.Rect, q.img, image.Point{}, draw.Src)
		on.onMap = append(on.onMap, q.texts)
		return q.bodySeen, nil
	}
	if q.bodySeen, err = paintPanel(p, v, box, img, on); err != nil {
		return false, err
	}
	q.texts = on.onMap[len(on.onMap)-1]
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.pixels += img.Rect.Dx() * img.Rect.Dy(); c.pixels <= keptPixels {
		c.held = append(c.held, q)
	}
	return q.bodySeen, nil
}
