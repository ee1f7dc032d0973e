package rake

import (
	"fmt"
	"math"
	"os"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/survey/settings"
)

// maxLayout is far above any layout, 1 MiB.
const maxLayout = 1 << 20

func ReadLayout(f File) (*Layout, error) {
	data, err := os.ReadFile(f.Path)
	if err != nil {
		return nil, &wake.InputError{File: f.Name, Text: "cannot be read: " + wake.Reason(err), Cure: "check the name and the permissions"}
	}
	return ParseLayout(f.Name, data)
}

// ParseLayout reads a layout: TOML 1.0, strictly. All faults that can be found are
// reported at once, in the order of the file, joined by errors.Join; each is a
// *wake.InputError with line and byte column.
func ParseLayout(name string, data []byte) (*Layout, error) {
	f, root, err := settings.Parse(name, data, maxLayout, "a layout describes the rake; the log is another file", "the layout has to be TOML 1.0, with values as examples/rake shows them")
	if err != nil {
		return nil, err
	}
	p := &layoutParser{File: f, l: &Layout{File: name, without: map[Correction]bool{}}}
	f.Bind(root, &p.l.layoutFile)
	p.layout()
	if err := f.Err(); err != nil {
		return nil, err
	}
	return p.l, nil
}

type layoutParser struct {
	*settings.File
	l *Layout
}

func (p *layoutParser) fail(text, cure string, at ...any) { p.Fail(settings.At(at...), text, cure) }

func (p *layoutParser) failIf(bad bool, text, cure string, at ...any) {
	if bad {
		p.fail(text, cure, at...)
	}
}

func (p *layoutParser) layout() {
	l := p.l
	var err error
	if l.FrameText != "" {
		if l.Frame, err = wake.ParseFrame(l.FrameText); err != nil {
			p.fail(err.Error(), "", "frame")
		}
	}
	l.rest = pose{l.Datum.X, l.Datum.Y, l.Datum.Z, math.Pi / 2}
	switch l.Attitude {
	case nil, "vertical":
	case "horizontal":
		l.rest[3] = 0
	default:
		l.rest[3], _ = p.Number(settings.At("attitude"), "attitude", l.Attitude, "angle")
	}
	p.reference()
	for i := range l.Groups {
		p.tubes(i, &l.Groups[i])
	}
	for i := range l.Probes {
		p.probe(i, &l.Probes[i])
	}
	p.columns()
	c := &l.Corrections
	for k, on := range []bool{c.Zero, c.Drift, c.Tubes, c.Fill, c.Rows, c.Repeats, c.Static, c.Displacement, c.Wall} {
		l.without[Corrections[k]] = !on
	}
}

func (p *layoutParser) reference() {
	r, w := &p.l.Reference, &p.l.WindOff
	p.failIf(p.l.absolute() && r.Pressure == "", "readings are absolute and no reference pressure is named", "add pressure = \"COLUMN\" to [reference]", "reference", "readings")
	p.failIf(r.Q == "" && r.Total != "" && r.Pressure == "", "a total reference without a static one gives no dynamic pressure", "add q or pressure to [reference]", "reference", "total")
	p.failIf((w.Column == "") != (w.Value == ""), "wind_off has one of column and value", "give both: column = \"run\", value = \"off\"", "wind_off")
	for i, row := range w.Rows {
		p.failIf(row < 1, fmt.Sprintf("row %d", row), "rows are counted from 1 below the header", "wind_off", "rows", i)
	}
}

