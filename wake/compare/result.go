package compare

import (
	"wakeledger/wake"
	"wakeledger/wake/force"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
)

// Comparison holds a baseline and its variants at one station, all measured in the same
// window: on the same samples, or each on its own where they have others. The JSON form is part of the command's
// contract; areas in m², lengths in m.
type Comparison struct {
	Warnings []wake.Warning  `json:"warnings"`
	Common   Common          `json:"common"`
	Baseline *measure.Result `json:"baseline"`
	Variants []Variant       `json:"variants"`
	// Pairs are the changes of drag between any two configurations, those from the baseline too.
	Pairs []Between `json:"pairs,omitempty"`
}

// Between is the change of drag from the configuration Minus to Of.
type Between struct {
	Of    string `json:"of"`
	Minus string `json:"minus"`
	Delta *Delta `json:"delta"`
	// Closes: neither window is known not to hold all of the wake.
	Closes bool `json:"closes"`
}

// Common says on what grid and window the differences were taken.
type Common struct {
	// Grid is "same samples", or says on which samples numbers and maps are.
	Grid   string         `json:"grid"`
	Window measure.Window `json:"window"`
	// Area is what all planes cover, m².
	Area float64 `json:"area_m2"`
	// Resampling is the largest change of a drag area that keeping to what all planes have
	// made, m².
	Resampling float64 `json:"resampling_m2"`
}

// Variant is one configuration against the baseline.
type Variant struct {
	Survey  *measure.Result `json:"survey"`
	Delta   *Delta          `json:"delta,omitempty"`
	Shift   *Shift          `json:"shift,omitempty"`
	Areas   []AreaDelta     `json:"areas,omitempty"`
	Regions []RegionDelta   `json:"regions,omitempty"`
	// Structures follows the parts of the wake from the baseline to the variant,
	// Exchange says where the drag difference sits, TopView how far the edges of the
	// wake moved in a plane normal to z. nil where they do not apply, and where they
	// are not computable: a warning says why.
	Structures *Structures     `json:"structures,omitempty"`
	Exchange   *parts.Ledger   `json:"exchange,omitempty"`
	TopView    *shift.TopShift `json:"top_view,omitempty"`
	// Force sets the force's record beside the baseline's by part of the vehicle; nil without
	// records that have parts.
	Force *force.Ledger `json:"force_by_part,omitempty"`
	// BesideForce sets the change of the wake beside that of the force; nil without both.
	BesideForce *ForceDelta `json:"wake_and_force,omitempty"`
}

// ForceDelta compares the change that the wake shows with the change of force.
type ForceDelta struct {
	Wake  float64 `json:"wake_m2"`
	Force float64 `json:"force_m2"`
	Closure
	// Contradicts: they differ by more than time average and reruns, which they share, explain in the
	// change's own budget, and by more than a tenth.
	Contradicts bool `json:"contradicts,omitempty"`
	// Unresolved is the ± of the force's change, m², where that is nearer to zero than the wake's and not
	// resolved, while the wake's is; nil elsewhere.
	Unresolved *float64 `json:"force_not_resolved_within_m2,omitempty"`
}

// Closure is how a wake and a force stand to each other.
type Closure struct {
	// Difference is wake minus force, Percent the same over the force, Ratio its magnitude in
	// standard uncertainties; nil where it has none.
	Difference float64  `json:"difference_m2"`
	Percent    *float64 `json:"percent,omitempty"`
	Ratio      *float64 `json:"standard_uncertainties,omitempty"`
	uncertainty.AreaBudget
	// Verdict is "agree" when |Difference| ≤ Expanded, else "differ", or "not judged" where
	// categories are Missing from the budget.
	Verdict string                 `json:"verdict"`
	Missing []uncertainty.Category `json:"missing,omitempty"`
}

// Structures are the parts of the wake in the baseline and the variant.
type Structures struct {
	// Match pairs the parts and says which appear, vanish, split or merge.
	Match *parts.Matching `json:"match"`
	// Shifts are the moves of the pairs in the order of Match.Pairs, without those that
	// cannot be measured, of which a warning tells; only for parts
	// found by weight.
	Shifts []*shift.Shift `json:"shifts"`
	// Foremost names those of Shifts that are of parts beside the vehicle which carry drag, the
	// largest first.
	Foremost []string `json:"foremost"`
}

// Delta is variant minus baseline of the headline drag area.
type Delta struct {
	Method   string   `json:"method"`
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	// Counts is ΔC_D over CountSize.
	Counts    *float64 `json:"counts,omitempty"`
	CountSize float64  `json:"count_size,omitempty"`
	// Percent of the baseline's drag area; nil when that is not positive.
	Percent *float64 `json:"percent,omitempty"`
	uncertainty.Budget
	uncertainty.Judgement
	Interval [2]float64 `json:"interval_m2"`
}

// Shift is the move of the weighted centroid.
type Shift struct {
	Weight   string     `json:"weight"`
	Centroid [2]float64 `json:"centroid_m"`
	// Inboard is the move toward the vehicle's centre plane, positive inboard;
	// nil where the side is not known.
	Inboard *float64 `json:"inboard_m,omitempty"`
	// The budget and the judgement are of the lateral move, to the right.
	uncertainty.LengthBudget
	uncertainty.Judgement
	// CommonInboard is the move over the samples that both planes have, where bodies that
	// differ make it another than that over each plane's own.
	CommonInboard *float64 `json:"common_inboard_m,omitempty"`
	// EdgeInboard is the move of the outline toward the centre plane, nil where the side is
	// not known; Registration is
	// the move along both axes that lays the one field best on the other. FourWays has
	// them with their uncertainties and the test whether they agree; there the weight
	// counts above a threshold alone, which Centroid does not need.
	EdgeInboard  *float64     `json:"edge_inboard_m,omitempty"`
	Registration *[2]float64  `json:"registration_m,omitempty"`
	FourWays     *shift.Shift `json:"four_ways,omitempty"`
}

// AreaDelta is the change of the area above a threshold.
type AreaDelta struct {
	Threshold float64 `json:"threshold"`
	Delta     float64 `json:"delta_m2"`
	uncertainty.Budget
	uncertainty.Judgement
}

// RegionDelta is the change of one region.
type RegionDelta struct {
	Name  string      `json:"name"`
	Side  string      `json:"side,omitempty"`
	Delta *Delta      `json:"delta,omitempty"`
	Shift *Shift      `json:"shift,omitempty"`
	Areas []AreaDelta `json:"areas,omitempty"`
}
