package main

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/grid/isoline"
	"wakeledger/render"
	"wakeledger/render/atlas"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// mapFlags choose what --out draws.
type mapFlags struct {
	quantities []string
	size       string
	dpi        float64
	theme      string
	silhouette string
	vectors    bool
	limits     []string
	levels     []string
	changes    []string
	window     []string
	opt        atlas.Options
}

func addMapFlags(fs *pflag.FlagSet) *mapFlags {
	m := &mapFlags{}
	fs.StringSliceVar(&m.quantities, "map", measure.DefaultMaps, "`LIST` of maps that --out draws: "+strings.Join(measure.MapQuantities, ", ")+", or none")
	fs.StringVar(&m.size, "size", "1600x900", "`WIDTHxHEIGHT` of a map, in pixels or in print, as in \"160 mm x 90 mm\"")
	fs.Float64Var(&m.dpi, "dpi", 0, "pixels to an inch in print; 300 for a --size in mm")
	fs.StringVar(&m.theme, "theme", "light", "page of a map: light or dark")
	fs.BoolVar(&m.vectors, "vectors", false, "draw the cross-flow over the maps")
	fs.StringVar(&m.silhouette, "silhouette", "", "`FILE` with the vehicle's outline, lines of y and z with an empty line between polylines")
	fs.StringArrayVar(&m.limits, "limits", nil, "`QUANTITY=LO,HI`, ends of the colour scale of a map (repeatable)")
	fs.StringArrayVar(&m.levels, "levels", nil, "`QUANTITY=A,B,…`, borders of the bands of a map (repeatable)")
	fs.StringArrayVar(&m.window, "window", nil, "`AXIS=LO,HI`, part of the plane that maps show, m (repeatable); \"whole\" for all; otherwise the wake and the body with a margin")
	return m
}

// addChangeFlags adds those that only a comparison can use.
func (m *mapFlags) addChangeFlags(fs *pflag.FlagSet) {
	fs.StringArrayVar(&m.changes, "change-limit", nil, "`QUANTITY=C`, changes are coloured from −C to C (repeatable)")
}

// perQuantity reads QUANTITY=A,B,… as numbers, n of them, or any number for n = 0; of a
// window the quantity is an axis.
func perQuantity(flag string, list []string, n int) (map[string][]float64, error) {
	out := map[string][]float64{}
	for _, s := range list {
		bad := func() error {
			if flag == "window" {
				return &usageError{fmt.Sprintf("--window %q", s), "AXIS=number,number is expected, rising, as in --window y=-1.5,1.5, or \"whole\""}
			}
			example := map[int]string{0: "0.2,0.5,0.9", 1: "0.2", 2: "0.2,0.9"}[n]
			return &usageError{fmt.Sprintf("--%s %q", flag, s), "QUANTITY=number,number,… is expected, rising, as in --" + flag + " Cpt=" + example}
		}
		i := strings.LastIndexByte(s, '=')
		if i < 0 {
			return nil, bad()
		}
		var v []float64
		for word := range strings.SplitSeq(s[i+1:], ",") {
			x, err := strconv.ParseFloat(strings.TrimSpace(word), 64)
			if err != nil || x-x != 0 || len(v) > 0 && !(x > v[len(v)-1]) {
				return nil, bad()
			}
			v = append(v, x)
		}
		if n > 0 && len(v) != n {
			return nil, bad()
		}
		out[s[:i]] = v
	}
	return out, nil
}

// check reads the size and refuses unknown maps.
func (m *mapFlags) check(e *env) error {
	if m.dpi != 0 && !(m.dpi >= 30 && m.dpi <= 2400) {
		return &usageError{fmt.Sprintf("--dpi %g", m.dpi), "30 to 2400 pixels to an inch are possible"}
	}
	px, dpi, err := study.ParseMapSize(m.size, m.dpi)
	if err != nil {
		return &usageError{fmt.Sprintf("--size %q %v", m.size, err), `as in 1600x900 or "160 mm x 90 mm"`}
	}
	theme, ok := themes[m.theme]
	if !ok {
		return &usageError{fmt.Sprintf("--theme %q", m.theme), "light or dark is expected"}
	}
	if slices.Equal(m.quantities, []string{"none"}) {
		m.quantities = []string{} // nil would mean those that are drawn by default
	}
	for _, q := range m.quantities {
		if !slices.ContainsFunc(measure.MapQuantities, func(s string) bool { return strings.EqualFold(s, q) }) {
			return &usageError{fmt.Sprintf("--map %q is not known", q), "one of " + strings.Join(measure.MapQuantities, ", ") + " is expected"}
		}
	}
	limits, err := perQuantity("limits", m.limits, 2)
	if err != nil {
		return err
	}
	changes, err := perQuantity("change-limit", m.changes, 1)
	if err != nil {
		return err
	}
	m.opt = atlas.Options{Quantities: m.quantities, Size: image.Pt(px[0], px[1]), DPI: dpi, Theme: theme, Vectors: m.vectors, Limits: map[string][2]float64{}, ChangeLimits: map[string]float64{}}
	if m.opt.Levels, err = perQuantity("levels", m.levels, 0); err != nil {
		return err
	}
	if m.opt.WholeWindow = slices.Equal(m.window, []string{"whole"}); !m.opt.WholeWindow {
		window, err := perQuantity("window", m.window, 2)
		if err != nil {
			return err
		}
		for axis, v := range window {
			if !slices.Contains([]string{"x", "y", "z"}, axis) {
				return &usageError{fmt.Sprintf("--window names %q", axis), "x, y or z is expected, as in --window y=-1.5,1.5"}
			}
			if m.opt.Window == nil {
				m.opt.Window = map[string][2]float64{}
			}
			m.opt.Window[axis] = [2]float64{v[0], v[1]}
		}
	}
	for q, v := range limits {
		m.opt.Limits[q] = [2]float64{v[0], v[1]}
	}
	for q, v := range changes {
		m.opt.ChangeLimits[q] = v[0]
	}
	if err := m.opt.Check(); err != nil {
		return &usageError{err.Error(), "see --help for --map, --limits and --levels"}
	}
	if m.silhouette != "" {
		e.reads(m.silhouette)
		if m.opt.Silhouette, _, err = readSilhouette(m.silhouette, m.silhouette); err != nil {
			return err
		}
	}
	return nil
}

var themes = map[string]render.Theme{"light": render.Light, "dark": render.Dark}

// readSilhouette reads the outline of the vehicle; name is what to call the file.
func readSilhouette(file, name string) ([]isoline.Line, []byte, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, &wake.InputError{File: name, Text: "the silhouette cannot be read", Cure: "check the name"}
	}
	lines, err := atlas.ReadSilhouette(name, bytes.NewReader(data))
	return lines, data, err
}

func (m *mapFlags) options() atlas.Options { return m.opt }

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
