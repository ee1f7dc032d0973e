package report

import (
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"wakeledger/wake/study"
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
	Label  string    `json:"label"`
	Unit   string    `json:"unit"`
	Scale  ViewScale `json:"scale"`
	Change ViewScale `json:"change"`
}

// ViewScale is a banded scale: Colors[k], as #rrggbb, is for values from Levels[k] to
// Levels[k+1], Under and Over for those beyond.
type ViewScale struct {
	Levels []float64 `json:"levels"`
	Colors []string  `json:"colors"`
	Under  string    `json:"under"`
	Over   string    `json:"over"`
}

// MarshalJSON adds the levels as texts of equal decimals.
func (s ViewScale) MarshalJSON() ([]byte, error) {
	decimals, texts := 0, []string{}
	for _, l := range s.Levels {
		_, after, _ := strings.Cut(short(round6(l)), ".")
		decimals = max(decimals, len(after))
	}
	for _, l := range s.Levels {
		texts = append(texts, fixed(l, decimals))
	}
	type plain ViewScale
	return json.Marshal(struct {
		plain
		Texts []string `json:"texts"`
	}{plain(s), texts})
}

// ViewStation is one plane.
type ViewStation struct {
	Name string `json:"name"`
	// X and Y are the lines that the samples sit on. Cells is true when a sample
	// represents its cell, which reaches half way to the next line, false when only
	// the part between four samples is known.
	X     []float64 `json:"x"`
	Y     []float64 `json:"y"`
	Cells bool      `json:"cells"`
	// Open is the part that the page opens on, the ends along X and those along Y, the same
	// for all planes of one kind.
	Open [4]float64 `json:"open"`
	// Resampled says in words how the samples came on these lines where they are not
	// the survey's own.
	Resampled string `json:"how"`
	// The axes' labels, where the eye is, and whether Y = 0 is the ground.
	XLabel string `json:"xLabel"`
	YLabel string `json:"yLabel"`
	From   string `json:"from"`
	Ground bool   `json:"ground"`
	// Silhouette is the vehicle's outline in the plane's axes; nil where none is given.
	Silhouette     Polylines           `json:"silhouette,omitempty"`
	Configurations []ViewConfiguration `json:"-"`
	// Changes has for each quantity the scale of its changes here; nil for those of the quantity.
	Changes []ViewScale `json:"changes,omitempty"`
}

// ViewConfiguration is what one configuration has at a station.
type ViewConfiguration struct {
	Name string `json:"-"`
	// Fields has for each quantity the samples row by row from below, NaN where
	// there is none; nil where the plane lacks the quantity.
	Fields [][]float32 `json:"-"`
	// Doubt has for each quantity its expanded uncertainty at each sample, where it is
	// known; changes within that of both are shown as none. Nil, or nil for a quantity,
	// where it is not known.
	Doubt    [][]float32 `json:"-"`
	Outlines Polylines   `json:"outlines"`
	// OutlineName says what the outlines are.
	OutlineName string       `json:"outline"`
	Marks       []ViewMark   `json:"marks"`
	Vectors     *ViewVectors `json:"vectors,omitempty"`
}

// Polylines are lines of points.
type Polylines [][][2]float64

// MarshalJSON keeps lines as whole millimetres: the first point, then moves.
func (lines Polylines) MarshalJSON() ([]byte, error) {
	out := make([][]int, len(lines))
	for i, l := range lines {
		var last [2]int
		for _, p := range l {
			q := [2]int{int(math.Round(1000 * p[0])), int(math.Round(1000 * p[1]))}
			out[i] = append(out[i], q[0]-last[0], q[1]-last[1])
			last = q
		}
	}
	return json.Marshal(out)
}

// ViewMark is a named place such as a centroid; Region is empty for the whole
// wake.
type ViewMark struct {
	Name   string     `json:"name"`
	Region string     `json:"-"`
	At     [2]float64 `json:"at"`
	// Spread has the half axes of the ellipse of one standard deviation and the turn
	// of the first from X toward Y in degrees; nil where it is not known.
	Spread *[3]float64 `json:"spread,omitempty"`
}

// ViewVectors are in-plane velocities over U on a thin even grid, NaN where there
// is none.
type ViewVectors struct {
	X, Y   []float64
	Dx, Dy []float32
}

// MarshalJSON keeps the velocities in thousandths of U, x before y, none as 32767.
func (w ViewVectors) MarshalJSON() ([]byte, error) {
	v := []int{}
	for i := range w.Dx {
		v = append(v, thousandths(w.Dx[i]), thousandths(w.Dy[i]))
	}
	return json.Marshal(map[string]any{"x": round6s(w.X), "y": round6s(w.Y), "v": v})
}

// The page's own description of what it holds, beside what it was given.
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
		ViewQuantity
		Step     float64 `json:"step"`
		Decimals int     `json:"decimals"`
	}
	pageStation struct {
		ViewStation
		Index   int         `json:"index"`
		Place   string      `json:"place"`
		Axes    [2]string   `json:"axes"`
		Boxes   []pageBox   `json:"boxes"`
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
		ViewConfiguration
		Has   []bool `json:"has"`
		Doubt []bool `json:"doubt"`
		Words string `json:"words"`
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
)

