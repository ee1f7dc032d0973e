package report

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"github.com/klauspost/compress/flate"

	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Viewer is what the page's viewer shows: for each station, quantity and
// configuration the samples themselves, not pictures of them, so that the reader
// can flick between them, take differences and read values. The colours are those
// of the maps, handed over.
type Viewer struct {
	Quantities []ViewQuantity
	// Vectors are shown from the start.
	Vectors bool
	// Magnify is how much longer than true the arrows of moves are, here and on the sheets;
	// 0 is 1.
	Magnify int
	// Stations in the order of the study; a station without any field is left out.
	Stations []ViewStation
}

// ViewQuantity is a quantity with its scale and that of its changes.
type ViewQuantity struct {
	Name, Label, Unit string
	Scale, Change     ViewScale
}

// ViewScale is a banded scale: Colors[k] is for values from Levels[k] to
// Levels[k+1], Under and Over for those beyond.
type ViewScale struct {
	Levels      []float64
	Colors      []color.RGBA
	Under, Over color.RGBA
}

// ViewStation is one plane.
type ViewStation struct {
	Name string
	// X and Y are the lines that the samples sit on. Cells is true when a sample
	// represents its cell, which reaches half way to the next line, false when only
	// the part between four samples is known.
	X, Y  []float64
	Cells bool
	// Open is the part that the page opens on, the ends along X and those along Y, the same
	// for all planes of one kind.
	Open [4]float64
	// Resampled says in words how the samples came on these lines where they are not
	// the survey's own.
	Resampled string
	// The axes' labels, where the eye is, and whether Y = 0 is the ground.
	XLabel, YLabel, From string
	Ground               bool
	// Silhouette is the vehicle's outline in the plane's axes; nil where none is given.
	Silhouette     [][][2]float64
	Configurations []ViewConfiguration
	// Changes has for each quantity the scale of its changes here; nil for those of the quantity.
	Changes []ViewScale
}

// ViewConfiguration is what one configuration has at a station.
type ViewConfiguration struct {
	Name string
	// Fields has for each quantity the samples row by row from below, NaN where
	// there is none; nil where the plane lacks the quantity.
	Fields [][]float32
	// Doubt has for each quantity its expanded uncertainty at each sample, where it is
	// known; changes within that of both are shown as none. Nil, or nil for a quantity,
	// where it is not known.
	Doubt    [][]float32
	Outlines [][][2]float64
	// OutlineName says what the outlines are.
	OutlineName string
	Marks       []ViewMark
	Vectors     *ViewVectors
}

// ViewMark is a named place such as a centroid; Region is empty for the whole
// wake.
type ViewMark struct {
	Name, Region string
	At           [2]float64
	// Spread has the half axes of the ellipse of one standard deviation and the turn
	// of the first from X toward Y in degrees; nil where it is not known.
	Spread *[3]float64
}

// ViewVectors are in-plane velocities over U on a thin even grid, NaN where there
// is none.
type ViewVectors struct {
	X, Y   []float64
	Dx, Dy []float32
}

// Codes of samples in the page: a value v is kept as the whole number nearest to
// v/step.
const (
	codeNone  = 32767
	codeOver  = 32766
	codeUnder = -32768
	codeMost  = 32765
)

// stepsOnScale is how many steps a quantity's scale has at least.
const stepsOnScale = 4000

// viewStep is the step in which the values of a quantity are kept: the largest of
// 1, 2 or 5 times a power of ten that gives the scale its steps.
func viewStep(s ViewScale) float64 {
	span := s.Levels[len(s.Levels)-1] - s.Levels[0]
	step := tickStep(span / stepsOnScale)
	for step > span/stepsOnScale*(1+1e-9) {
		// tickStep rounds up; the next lower one is within a factor of 2.5.
		step = tickStep(step / 2.6)
	}
	return step
}

// rasterLevel of the compression: the best one, 9, takes 17 times as long and makes the
// rasters of the demo 5 % smaller.
const rasterLevel = 6

