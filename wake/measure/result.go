package measure

import (
	"wakeledger/wake"

	"wakeledger/wake/uncertainty"
)

// Result is what is known of one survey plane. Its JSON form is part of the
// command's contract; areas are in m², lengths in m. A quantity that cannot be
// had is nil and a warning says why. No number is NaN or infinite.
type Result struct {
	File    string  `json:"file"`
	Station Station `json:"station"`
	// Samples counts the rows used, Rejected those left out or merged away.
	Samples   int       `json:"samples"`
	Rejected  int       `json:"rejected"`
	Mesh      MeshInfo  `json:"mesh"`
	Window    Window    `json:"window"`
	Reference Reference `json:"reference"`
	Edge      *Edge     `json:"edge,omitempty"`
	Drag      *Drag     `json:"drag,omitempty"`
	Wake      *Wake     `json:"wake,omitempty"`
	Regions   []Region  `json:"regions,omitempty"`
	Rest      *Region   `json:"rest,omitempty"`
	// Structures are the parts of the wake found in a plane normal to x, highest peak
	// first, by StructureRule; TopView has the wake's edges in a plane normal to z.
	// Package parts fills them in.
	Structures    []Structure    `json:"structures,omitempty"`
	StructureRule *StructureRule `json:"structure_rule,omitempty"`
	TopView       *TopEdges      `json:"top_view,omitempty"`
	Tare          *Tare          `json:"tare,omitempty"`
	Uncertainty   Uncertainty    `json:"uncertainty"`
	// Method is the list of settings that the numbers depend on, as words, but for those that other parts hold.
	Method []Setting `json:"method"`
	// Warnings of reading, plane and measuring, in that order.
	Warnings []wake.Warning `json:"-"`
}

// Setting is a named choice that a number depends on.
type Setting struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Station says where the plane is.
type Station struct {
	Normal   string  `json:"normal"`
	Position float64 `json:"position_m"`
	Scatter  float64 `json:"scatter_m"`
}

// MeshInfo describes the mesh. Area is what the elements cover, of a half plane that half; DroppedArea what
// was left open because a triangle would have bridged a gap.
type MeshInfo struct {
	Kind        string  `json:"kind"`
	Support     string  `json:"support"`
	SupportBy   string  `json:"support_by"`
	Elements    int     `json:"elements"`
	Area        float64 `json:"area_m2"`
	Holes       int     `json:"holes"`
	DroppedArea float64 `json:"dropped_area_m2,omitempty"`
	// Spacing is the median distance of neighbouring samples, m.
	Spacing float64 `json:"spacing_m"`
	// CutsBody is true when the plane has a hole where a body would be: it has no
	// total drag then.
	CutsBody bool `json:"cuts_body"`
}

// Window is the box that was integrated. For a plane that is not normal to x the
// two limits belong to its in-plane axes in order.
type Window struct {
	Y [2]float64 `json:"y_m"`
	Z [2]float64 `json:"z_m"`
}

// Reference is the upstream state that was used.
type Reference struct {
	Speed         float64     `json:"speed_m_s"`
	Density       float64     `json:"density_kg_m3"`
	Pressure      float64     `json:"pressure_pa"`
	TotalPressure float64     `json:"total_pressure_pa"`
	Dynamic       float64     `json:"dynamic_pressure_pa"`
	Area          float64     `json:"frontal_area_m2,omitempty"`
	Anchor        wake.Anchor `json:"anchor"`
	// Sensitivity is the change of the drag area for 0.1 % of q in a reference pressure,
	// p∞ or, in the methods that hold it, pt∞, m².
	Sensitivity float64 `json:"sensitivity_m2_per_permille"`
}

// Edge is the state of the window's open border.
type Edge struct {
	// Residual is the mean local drag (1) along the open border, SD its standard
	// deviation there, Points the number of samples.
	Residual float64 `json:"residual"`
	// Beside is Residual by the samples on the border and beside it, which scatter less.
	Beside float64 `json:"-"`
	SD     float64 `json:"sd"`
	Points int     `json:"points"`
	// Standard is the standard error of Residual, from scatter from sample to sample,
	// InWake the part of the border that lies in a wake.
	Standard float64 `json:"standard"`
	InWake   float64 `json:"in_wake"`
	// Unseen is the area of a stated section that no sample covers, m²; of half of it
	// for a half plane.
	Unseen float64 `json:"unseen_m2"`
	// Strip is the area of those samples, m²; Effect is the drag area that is thought to lie
	// beyond the border, m², TailStandard its standard uncertainty;
	// OfSpread says that the wake's spread tells it.
	Strip        float64 `json:"strip_m2"`
	TailStandard float64 `json:"-"`
	Effect       float64 `json:"effect_m2"`
	OfSpread     bool    `json:"-"`
	// reach is, for each of the border's samples, the area beyond it that the tail is thought to fill.
	reach []float64
	// residuals and tails are the residual and the tail by stretches of the border.
	residuals, tails cut
	// MassDefect is ∫(1−u/U)dS, m²: 0 over a whole closed section.
	MassDefect float64 `json:"mass_defect_m2"`
	// Normal is the root-mean-square velocity through the open border over U.
	Normal float64 `json:"normal_velocity"`
	// Closes says whether the window holds all of the momentum defect, Unknown that
	// noise hides whether it does (see the closing test in edge.go); Why gives
	// the rule that decided.
	Closes  bool   `json:"closes"`
	Unknown bool   `json:"unknown,omitempty"`
	Why     string `json:"why"`
}

