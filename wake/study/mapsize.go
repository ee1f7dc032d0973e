package study

import (
	"cmp"
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
	w, h, _ := strings.Cut(strings.ReplaceAll(m.Size, "×", "x"), "x")
	x, unit, errX := wake.ParseValue(w, wake.Length)
	y, unitY, errY := wake.ParseValue(h, wake.Length)
	v := [2]float64{x, y}
	switch inPrint := unit != ""; {
	case errX != nil || errY != nil || !(x > 0 && y > 0) || inPrint != (unitY != "") || !inPrint && (x != math.Trunc(x) || y != math.Trunc(y)):
		return pixels, dpi, errors.New("is no size")
	case inPrint:
		dpi = cmp.Or(dpi, printDPI)
		v = [2]float64{x / metresInch * dpi, y / metresInch * dpi}
	}
	if !(v[0] >= minWidth-0.5 && v[1] >= minHeight-0.5 && v[0] <= maxSide && v[1] <= maxSide && v[0]*v[1] <= maxPixels) {
		return pixels, dpi, fmt.Errorf("is %.0f by %.0f pixels; %d by %d to %d by %d are possible, and 100 million in all", v[0], v[1], minWidth, minHeight, maxSide, maxSide)
	}
	return [2]int{int(math.Round(v[0])), int(math.Round(v[1]))}, dpi, nil
}
