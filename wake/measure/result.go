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
	// Package structure fills them in.
	Structures    []Structure    `json:"structures,omitempty"`
	StructureRule *StructureRule `json:"structure_rule,omitempty"`
	TopView       *TopEdges      `json:"top_view,omitempty"`
	Tare          *Tare          `json:"tare,omitempty"`
	Uncertainty   Uncertainty    `json:"uncertainty"`
	// Method is the list of settings that the numbers hang on, as words: method,
	// weight, turbulence rule, support, threshold list, symmetry.
	Method []Setting `json:"method"`
	// Warnings of reading, plane and measuring, in that order.
	Warnings []wake.Warning `json:"-"`
}

// Setting is a named choice that a number hangs on.
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

// MeshInfo describes the mesh. Area is what the elements cover; DroppedArea what
// was left open because a triangle would have bridged a gap.
type MeshInfo struct {
	Kind        string  `json:"kind"`
	Support     string  `json:"support"`
	SupportBy   string  `json:"support_by"`
	Elements    int     `json:"elements"`
	Area        float64 `json:"area_m2"`
	Holes       int     `json:"holes"`
	DroppedArea float64 `json:"dropped_area_m2,omitempty"`
	// HalfCells is, for a lattice, the area that the border half-cells add when
	// samples are cells (or would add, when they are nodes).
	HalfCells float64 `json:"half_cells_m2,omitempty"`
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
	SD       float64 `json:"sd"`
	Points   int     `json:"points"`
	// Standard is the standard error of Residual, from scatter from sample to sample,
	// InWake the part of the border that lies in a wake.
	Standard float64 `json:"standard"`
	InWake   float64 `json:"in_wake"`
	// Unseen is the area of a stated section that no sample covers, m²; of half of it
	// for a half plane.
	Unseen float64 `json:"unseen_m2"`
	// Strip is the area of those samples, m², and Effect = |Residual|·max(Strip, Unseen)
	// the least drag area that the border leaves open.
	Strip  float64 `json:"strip_m2"`
	Effect float64 `json:"effect_m2"`
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

// YawForces are the momentum integral's forces in yaw as areas, force over q: along the
// vehicle's x and y, and along the free stream and across it. A side force is positive
// toward +y; across the stream, toward the side on which +y is. Uncertainty holds
// sampling alone. F_y lacks −ρ⟨u'v'⟩, since no column holds it.
type YawForces struct {
	// Angle is that of the free stream to x about z, degrees, positive toward +y.
	Angle float64   `json:"yaw_deg"`
	Drag  BodyForce `json:"drag_body"`
	Side  BodyForce `json:"side_body"`
	// WindDrag = F_x cos β + F_y sin β, WindSide = F_y cos β − F_x sin β.
	WindDrag BodyForce `json:"drag_wind"`
	WindSide BodyForce `json:"side_wind"`
}

// BodyForce is a force over q, m², with what sampling leaves open.
type BodyForce struct {
	Area     float64            `json:"area_m2"`
	Cd       *float64           `json:"coefficient,omitempty"`
	Sampling uncertainty.Budget `json:"sampling"`
}

// Momentum is the full momentum integral with its terms; Cd needs a frontal area.
type Momentum struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	Terms    Terms    `json:"terms"`
}

// Terms of the momentum integral; they sum to the drag area.
type Terms struct {
	TotalPressure float64  `json:"total_pressure_m2"`
	Axial         float64  `json:"axial_m2"`
	Crossflow     float64  `json:"crossflow_m2"`
	Turbulence    *float64 `json:"turbulence_m2,omitempty"`
}

// WakeOnly is the drag from the wake alone, which a window may cut short of the
// outer flow: profile part by the artificial velocity, vortex part from streamwise
// vorticity under the boundary named.
type WakeOnly struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	Profile  float64  `json:"profile_m2"`
	Vortex   float64  `json:"vortex_m2"`
	// BlockageSpeed is u_b, m/s; 0 in free air.
	BlockageSpeed float64 `json:"blockage_speed_m_s"`
	Boundary      string  `json:"boundary"`
	// Source is the displacement part of the cross-flow, and Axial, negative, the
	// unevenness of the artificial velocity: in the drag area where WithSource says so,
	// which it does in a closed section.
	Source     float64 `json:"source_m2"`
	Axial      float64 `json:"axial_m2"`
	WithSource bool    `json:"with_source,omitempty"`
	// Unmasked is the profile part of the whole plane instead of the wake's region.
	Unmasked float64 `json:"unmasked_m2"`
	// Turbulence is −2∫⟨u'u'⟩/U² over the wake's region, part of DragArea; nil where the
	// stress is not known or not used.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
}

// Jones is the pitot-static method; Invalid is the part of the
// wake area where it has no meaning (Cpt ≤ 0 or u ≤ 0).
type Jones struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	Invalid  float64  `json:"invalid_area_fraction"`
	// Turbulence is the turbulence term, part of DragArea; nil where it is not known.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
	// WithVortex is DragArea with the vortex part, which this method omits by
	// definition: what the momentum integral is set against. nil where it is not known.
	WithVortex *float64 `json:"with_vortex_m2,omitempty"`
	// Static says where the static pressure of a pitot survey came from, and Bracket
	// what cp = ±0.1 makes of the drag area where it is not known.
	Static  string      `json:"static,omitempty"`
	Bracket *[2]float64 `json:"bracket_m2,omitempty"`
}

// Betz is the integral with the artificial velocity over the wake's region.
type Betz struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	// Turbulence is the turbulence term, part of DragArea; nil where it is not known.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
}

// VelocityOnly is 2∫(u/U)(1−u/U)dS: a momentum deficit, not a drag.
type VelocityOnly struct {
	DragArea float64 `json:"drag_area_m2"`
	// EdgeReferred is the same with the median speed U_e of the open edge for U, as a
	// momentum deficit over ½ρU_e²; EdgeReferredQ is that deficit over the reference's
	// dynamic pressure, as all other drag areas are. EdgeStandard is the standard
	// uncertainty of EdgeReferred by what the speed scatters along the edge, and
	// EdgeSpeed U_e, m/s. Where the forms differ much, none is a drag.
	EdgeReferred  float64 `json:"edge_referred_m2,omitempty"`
	EdgeReferredQ float64 `json:"edge_referred_reference_q_m2,omitempty"`
	EdgeStandard  float64 `json:"edge_referred_standard_m2,omitempty"`
	EdgeSpeed     float64 `json:"edge_speed_m_s,omitempty"`
}

// Energy holds the mechanical-energy terms; they sum to the momentum drag area.
type Energy struct {
	Dissipation float64 `json:"dissipation_m2"`
	Axial       float64 `json:"axial_m2"`
	Crossflow   float64 `json:"crossflow_m2"`
	Pressure    float64 `json:"pressure_m2"`
	// Turbulence is the turbulence term of the momentum integral; nil where it has none.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
	// Maturity is Φ/(DU), the part of the drag's power that is dissipated already;
	// given for windows that close.
	Maturity *float64 `json:"maturity,omitempty"`
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
	Area      float64 `json:"area_m2"`
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
