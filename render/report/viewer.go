package report

import (
	"encoding/json"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake/study"
)

// Viewer is what the page's viewer shows: for each station, quantity and
// configuration the samples themselves, not pictures of them, so that the reader
// can flick between them, take differences and read values. The colours are those
// of the maps, handed over. What the page adds from the study stands last in each type.
type Viewer struct {
	Quantities []ViewQuantity `json:"quantities"`
	// Vectors are shown from the start.
	Vectors bool `json:"-"`
	// Magnify is how much longer than true the arrows of moves are, here and on the sheets;
	// 0 is 1.
	Magnify int `json:"magnify"`
	// Stations in the order of the study; a station without any field is left out.
	Stations []ViewStation `json:"stations"`

	Configurations []string `json:"configurations"`
	Baseline       int      `json:"baseline"`
	// Quoted is the station that the viewer opens on.
	Quoted  int `json:"-"`
	rasters []func() string
}

// ViewQuantity is a quantity with its scale and that of its changes.
type ViewQuantity struct {
	Label  string    `json:"label"`
	Scale  ViewScale `json:"scale"`
	Change ViewScale `json:"change"`

	Step     float64 `json:"step"`
	Decimals int     `json:"decimals"`
}

// ViewScale is a banded scale: Colors[k], as #rrggbb, is for values from Levels[k] to
// Levels[k+1], Under and Over for those beyond.
type ViewScale struct {
	Levels []float64 `json:"levels"`
	Colors []string  `json:"colors"`
	Under  string    `json:"under"`
	Over   string    `json:"over"`
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
	Silhouette     [][][2]float64      `json:"silhouette,omitempty"`
	Configurations []ViewConfiguration `json:"-"`
	// Changes has for each quantity the scale of its changes here; nil for those of the quantity.
	Changes []ViewScale `json:"changes,omitempty"`

	Place   string               `json:"place"`
	Axes    [2]string            `json:"axes"`
	Boxes   []viewBox            `json:"boxes"`
	Surveys []*ViewConfiguration `json:"surveys"`
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
	Doubt    [][]float32    `json:"-"`
	Outlines [][][2]float64 `json:"outlines"`
	// OutlineName says what the outlines are.
	OutlineName string       `json:"outline"`
	Marks       []ViewMark   `json:"marks"`
	Vectors     *ViewVectors `json:"vectors,omitempty"`

	// Has and Doubted say of which quantities there are rasters.
	Has     []bool `json:"has"`
	Doubted []bool `json:"doubt"`
	Words   string `json:"words"`
	// Shifts are those of the regions against the baseline, as the ledger has them.
	Shifts []viewShift `json:"shifts,omitempty"`
	// Clear are the regions with a resolved change; nil where none is judged.
	Clear []viewBox `json:"clear"`
}

// ViewMark is a centroid.
type ViewMark struct {
	At [2]float64 `json:"at"`
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
	return json.Marshal(map[string]any{"x": w.X, "y": w.Y, "v": v})
}

func thousandths(v float32) int {
	if v != v {
		return codeNone
	}
	return int(math.Round(min(max(1000*float64(v), -30000), 30000)))
}

// viewBox is a named box, viewShift a move with what it is called and the verdict along the lateral axis.
type (
	viewBox struct {
		Name string     `json:"name"`
		Y    [2]float64 `json:"y"`
		Z    [2]float64 `json:"z"`
	}
	viewShift struct {
		From    [2]float64 `json:"from"`
		To      [2]float64 `json:"to"`
		Text    string     `json:"text"`
		Name    string     `json:"name"`
		Verdict string     `json:"verdict"`
	}
)

// newViewer is v with what the study says of its stations; it is nil where nothing can be shown.
func newViewer(o *study.Outcome, v *Viewer) *Viewer {
	if v == nil || len(v.Quantities) == 0 || len(v.Stations) == 0 {
		return nil
	}
	out := &Viewer{
		Quantities: slices.Clone(v.Quantities), Vectors: v.Vectors, Magnify: max(v.Magnify, 1), Stations: slices.Clone(v.Stations),
		Baseline: max(0, configurationIndex(o, o.Baseline)),
		Quoted:   max(0, slices.IndexFunc(v.Stations, func(st ViewStation) bool { return st.Name == o.Headline })),
	}
	for _, c := range o.Configurations {
		out.Configurations = append(out.Configurations, clean(c.Name))
	}
	for i := range out.Quantities {
		q := &out.Quantities[i]
		q.Label, q.Step = clean(q.Label), viewStep(q.Scale)
		q.Decimals = min(max(0, int(math.Ceil(-math.Log10(q.Step)-1e-9))), maxDecimals)
	}
	for i := range out.Stations {
		out.station(o, i)
	}
	return out
}

func (v *Viewer) station(o *study.Outcome, s int) {
	st := &v.Stations[s]
	so := stationOf(o, st.Name)
	a, b := planeAxes(so.Normal)
	st.Name, st.Resampled, st.Place, st.Axes, st.Boxes = clean(st.Name), clean(st.Resampled), Place(so.Normal, so.Position), [2]string{a, b}, boxesOf(so)
	st.Surveys = make([]*ViewConfiguration, len(v.Configurations))
	for _, c := range st.Configurations {
		k := configurationIndex(o, c.Name)
		c.OutlineName, c.Words, c.Shifts, c.Clear = clean(c.OutlineName), viewWords(o, so, c.Name), viewShifts(so, c.Name), viewClear(so, c.Name)
		for q, f := range c.Fields {
			c.Has = append(c.Has, v.raster("r", s, q, k, f))
			c.Doubted = append(c.Doubted, q < len(c.Doubt) && v.raster("u", s, q, k, c.Doubt[q]))
		}
		st.Surveys[k] = &c
	}
}

// raster takes samples, if there are any, for the script to find.
func (v *Viewer) raster(kind string, station, quantity, configuration int, f []float32) bool {
	if f != nil {
		v.rasters = append(v.rasters, func() string {
			return fmt.Sprintf("<script type=\"text/plain\" id=\"%s-%d-%d-%d\">%s</script>\n", kind, station, quantity, configuration, encodeRaster(f, len(v.Stations[station].X), v.Quantities[quantity].Step))
		})
	}
	return f != nil
}

// scripts are the data as JSON, the rasters in base64 and the page's script. Marshal writes <, > and & as escapes,
// so that no name can end a script.
func (v *Viewer) scripts() (template.HTML, error) {
	data, err := json.Marshal(v)
	rasters := make([]string, len(v.rasters))
	grid.Parallel(len(rasters), func(i int) { rasters[i] = v.rasters[i]() })
	return template.HTML("<script type=\"application/json\" id=\"viewer-data\">" + string(data) + "</script>\n" + strings.Join(rasters, "") + "<script>" + pageScript + "</script>"), err
}