func (p *layoutParser) tubes(group int, g *tubeGroup) {
	at := func(key ...any) []any { return append([]any{"tubes", group}, key...) }
	has := func(key string) bool { return p.Has(settings.At(at(key)...)) }
	n := len(g.Columns)
	each := func(key string, list []float64) bool {
		p.failIf(list != nil && len(list) != n, fmt.Sprintf("%s has %d values for %d tubes", key, len(list), n), "give one a tube", at(key)...)
		return list != nil && len(list) == n
	}
	p.failIf(n == 0, "the tubes have no columns", "add columns = [\"T01\", …]", at()...)
	p.failIf(has("along") && (has("first") || has("step")), "both along and first or step place the tubes", "keep one way", at("along")...)
	p.failIf(n > 1 && !has("along") && !has("step"), fmt.Sprintf("%d tubes have no places", n), "add along = [\"60 mm\", …], or first and step", at()...)
	p.failIf(g.Kind == "", "the tubes have no kind", "add kind = \"total\" or kind = \"static\"", at()...)
	p.failIf(g.Bore >= g.Diameter, fmt.Sprintf("the bore, %g m, is not less than the diameter, %g m", g.Bore, g.Diameter), "diameter is the outer one", at("bore")...)
	along, factors, zeros := each("along", g.Along), each("factors", g.Factors), each("zeros", g.Zeros)
	for i, column := range g.Columns {
		t := Tube{Column: column, Kind: Kind(g.Kind), X: g.Aft, Diameter: g.Diameter, Bore: g.Bore, Factor: g.Factor}
		place := g.First + float64(i)*g.Step
		if along {
			place = g.Along[i]
		}
		t.Y, t.Z = onRake(place, g.Across, g.Angle)
		if factors {
			t.Factor = g.Factors[i]
		}
		if zeros {
			t.Zero = g.Zeros[i]
		}
		p.l.Tubes = append(p.l.Tubes, t)
	}
}

func (p *layoutParser) probe(i int, b *Probe) {
	if b.Name == "" {
		b.Name = fmt.Sprintf("probe %d", i+1)
	}
	for _, c := range []struct {
		fault      bool
		text, cure string
	}{
		{b.U == "" && (b.Total == "" || b.Static == ""), "has neither a velocity u nor a total and a static pressure", "name its columns: u (v, w), or total and static (pitch, yaw)"},
		{b.U != "" && b.Total != "", "has both a velocity and a total pressure", "keep one of them: the other follows from it"},
		{b.U == "" && (b.V != "" || b.W != ""), "has cross-flow components beside a total pressure", "give the directions as pitch and yaw"},
		{(b.Pitch == "") != (b.Yaw == ""), "has one of pitch and yaw", "give both or none"},
		{!math.IsNaN(b.Acceptance) && b.Pitch == "" && (b.V == "" || b.W == ""), "has an acceptance and no flow direction to judge by", "add pitch and yaw, or v and w"},
	} {
		if c.fault {
			p.fail(b.Name+" "+c.text, c.cure, "probe", i)
			return
		}
	}
}

func (p *layoutParser) columns() {
	l := p.l
	seen := map[string]int{}
	for i, g := range l.Groups {
		for k, c := range g.Columns {
			if other, twice := seen[c]; twice {
				p.fail(fmt.Sprintf("column %q is listed twice as a tube", c), fmt.Sprintf("a tube has one place; the first is in group %d", other), "tubes", i, "columns", k)
			}
			seen[c] = i + 1
		}
	}
	for _, c := range l.Ignore {
		p.failIf(seen[c] == 0, fmt.Sprintf("ignore names %q, which is no tube", c), "name a column of [[tubes]]", "ignore")
	}
	total := slices.ContainsFunc(l.Tubes, func(t Tube) bool { return t.Kind == Total })
	switch {
	case total || len(l.Probes) > 0:
	case len(l.Groups) > 0:
		p.fail("no tube measures total pressure", "add [[tubes]] with kind = \"total\"", "tubes")
	default:
		p.fail("the layout has neither tubes nor probes", "add [[tubes]] with kind, columns and places")
	}
	pressures := total || slices.ContainsFunc(l.Probes, func(b Probe) bool { return b.Total != "" })
	p.failIf(pressures && l.Reference.Q == "" && l.Reference.Total == "", "no dynamic pressure is named for the rows", "add q = \"COLUMN\" to [reference], or total and pressure", "reference")
}