// encodeRaster packs samples of nx columns: codes as differences from the plane
// through the neighbours before (left + below − left below), low bytes first and
// then high bytes, deflated, in base64. Smooth fields leave small differences.
func encodeRaster(f []float32, nx int, step float64) (string, error) {
	n := len(f)
	buf := make([]byte, 2*n)
	code := make([]int32, n)
	for k, v := range f {
		c := math.Round(float64(v) / step)
		switch {
		case c != c:
			code[k] = codeNone
		case c > codeMost:
			code[k] = codeOver
		case c < -codeMost:
			code[k] = codeUnder
		default:
			code[k] = int32(c)
		}
		var left, below, both int32
		if k%nx > 0 {
			left = code[k-1]
		}
		if k >= nx {
			below = code[k-nx]
			if k%nx > 0 {
				both = code[k-nx-1]
			}
		}
		d := int16(code[k] - (left + below - both)) // modulo 2¹⁶, as the reader does
		z := uint16(d<<1) ^ uint16(d>>15)           // small numbers of either sign become small
		buf[k], buf[n+k] = byte(z), byte(z>>8)
	}
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, rasterLevel)
	if err != nil {
		return "", err
	}
	if _, err := w.Write(buf); err != nil {
		return "", err
	}
	if err := w.Close(); err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(b.Bytes()), nil
}

// The page's own description of what it holds.
type (
	pageData struct {
		Configurations []string `json:"configurations"`
		Baseline       int      `json:"baseline"`
		// Magnify is how much longer than true the arrows of moves are.
		Magnify    int            `json:"magnify"`
		Quantities []pageQuantity `json:"quantities"`
		Stations   []pageStation  `json:"stations"`
	}
	pageQuantity struct {
		Label    string    `json:"label"`
		Unit     string    `json:"unit"`
		Step     float64   `json:"step"`
		Decimals int       `json:"decimals"`
		Scale    pageScale `json:"scale"`
		Change   pageScale `json:"change"`
	}
	pageScale struct {
		Levels []float64 `json:"levels"`
		Texts  []string  `json:"texts"`
		Colors []string  `json:"colors"`
		Under  string    `json:"under"`
		Over   string    `json:"over"`
	}
	pageStation struct {
		Changes []pageScale `json:"changes,omitempty"`
		Index   int         `json:"index"`
		Name    string      `json:"name"`
		Place   string      `json:"place"`
		X       []float64   `json:"x"`
		Y       []float64   `json:"y"`
		Open    [4]float64  `json:"open"`
		Axes    [2]string   `json:"axes"`
		Labels  [2]string   `json:"labels"`
		From    string      `json:"from"`
		How     string      `json:"how"`
		Cells   bool        `json:"cells"`
		Ground  bool        `json:"ground"`
		Boxes   []pageBox   `json:"boxes"`
		Outline [][]int     `json:"silhouette,omitempty"`
		Surveys []*pageView `json:"surveys"`
	}
	pageBox struct {
		Name string     `json:"name"`
		Y    [2]float64 `json:"y"`
		Z    [2]float64 `json:"z"`
	}
	// pageView is one configuration; Has and Doubt say of which quantities there are
	// rasters.
	pageView struct {
		Has      []bool     `json:"has"`
		Doubt    []bool     `json:"doubt"`
		Words    string     `json:"words"`
		Outline  string     `json:"outline"`
		Outlines [][]int    `json:"outlines"`
		Marks    []pageMark `json:"marks"`
		Vectors  *pageArrow `json:"vectors,omitempty"`
		// Shifts are those of the regions against the baseline, as the ledger has them.
		Shifts []pageShift `json:"shifts,omitempty"`
		Clear  *pageClear  `json:"clear,omitempty"`
	}
	// pageClear are the boxes of the regions, or the parts of the wake, with a resolved change.
	pageClear struct {
		Of    string    `json:"of"`
		Boxes []pageBox `json:"boxes"`
	}
	pageShift struct {
		From [2]float64 `json:"from"`
		To   [2]float64 `json:"to"`
		Text string     `json:"text"`
		Name string     `json:"name"`
		// Verdict is that on the move along the lateral axis.
		Verdict string `json:"verdict"`
	}
	pageMark struct {
		Name string     `json:"name"`
		At   [2]float64 `json:"at"`
		// Spread is that of a ViewMark.
		Spread *[3]float64 `json:"spread,omitempty"`
	}
	// pageArrow has velocities in thousandths of U, x before y, null as 32767.
	pageArrow struct {
		X []float64 `json:"x"`
		Y []float64 `json:"y"`
		V []int     `json:"v"`
	}
)

func hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

func round6(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func round6s(xs []float64) []float64 {
	out := make([]float64, len(xs))
	for i, x := range xs {
		out[i] = round6(x)
	}
	return out
}

func newPageScale(s ViewScale) (pageScale, error) {
	if len(s.Levels) < 2 || len(s.Colors) != len(s.Levels)-1 {
		return pageScale{}, fmt.Errorf("scale of %d levels and %d colours: one colour a band is needed", len(s.Levels), len(s.Colors))
	}
	p := pageScale{Levels: s.Levels, Under: hex(s.Under), Over: hex(s.Over)}
	for _, c := range s.Colors {
		p.Colors = append(p.Colors, hex(c))
	}
	decimals := 0
	for _, l := range s.Levels {
		if _, after, ok := strings.Cut(short(round6(l)), "."); ok {
			decimals = max(decimals, len(after))
		}
	}
	for k, l := range s.Levels {
		if !(l-l == 0) || k > 0 && !(l > s.Levels[k-1]) {
			return pageScale{}, fmt.Errorf("scale with levels %g: finite levels in increasing order are needed", s.Levels)
		}
		p.Texts = append(p.Texts, fixed(l, decimals))
	}
	return p, nil
}

// viewerView is the viewer as the template prints it.
type viewerView struct {
	// Data is JSON, Rasters are elements with base64; both are made here and hold
	// nothing that could end a script.
	Data       []byte
	Rasters    string
	Quantities []optionView
	Shown      []optionView
	Against    []optionView
	// Quoted is the station that the viewer opens on.
	Last, Quoted int
	Steps        string
	// Silhouette and Spread say whether there are such marks to show.
	Silhouette, Spread bool
	// Vectors says whether they are shown from the start.
	Vectors bool
}

// packing is a viewer on its way into the page.
type packing struct {
	o *study.Outcome
	pageData
	index   map[string]int
	rasters strings.Builder
	out     viewerView
}

// newViewer packs v; it is nil where nothing can be shown.
func newViewer(o *study.Outcome, v *Viewer) (*viewerView, error) {
	if v == nil || len(v.Quantities) == 0 || len(v.Stations) == 0 {
		return nil, nil
	}
	p := &packing{o: o, pageData: pageData{Magnify: max(v.Magnify, 1)}, index: map[string]int{}, out: viewerView{Vectors: v.Vectors, Last: len(v.Stations) - 1}}
	p.out.Quoted = max(0, slices.IndexFunc(v.Stations, func(st ViewStation) bool { return st.Name == o.Headline }))
	for i, c := range o.Configurations {
		p.index[c.Name] = i
		p.Configurations = append(p.Configurations, clean(c.Name))
		if c.Name == o.Baseline {
			p.Baseline = i
		}
	}
	shown := 0
	if p.Baseline == 0 && len(p.Configurations) > 1 {
		shown = 1
	}
	for i, c := range p.Configurations {
		p.out.Shown = append(p.out.Shown, optionView{ID: fmt.Sprint(i), Text: c, Checked: i == shown})
		p.out.Against = append(p.out.Against, optionView{ID: fmt.Sprint(i), Text: c, Checked: i == p.Baseline})
	}
	for _, q := range v.Quantities {
		if err := p.quantity(q); err != nil {
			return nil, err
		}
	}
	for _, st := range v.Stations {
		if err := p.station(st); err != nil {
			return nil, fmt.Errorf("viewer of station %q: %w", st.Name, err)
		}
	}
	var err error
	// Marshal writes <, > and & as escapes, so that no name can end the script.
	if p.out.Data, err = json.Marshal(p.pageData); err != nil {
		return nil, err
	}
	p.out.Rasters = p.rasters.String()
	return &p.out, nil
}

func (p *packing) quantity(q ViewQuantity) error {
	s, err := newPageScale(q.Scale)
	if err != nil {
		return fmt.Errorf("viewer of %s: %w", q.Label, err)
	}
	c, err := newPageScale(q.Change)
	if err != nil {
		return fmt.Errorf("viewer of changes of %s: %w", q.Label, err)
	}
	step, label, i := viewStep(q.Scale), clean(q.Label), len(p.Quantities)
	p.Quantities = append(p.Quantities, pageQuantity{
		Label: label, Unit: q.Unit, Step: step, Decimals: min(max(0, int(math.Ceil(-math.Log10(step)-1e-9))), maxDecimals), Scale: s, Change: c,
	})
	p.out.Quantities = append(p.out.Quantities, optionView{ID: fmt.Sprint(i), Text: label, Checked: i == 0})
	if i > 0 {
		p.out.Steps += "; "
	}
	p.out.Steps += short(step) + " of " + label
	return nil
}

func (p *packing) station(st ViewStation) error {
	so := stationOf(p.o, st.Name)
	if so == nil {
		return errors.New("the study does not have it")
	}
	if err := st.check(len(p.Quantities)); err != nil {
		return err
	}
	a, b := planeAxes(so.Normal)
	to := pageStation{
		Index: len(p.Stations), Name: clean(st.Name), Place: Place(so.Normal, so.Position),
		X: round6s(st.X), Y: round6s(st.Y), Open: [4]float64(round6s(st.Open[:])), Axes: [2]string{a, b}, Labels: [2]string{st.XLabel, st.YLabel}, From: st.From, How: clean(st.Resampled),
		Cells: st.Cells, Ground: st.Ground, Boxes: boxesOf(so), Surveys: make([]*pageView, len(p.Configurations)),
	}
	for _, s := range st.Changes {
		scale, err := newPageScale(s)
		if err != nil {
			return fmt.Errorf("scale of changes: %w", err)
		}
		to.Changes = append(to.Changes, scale)
	}
	for _, l := range st.Silhouette {
		to.Outline = append(to.Outline, millimetreLine(l))
		p.out.Silhouette = true
	}
	for _, c := range st.Configurations {
		k, ok := p.index[c.Name]
		if !ok {
			return fmt.Errorf("configuration %q, which the study does not have", c.Name)
		}
		pv := p.configuration(so, c)
		for q, f := range c.Fields {
			doubt := at(c.Doubt, q)
			pv.Has, pv.Doubt = append(pv.Has, f != nil), append(pv.Doubt, doubt != nil)
			if err := errors.Join(p.raster("r", to.Index, q, k, f, len(st.X)), p.raster("u", to.Index, q, k, doubt, len(st.X))); err != nil {
				return err
			}
		}
		to.Surveys[k] = pv
	}
	p.Stations = append(p.Stations, to)
	return nil
}

// configuration is what is drawn of a configuration over its fields.
func (p *packing) configuration(so *study.StationOutcome, c ViewConfiguration) *pageView {
	pv := &pageView{Words: viewWords(p.o, so, c.Name), Outline: clean(c.OutlineName), Outlines: [][]int{}, Marks: []pageMark{}, Shifts: viewShifts(so, c.Name), Clear: viewClear(so, c.Name)}
	for _, l := range c.Outlines {
		pv.Outlines = append(pv.Outlines, millimetreLine(l))
	}
	for _, m := range c.Marks {
		name := m.Name
		if m.Region != "" {
			name += ", " + m.Region
		}
		pv.Marks = append(pv.Marks, pageMark{clean(name), [2]float64{round6(m.At[0]), round6(m.At[1])}, m.Spread})
		p.out.Spread = p.out.Spread || m.Spread != nil
	}
	if w := c.Vectors; w != nil {
		pv.Vectors = &pageArrow{X: round6s(w.X), Y: round6s(w.Y)}
		for i := range w.Dx {
			pv.Vectors.V = append(pv.Vectors.V, thousandths(w.Dx[i]), thousandths(w.Dy[i]))
		}
	}
	return pv
}

// viewClear are the places where a variant's change against the baseline is resolved: its
// named regions whose local drag or move is, or where none is judged the parts of the wake
// whose move is, in both configurations. nil where neither is judged.
func viewClear(st *study.StationOutcome, configuration string) *pageClear {
	c, k := st.Comparison, slices.Index(st.Variants, configuration)
	if c == nil || k < 0 || k >= len(c.Variants) || c.Variants[k].Survey == nil {
		return nil
	}
	v, out := c.Variants[k], &pageClear{Of: "regions", Boxes: []pageBox{}}
	judged := false
	clear := func(verdicts ...string) bool {
		judged = judged || slices.Contains(verdicts, uncertainty.NotResolved) || slices.Contains(verdicts, uncertainty.Resolved)
		return slices.Contains(verdicts, uncertainty.Resolved)
	}
	for _, r := range v.Regions {
		var verdicts []string
		if r.Delta != nil {
			verdicts = append(verdicts, r.Delta.Verdict)
		}
		if r.Shift != nil {
			verdicts = append(verdicts, r.Shift.Verdict)
		}
		if clear(verdicts...) {
			for _, of := range v.Survey.Regions {
				if of.Name == r.Name {
					out.Boxes = append(out.Boxes, pageBox{clean(r.Name), of.Box.Y, of.Box.Z})
				}
			}
		}
	}
	if !judged && v.Structures != nil && c.Baseline != nil {
		out.Of = "parts of the wake"
		for _, m := range v.Structures.Shifts {
			if !clear(m.Verdict) {
				continue
			}
			for _, of := range slices.Concat(named(c.Baseline.Structures, m.A), named(v.Survey.Structures, m.B)) {
				out.Boxes = append(out.Boxes, pageBox{clean(m.A), [2]float64{round6(of.Box.Min.X), round6(of.Box.Max.X)}, [2]float64{round6(of.Box.Min.Y), round6(of.Box.Max.Y)}})
			}
		}
	}
	if !judged {
		return nil
	}
	return out
}

func named(list []measure.Structure, name string) []measure.Structure {
	return slices.DeleteFunc(slices.Clone(list), func(s measure.Structure) bool { return s.Name != name })
}

// viewShifts are the moves of a variant's regions against the baseline, with their
// uncertainty where there is one.
func viewShifts(st *study.StationOutcome, configuration string) []pageShift {
	if st.Comparison == nil || st.Comparison.Baseline == nil {
		return nil
	}
	var out []pageShift
	for i, v := range st.Comparison.Variants {
		if i >= len(st.Variants) || st.Variants[i] != configuration || v.Survey == nil {
			continue
		}
		for k, r := range v.Regions {
			if r.Shift == nil || k >= len(v.Survey.Regions) || k >= len(st.Comparison.Baseline.Regions) {
				continue
			}
			a, b := st.Comparison.Baseline.Regions[k].Centroid, v.Survey.Regions[k].Centroid
			if a == nil || b == nil {
				continue
			}
			move, word := r.Shift.Centroid[0], " to the right"
			if move < 0 {
				move, word = -move, " to the left"
			}
			if in := r.Shift.Inboard; in != nil {
				move, word = *in, " inboard"
				if move < 0 {
					move, word = -move, " outboard"
				}
			}
			text := fixed(1000*move, 0) + " mm" + word
			if e := r.Shift.Expanded; e > 0 {
				text = fixed(1000*move, 0) + " ± " + fixed(1000*e, 0) + " mm" + word
			}
			out = append(out, pageShift{[2]float64{round6(a[0]), round6(a[1])}, [2]float64{round6(b[0]), round6(b[1])}, text, boxName(r.Name), r.Shift.Verdict})
		}
	}
	return out
}

func at(fs [][]float32, q int) []float32 {
	if q < len(fs) {
		return fs[q]
	}
	return nil
}

func (p *packing) raster(kind string, station, quantity, configuration int, f []float32, nx int) error {
	if f == nil {
		return nil
	}
	s, err := encodeRaster(f, nx, p.Quantities[quantity].Step)
	fmt.Fprintf(&p.rasters, "<script type=\"text/plain\" id=\"%s-%d-%d-%d\">%s</script>\n", kind, station, quantity, configuration, s)
	return err
}

func (st *ViewStation) check(quantities int) error {
	n := len(st.X) * len(st.Y)
	if len(st.X) < 2 || len(st.Y) < 2 {
		return fmt.Errorf("%d × %d lines: at least two each are needed", len(st.X), len(st.Y))
	}
	for _, c := range st.Configurations {
		if len(c.Fields) != quantities {
			return fmt.Errorf("%d fields of %q: one for each of %d quantities is needed", len(c.Fields), c.Name, quantities)
		}
		for _, f := range append(append([][]float32{}, c.Fields...), c.Doubt...) {
			if f != nil && len(f) != n {
				return fmt.Errorf("%d samples of %q on %d × %d lines", len(f), c.Name, len(st.X), len(st.Y))
			}
		}
		if w := c.Vectors; w != nil && (len(w.Dx) != len(w.X)*len(w.Y) || len(w.Dy) != len(w.Dx)) {
			return fmt.Errorf("%d vectors of %q on %d × %d lines", len(w.Dx), c.Name, len(w.X), len(w.Y))
		}
	}
	return nil
}

// millimetreLine keeps a line as whole millimetres: the first point, then moves.
func millimetreLine(l [][2]float64) []int {
	out := make([]int, 0, 2*len(l))
	var last [2]int
	for _, p := range l {
		q := [2]int{int(math.Round(1000 * p[0])), int(math.Round(1000 * p[1]))}
		out = append(out, q[0]-last[0], q[1]-last[1])
		last = q
	}
	return out
}

func thousandths(v float32) int {
	if v != v {
		return codeNone
	}
	return int(math.Round(min(max(1000*float64(v), -30000), 30000)))
}

func stationOf(o *study.Outcome, name string) *study.StationOutcome {
	for i := range o.Stations {
		if o.Stations[i].Name == name {
			return &o.Stations[i]
		}
	}
	return nil
}

// boxesOf are the regions of a station.
func boxesOf(st *study.StationOutcome) []pageBox {
	out := []pageBox{}
	for _, s := range st.Surveys {
		if s.Result == nil {
			continue
		}
		for _, r := range s.Result.Regions {
			out = append(out, pageBox{clean(r.Name), r.Box.Y, r.Box.Z})
		}
		break
	}
	return out
}

// viewWords is what the caption says of a configuration at a station: its drag, or
// the change where there is one.
func viewWords(o *study.Outcome, st *study.StationOutcome, configuration string) string {
	for _, r := range ledgerRows(o) {
		if r.station.Name != st.Name || r.configuration != configuration || r.region != nil {
			continue
		}
		area, _, ok := headline(r.result)
		if !ok {
			return "no total drag at this station"
		}
		what := "drag area "
		if r.method() == measure.ByVelocityOnly {
			what = "momentum deficit "
		}
		s := what + plusMinus(area, expandedOf(r.result.Uncertainty), areaDecimals, "m²")
		if d := r.delta; d != nil {
			s += ", change " + signedPlusMinus(d.DragArea, d.Expanded, areaDecimals, "m²") + " (" + clean(d.Verdict) + ")"
		}
		return s
	}
	return ""
}
