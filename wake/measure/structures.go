package measure

import "wakeledger/grid"

// Structure is a part of the wake found in the field. Its area is that above the
// threshold, with level lines followed inside the elements; the centroid and the
// spread (standard deviations along y and z) are those of the criterion over it.
// Package parts finds them: Take leaves Result.Structures empty.
type Structure struct {
	Name string `json:"name"`
	// Side is left, right or centre: where the centroid lies.
	Side string `json:"side"`
	// DragArea is the local drag integrated over the part, m²: not the drag of what
	// lies upstream of it. nil where the survey gives no local drag.
	DragArea *float64   `json:"drag_area_m2,omitempty"`
	Area     float64    `json:"area_m2"`
	Centroid [2]float64 `json:"centroid_m"`
	Spread   [2]float64 `json:"spread_m"`
	// Integral of the criterion over the part; m² for the weight, m²/s else.
	Integral float64 `json:"integral"`
	// Peak is the largest magnitude of the criterion, with its sign, and PeakAt where.
	Peak   float64    `json:"peak"`
	PeakAt [2]float64 `json:"peak_at_m"`
	// Circulation ∫ω dS, m²/s; nil without the cross-flow velocities.
	Circulation *float64 `json:"circulation_m2_s,omitempty"`
	// Persistence is how far the peak rises above Saddle as a part of the peak. Saddle
	// is the level at which the structure meets a higher one, or the threshold. The
	// structure is there for every threshold below the peak, and by itself for those
	// between saddle and peak.
	Persistence float64 `json:"persistence"`
	Saddle      float64 `json:"saddle"`
	// MirrorOf names the structure on the other side that is this one's mirror image
	// about y = 0.
	MirrorOf string `json:"mirror_of,omitempty"`
	// Box is the part's extent.
	Box grid.Box `json:"-"`
}

// StructureRule is what structures depend on.
type StructureRule struct {
	// Criterion is weight or vorticity, and Weight the name of the weight.
	Criterion string  `json:"criterion"`
	Weight    string  `json:"weight,omitempty"`
	Threshold float64 `json:"threshold"`
	// Level is what the weight was counted from: its mean on the open edge.
	Level float64 `json:"level"`
	// Text is the rule in words and numbers.
	Text string `json:"text"`
	// Rest is the local drag outside all structures, m².
	Rest *float64 `json:"rest_m2,omitempty"`
}

// TopEdges holds the wake's edges in a plane along the stream (normal z: first axis
// x, second y). No drag is claimed from it.
type TopEdges struct {
	Name string `json:"name"`
	// Height is the plane's position, m; Threshold that of the weight, Level what the
	// weight is counted from.
	Height    float64    `json:"height_m"`
	Threshold float64    `json:"threshold"`
	Level     float64    `json:"level"`
	Columns   []TopPoint `json:"columns"`
}

// TopPoint is the wake at one x. Left and Right are where the weight, from outside,
// first comes to the threshold, m; nil where it does not, or is above it at the
// window's border already. Width is Right − Left.
type TopPoint struct {
	X     float64  `json:"x_m"`
	Left  *float64 `json:"left_m,omitempty"`
	Right *float64 `json:"right_m,omitempty"`
	Width *float64 `json:"width_m,omitempty"`
}