// Drag has every drag that the data allows, as drag areas D/q in m².
type Drag struct {
	// Headline is the key of the method that is quoted: momentum, wake_only,
	// jones, velocity_only; empty when the plane has no total drag, or none that can be
	// one: |Cp| on the open edge above 1.5, or an area below zero by more than its
	// expanded uncertainty.
	Headline     string        `json:"headline"`
	Momentum     *Momentum     `json:"momentum,omitempty"`
	WakeOnly     *WakeOnly     `json:"wake_only,omitempty"`
	Jones        *Jones        `json:"jones,omitempty"`
	Betz         *Betz         `json:"betz,omitempty"`
	VelocityOnly *VelocityOnly `json:"velocity_only,omitempty"`
	Energy       *Energy       `json:"energy,omitempty"`
	// Region is that of the wake-only and Betz integrals.
	Region *WakeRegion `json:"wake_region,omitempty"`
	// Yaw has the forces in body and wind axes where the free stream is not along x.
	Yaw *YawForces `json:"yaw,omitempty"`
}

// Wake describes the shape of the deficit over a window or a region.
type Wake struct {
	Weight string `json:"weight"`
	// Integral of the weight over the area, m².
	Integral float64 `json:"integral_m2"`
	// Centroid, spread (standard deviations along the axes) and tilt of the
	// principal axis from y toward z; nil where the weight's integral is not
	// positive enough to divide by.
	Centroid     *[2]float64     `json:"centroid_m,omitempty"`
	Spread       *[2]float64     `json:"spread_m,omitempty"`
	Tilt         *float64        `json:"tilt_deg,omitempty"`
	Axes         *[2]float64     `json:"-"` // standard deviations along the principal axes
	Areas        []ThresholdArea `json:"areas"`
	Effective    *float64        `json:"effective_area_m2,omitempty"`
	Displacement *float64        `json:"displacement_area_m2,omitempty"`
	MomentumArea *float64        `json:"momentum_area_m2,omitempty"`
	// Levelled is the whole wake's shape with the weight counted from its mean on the
	// open edge; nil for regions, and where there is no open edge.
	Levelled *Levelled `json:"from_edge_level,omitempty"`
}

// Levelled is the shape of a weight less a level: an offset over a wide window pulls
// the centroid to the window's middle and widens the spread.
type Levelled struct {
	Level    float64     `json:"level"`
	Integral float64     `json:"integral_m2"`
	Centroid *[2]float64 `json:"centroid_m,omitempty"`
	Spread   *[2]float64 `json:"spread_m,omitempty"`
}

// ThresholdArea is the area where the weight is above the threshold.
type ThresholdArea struct {
	Threshold float64 `json:"threshold"`
	// Area is corrected: Corrected, what straight level lines and scatter add to the area that the
	// samples' level lines enclose, is taken off it.
	Area      float64 `json:"area_m2"`
	Corrected float64 `json:"corrected_by_m2,omitempty"`
	// InScatter is true where the weight's scatter from sample to sample makes islands
	// above the threshold by itself: the area's uncertainty does not hold them.
	InScatter bool `json:"within_scatter,omitempty"`
}

// Region is the share of a named box. DragArea is the local drag in the box: not
// the drag of the part upstream, since pressure exchanges momentum.
type Region struct {
	Name     string      `json:"name"`
	Side     string      `json:"side,omitempty"`
	Box      Window      `json:"box"`
	DragArea *float64    `json:"drag_area_m2,omitempty"`
	Cd       *float64    `json:"cd,omitempty"`
	Terms    *Terms      `json:"terms,omitempty"`
	Area     float64     `json:"area_m2"`
	Centroid *[2]float64 `json:"centroid_m,omitempty"`
	Wake     *Wake       `json:"wake,omitempty"`
	// Uncertainty of the region's drag area and centroid.
	Uncertainty Uncertainty `json:"uncertainty"`
}

// Tare is what an empty-section survey takes off the momentum integral: the floor's
// boundary layer and what else the section has by itself.
type Tare struct {
	// File is the survey of the empty section, Empty its momentum integral and
	// DragArea the difference to that of the plane, on the same samples with the same
	// reference.
	File     string   `json:"file"`
	Empty    float64  `json:"empty_m2"`
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	// LocalReference is the other form, which refers each sample to the empty section's
	// state at its place, and Gap its excess over DragArea: how far the displaced mass
	// is taken to leave at the local speed instead of U. It is an uncertainty of the
	// model.
	LocalReference float64 `json:"local_reference_m2"`
	Gap            float64 `json:"gap_m2"`
}

// Uncertainty holds the budgets by quantity; nil where there is none.
type Uncertainty struct {
	DragArea *uncertainty.Budget    `json:"drag_area_m2,omitempty"`
	Centroid *[2]uncertainty.Budget `json:"centroid_m,omitempty"`
	// Areas are those above the thresholds, in their order.
	Areas []uncertainty.Budget `json:"areas_m2,omitempty"`
}
