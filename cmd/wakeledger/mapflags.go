package main

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// mapFlags choose what --out draws.
type mapFlags struct {
	quantities []string
	size       string
	pixels     image.Point
}

func addMapFlags(fs *pflag.FlagSet) *mapFlags {
	m := &mapFlags{}
	fs.StringSliceVar(&m.quantities, "map", measure.DefaultMaps, "`LIST` of maps that --out draws: "+strings.Join(measure.MapQuantities, ", ")+", or none")
	fs.StringVar(&m.size, "size", "1600x900", "`WIDTHxHEIGHT` of a map in pixels")
	return m
}

// check reads the size and refuses unknown maps.
func (m *mapFlags) check() error {
	w, h, ok := strings.Cut(m.size, "x")
	x, err1 := strconv.Atoi(w)
	y, err2 := strconv.Atoi(h)
	if !ok || err1 != nil || err2 != nil || x < 480 || y < 300 || x > 8000 || y > 8000 {
		return &usageError{fmt.Sprintf("--size %q", m.size), "WIDTHxHEIGHT in pixels is expected, from 480x300 to 8000x8000"}
	}
	m.pixels = image.Pt(x, y)
	if slices.Equal(m.quantities, []string{"none"}) {
		m.quantities = nil
	}
	for _, q := range m.quantities {
		if !slices.ContainsFunc(measure.MapQuantities, func(s string) bool { return strings.EqualFold(s, q) }) {
			return &usageError{fmt.Sprintf("--map %q is not known", q), "one of " + strings.Join(measure.MapQuantities, ", ") + " is expected"}
		}
	}
	return nil
}

func (m *mapFlags) options() atlas.Options {
	return atlas.Options{Quantities: m.quantities, Size: m.pixels}
}

// planeName is the base of a plane's file names: the file without folder and
// endings, with the part.
func planeName(p *wake.Plane) string {
	base := filepath.Base(p.File)
	for _, end := range []string{".gz", ".zst", ".csv", ".txt", ".dat", ".tsv"} {
		base = strings.TrimSuffix(base, end)
	}
	if p.Part > 0 {
		base += "_" + strconv.Itoa(p.Part)
	}
	return base
}

// table adds a file that a function writes.
func (o *output) table(name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	o.add(name, b.Bytes())
	return nil
}

// count notes what was worked on.
func (c *clock) count(results []*measure.Result) {
	for _, r := range results {
		c.line.Samples += r.Samples
		c.line.Elements += r.Mesh.Elements
		c.line.Area += r.Mesh.Area
		if r.Wake != nil && r.Wake.MomentumArea != nil {
			c.line.Integral += *r.Wake.MomentumArea
		}
	}
}
