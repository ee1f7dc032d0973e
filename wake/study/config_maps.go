package study

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey/settings"
)

func (d *decoder) maps(t table) Maps {
	m := Maps{Quantities: t.texts("quantities")}
	for i, q := range m.Quantities {
		if slices.ContainsFunc(measure.MapQuantities, func(s string) bool { return strings.EqualFold(s, q) }) {
			continue
		}
		cure := "maps are " + strings.Join(measure.MapQuantities, ", ")
		if near, ok := settings.Nearest(q, measure.MapQuantities); ok {
			cure = fmt.Sprintf("did you mean %q? %s", near, cure)
		}
		d.FailAt(d.Places.Of(t.at.Key("quantities").Index(i)), fmt.Sprintf("%s is no map", quote(q)), cure)
	}
	drawn := m.Quantities
	if drawn == nil {
		drawn = measure.DefaultMaps
	}
	m.Levels = byQuantity(t, "levels", drawn, func(at settings.Path, what string, v any) ([]float64, bool) {
		return t.numbers(at, what, v, dimensionless, anyNumber)
	})
	m.Limits = byQuantity(t, "limits", drawn, func(at settings.Path, what string, v any) ([2]float64, bool) {
		return t.pair(at, what, v, dimensionless)
	})
	m.ChangeLimits = byQuantity(t, "change_limits", drawn, func(at settings.Path, what string, v any) (float64, bool) {
		return t.number(at, what, v, dimensionless, positive)
	})
	if x := t.value("dpi", dimensionless, positive); x != nil {
		m.DPI = *x
		if !(minDPI <= m.DPI && m.DPI <= maxDPI) {
			t.fail("dpi", fmt.Sprintf("dpi is %g", m.DPI), fmt.Sprintf("give a number from %d to %d", minDPI, maxDPI))
			m.DPI = 0
		}
	}
	if v, ok := t.m["size"]; ok {
		m.Size, m.DPI = t.size(v, m.DPI)
	}
	m.Theme, m.Vectors, m.Single = t.word("theme", "light", "dark"), t.flag("vectors"), t.flag("single")
	if v, ok := t.text("silhouette"); ok {
		m.Silhouette = v
	}
	if t.m["window"] == "whole" {
		m.WholeWindow = true
		return m
	}
	w := t.table("window", "maps.window")
	for _, axis := range slices.Sorted(maps.Keys(w.m)) {
		if r, ok := w.pair(w.at.Key(axis), axis, w.m[axis], lengthDim); ok {
			if m.Window == nil {
				m.Window = map[string][2]float64{}
			}
			m.Window[axis] = r
		}
	}
	return m
}

// byQuantity reads a table with one entry for a mapped quantity.
func byQuantity[T any](t table, key string, quantities []string, read func(at settings.Path, what string, v any) (T, bool)) map[string]T {
	v, ok := t.m[key]
	if !ok {
		return nil
	}
	m, ok := v.(map[string]any)
	if !ok {
		t.fail(key, fmt.Sprintf("%s is %s, not a table", key, describe(v)), "write one entry for a quantity, as in "+key+" = { cpt = [0.2, 0.9] }")
		return nil
	}
	out := map[string]T{}
	for _, q := range slices.Sorted(maps.Keys(m)) {
		at := t.at.Key(key).Key(q)
		if !slices.Contains(quantities, q) {
			cure := "add it to quantities or remove the entry"
			if near, ok := settings.Nearest(q, quantities); ok {
				cure = fmt.Sprintf("did you mean %q?", near)
			}
			t.d.FailAt(t.d.Places.OfKey(at), fmt.Sprintf("%s names %s, which is not among the quantities", key, quote(q)), cure)
			continue
		}
		if x, ok := read(at, key+"."+q, m[q]); ok {
			out[q] = x
		}
	}
	return out
}

// What a picture may measure: below, its texts leave no room for a map; above, no
// one can open it.
const (
	minWidth, minHeight = 480, 300
	maxSide, maxPixels  = 16000, 100_000_000
	minDPI, maxDPI      = 30, 2400
	printDPI            = 300 // where a size in print comes without dpi; common practice, no source
	metresInch          = 0.0254
	sizeCure            = `write size = "1600x900" in pixels or "160 mm x 90 mm" in print`
)

// ParseMapSize reads the size of a map: "1600x900" in pixels, or in print,
// "160 mm x 90 mm", at dpi pixels an inch; a dpi of 0 is 300 then. It gives the
// pixels and the dpi, which stays 0 for a size in pixels without one.
//
// A picture has from 480 × 300 to 16000 × 16000 pixels, and no more than 100
// million.
func ParseMapSize(s string, dpi float64) (pixels [2]int, outDPI float64, err error) {
	w, h, ok := strings.Cut(strings.ReplaceAll(s, "×", "x"), "x")
	if !ok {
		return pixels, dpi, errors.New("is no size")
	}
	var v [2]float64
	var inPrint [2]bool
	for i, text := range []string{w, h} {
		x, unit, err := wake.ParseValue(text, wake.Length)
		if err != nil || !(x > 0) {
			return pixels, dpi, errors.New("is no size")
		}
		v[i], inPrint[i] = x, unit != ""
	}
	if inPrint[0] != inPrint[1] {
		return pixels, dpi, errors.New("has a unit on one side only")
	}
	outDPI = dpi
	if inPrint[0] {
		if outDPI == 0 {
			outDPI = printDPI
		}
		v[0], v[1] = v[0]/metresInch*outDPI, v[1]/metresInch*outDPI
	} else if v[0] != math.Trunc(v[0]) || v[1] != math.Trunc(v[1]) {
		return pixels, dpi, errors.New("has parts of pixels")
	}
	if !(v[0] >= minWidth-0.5 && v[1] >= minHeight-0.5 && v[0] <= maxSide && v[1] <= maxSide && v[0]*v[1] <= maxPixels) {
		return pixels, dpi, fmt.Errorf("is %.0f by %.0f pixels; %d by %d to %d by %d are possible, and 100 million in all", v[0], v[1], minWidth, minHeight, maxSide, maxSide)
	}
	return [2]int{int(math.Round(v[0])), int(math.Round(v[1]))}, outDPI, nil
}

// size reads a size as text, or [1600, 900] in pixels.
func (t table) size(v any, dpi float64) ([2]int, float64) {
	var text string
	switch v := v.(type) {
	case string:
		text = v
	case []any:
		for i := range v {
			if _, ok := v[i].(int64); !ok || len(v) != 2 {
				t.fail("size", "size is not two whole numbers", sizeCure)
				return [2]int{}, dpi
			}
		}
		if len(v) == 0 {
			t.fail("size", "size is an empty list", sizeCure)
			return [2]int{}, dpi
		}
		text = fmt.Sprintf("%dx%d", v[0], v[1])
	default:
		t.fail("size", "size is "+describe(v), sizeCure)
		return [2]int{}, dpi
	}
	px, dpi, err := ParseMapSize(text, dpi)
	if err != nil {
		t.fail("size", fmt.Sprintf("size %s %v", quote(text), err), sizeCure)
	}
	return px, dpi
}
