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

// check refuses what cannot be drawn.
func (m *Maps) check(f *settings.File) {
	at := settings.At("maps")
	if m.DPI != 0 && !(minDPI <= m.DPI && m.DPI <= maxDPI) {
		f.Wrong(at.Key("dpi"), fmt.Sprintf("is %g", m.DPI), fmt.Sprintf("give a number from %d to %d", minDPI, maxDPI))
	} else if _, _, err := m.Pixels(); err != nil {
		f.Wrong(at.Key("size"), settings.Quote(m.Size)+" "+err.Error(), sizeCure)
	}
	drawn := []string(m.Quantities)
	if drawn == nil {
		drawn = measure.DefaultMaps
	}
	keyed(f, at.Key("levels"), m.Levels, drawn)
	keyed(f, at.Key("limits"), m.Limits, drawn)
	keyed(f, at.Key("change_limits"), m.ChangeLimits, drawn)
}

// keyed refuses an entry for a quantity that is not drawn.
func keyed[T any](f *settings.File, at settings.Path, m map[string]T, drawn []string) {
	for _, q := range slices.Sorted(maps.Keys(m)) {
		if slices.Contains(drawn, q) {
			continue
		}
		cure := "add it to quantities or remove the entry"
		if near, ok := settings.Nearest(q, drawn); ok {
			cure = fmt.Sprintf("did you mean %q?", near)
		}
		f.Fail(at.Key(q), fmt.Sprintf("%s names %s, which is not among the quantities", f.Word(at), settings.Quote(q)), cure)
	}
}

// What a picture may measure: below, its texts leave no room for a map; above, no
// one can open it.
const (
	minWidth, minHeight = 480, 300
	maxSide, maxPixels  = 16000, 100_000_000
	minDPI, maxDPI      = 30, 2400
	printDPI            = 300 // where a size in print comes without dpi; common practice, no source
	metresInch          = 0.0254
	sizeCure            = `write "1600x900" in pixels or "160 mm x 90 mm" in print`
)

// Pixels are width and height of a map in pixels, zero where nothing is said, and the dpi:
// that stated, or 300 for a size in print, or 0.
//
// A picture has from 480 × 300 to 16000 × 16000 pixels, and no more than 100
// million.
func (m *Maps) Pixels() (pixels [2]int, dpi float64, err error) {
	dpi = m.DPI
	if m.Size == "" {
		return pixels, dpi, nil
	}
	w, h, ok := strings.Cut(strings.ReplaceAll(m.Size, "×", "x"), "x")
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
	if inPrint[0] {
		if dpi == 0 {
			dpi = printDPI
		}
		v[0], v[1] = v[0]/metresInch*dpi, v[1]/metresInch*dpi
	} else if v[0] != math.Trunc(v[0]) || v[1] != math.Trunc(v[1]) {
		return pixels, dpi, errors.New("has parts of pixels")
	}
	if !(v[0] >= minWidth-0.5 && v[1] >= minHeight-0.5 && v[0] <= maxSide && v[1] <= maxSide && v[0]*v[1] <= maxPixels) {
		return pixels, dpi, fmt.Errorf("is %.0f by %.0f pixels; %d by %d to %d by %d are possible, and 100 million in all", v[0], v[1], minWidth, minHeight, maxSide, maxSide)
	}
	return [2]int{int(math.Round(v[0])), int(math.Round(v[1]))}, dpi, nil
}