func round6(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func round2(p [2]float64) [2]float64 { return [2]float64{round6(p[0]), round6(p[1])} }

func round6s(xs []float64) []float64 {
	out := make([]float64, len(xs))
	for i, x := range xs {
		out[i] = round6(x)
	}
	return out
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
	rasters []func() string
	out     viewerView
}

// newViewer packs v; it is nil where nothing can be shown.
func newViewer(o *study.Outcome, v *Viewer) (*viewerView, error) {
	if v == nil || len(v.Quantities) == 0 || len(v.Stations) == 0 {
		return nil, nil
	}
	p := &packing{o: o, pageData: pageData{Magnify: max(v.Magnify, 1), Baseline: max(0, configurationIndex(o, o.Baseline))}, out: viewerView{Vectors: v.Vectors, Last: len(v.Stations) - 1}}
	p.out.Quoted = max(0, slices.IndexFunc(v.Stations, func(st ViewStation) bool { return st.Name == o.Headline }))
	for _, c := range o.Configurations {
		p.Configurations = append(p.Configurations, clean(c.Name))
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
		p.quantity(q)
	}
	for _, st := range v.Stations {
		p.station(st)
	}
	var err error
	// Marshal writes <, > and & as escapes, so that no name can end the script.
	if p.out.Data, err = json.Marshal(p.pageData); err != nil {
		return nil, err
	}
	encoded := make([]string, len(p.rasters))
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i, f := range p.rasters {
		g.Go(func() error {
			encoded[i] = f()
			return nil
		})
	}
	_ = g.Wait()
	p.out.Rasters = strings.Join(encoded, "")
	return &p.out, nil
}

func (p *packing) quantity(q ViewQuantity) {
	step, i := viewStep(q.Scale), len(p.Quantities)
	q.Label = clean(q.Label)
	p.Quantities = append(p.Quantities, pageQuantity{q, step, min(max(0, int(math.Ceil(-math.Log10(step)-1e-9))), maxDecimals)})
	p.out.Quantities = append(p.out.Quantities, optionView{ID: fmt.Sprint(i), Text: q.Label, Checked: i == 0})
	if i > 0 {
		p.out.Steps += "; "
	}
	p.out.Steps += short(step) + " of " + q.Label
}

func (p *packing) station(st ViewStation) {
	so := stationOf(p.o, st.Name)
	a, b := planeAxes(so.Normal)
	to := pageStation{ViewStation: st, Index: len(p.Stations), Place: Place(so.Normal, so.Position), Axes: [2]string{a, b}, Boxes: boxesOf(so), Surveys: make([]*pageView, len(p.Configurations))}
	to.Name, to.Resampled, to.X, to.Y, to.Open = clean(st.Name), clean(st.Resampled), round6s(st.X), round6s(st.Y), [4]float64(round6s(st.Open[:]))
	p.out.Silhouette = p.out.Silhouette || len(st.Silhouette) > 0
	for _, c := range st.Configurations {
		k, pv := configurationIndex(p.o, c.Name), p.configuration(so, c)
		for q, f := range c.Fields {
			var doubt []float32
			if q < len(c.Doubt) {
				doubt = c.Doubt[q]
			}
			pv.Has, pv.Doubt = append(pv.Has, f != nil), append(pv.Doubt, doubt != nil)
			p.raster("r", to.Index, q, k, f, len(st.X))
			p.raster("u", to.Index, q, k, doubt, len(st.X))
		}
		to.Surveys[k] = pv
	}
	p.Stations = append(p.Stations, to)
}

// configuration is what is drawn of a configuration over its fields.
func (p *packing) configuration(so *study.StationOutcome, c ViewConfiguration) *pageView {
	marks := []ViewMark{}
	for _, m := range c.Marks {
		if m.Region != "" {
			m.Name += ", " + m.Region
		}
		m.Name, m.At = clean(m.Name), round2(m.At)
		marks = append(marks, m)
		p.out.Spread = p.out.Spread || m.Spread != nil
	}
	c.Marks, c.OutlineName = marks, clean(c.OutlineName)
	return &pageView{ViewConfiguration: c, Words: viewWords(p.o, so, c.Name), Shifts: viewShifts(so, c.Name), Clear: viewClear(so, c.Name)}
}

func (p *packing) raster(kind string, station, quantity, configuration int, f []float32, nx int) {
	if f != nil {
		p.rasters = append(p.rasters, func() string {
			return fmt.Sprintf("<script type=\"text/plain\" id=\"%s-%d-%d-%d\">%s</script>\n", kind, station, quantity, configuration, encodeRaster(f, nx, p.Quantities[quantity].Step))
		})
	}
}

func thousandths(v float32) int {
	if v != v {
		return codeNone
	}
	return int(math.Round(min(max(1000*float64(v), -30000), 30000)))
}
