package report

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

func ptr(x float64) *float64 { return &x }

// The sample is the campus shuttle at x = 2.91 m (whole section) and x = −0.58 m
// (behind the right front wheel, where the plane cuts the body). Drag areas, forces,
// shifts and standard errors are those of the demo data; the splits into terms,
// the budgets and the wake's shape are plausible inventions that add up.
const (
	areaBare, areaFairing, areaFlare = 2.2919, 2.2046, 2.4471
	frontal                          = 2.55
)

var edgeWarning = wake.Warning{Code: "reference-off", Where: "bare_x+2.91_whole.csv.gz", Text: "the mean total pressure on the open edge is 0.31 % of q (1.16 Pa) above the reference", Cure: "anchor the reference with --anchor edge"}
var bodyWarning = wake.Warning{Code: "cuts-body", Where: "x = -0.58 m", Text: "the planes have a hole of 2.41 m2 where the body is", Cure: "take a plane behind the vehicle for a total drag"}

func budget(standard float64) *uncertainty.Budget {
	return &uncertainty.Budget{
		Standard: standard, Expanded: 2.26 * standard, Coverage: 2.26, DOF: ptr(9),
		Items: []uncertainty.Item{
			{Name: "reference total pressure", Category: uncertainty.Reference, Kind: "common", Standard: 0.8 * standard},
			{Name: "time average", Category: uncertainty.TimeAverage, Kind: "random", Standard: 0.6 * standard},
		},
		States: []uncertainty.State{{Category: uncertainty.RunToRun, How: uncertainty.Unknown}},
	}
}

func far(name string, area float64) *measure.Result {
	cd := area / frontal
	return &measure.Result{
		File:    name + "_x+2.91_whole.csv.gz",
		Station: measure.Station{Normal: "x", Position: 2.91, Scatter: 0},
		Samples: 52992, Rejected: 0,
		Mesh:      measure.MeshInfo{Kind: "lattice", Support: "cells", SupportBy: "flag", Elements: 52992, Area: 74.52, Spacing: 0.0375},
		Window:    measure.Window{Y: [2]float64{-5.4, 5.4}, Z: [2]float64{0, 6.9}},
		Reference: measure.Reference{Speed: 25, Density: 1.2, Pressure: 0, TotalPressure: 375, Dynamic: 375, Area: frontal, Anchor: wake.Anchor{Kind: "none"}, Sensitivity: 0.07452},
		Edge:      &measure.Edge{Residual: -0.0004, SD: 0.0031, Points: 824, Strip: 1.16, Effect: 0.00046, MassDefect: 0.0021, Normal: 0.004, Closes: true, Why: "the border leaves open 0.0005 m2, less than 1 % of the drag area"},
		Drag: &measure.Drag{
			Headline: "momentum",
			Momentum: &measure.Momentum{DragArea: area, Cd: &cd, Terms: measure.Terms{TotalPressure: area + 0.4321, Axial: -0.6012, Crossflow: 0.1823, Turbulence: ptr(-0.0132)}},
			Jones:    &measure.Jones{DragArea: area - 0.1207, Cd: ptr(cd - 0.1207/frontal), Invalid: 0.034},
			Betz:     &measure.Betz{DragArea: area - 0.0911, Cd: ptr(cd - 0.0911/frontal)},
			Energy:   &measure.Energy{Dissipation: area - 0.5, Axial: 0.31, Crossflow: 0.1823, Pressure: 0.0209},
		},
		Wake: &measure.Wake{
			Weight: "total-pressure", Integral: area + 0.43, Centroid: &[2]float64{0.0021, 0.8112}, Spread: &[2]float64{0.5713, 0.4426}, Tilt: ptr(-1.25),
			Areas:     []measure.ThresholdArea{{Threshold: 0.05, Area: 5.1032}, {Threshold: 0.5, Area: 2.0417}},
			Effective: ptr(3.9417), Displacement: ptr(1.6325), MomentumArea: ptr(1.1403),
		},
		Uncertainty: measure.Uncertainty{DragArea: budget(0.0148)},
		Method:      []measure.Setting{{Name: "turbulence", Value: "stress"}, {Name: "weight", Value: "total-pressure"}, {Name: "symmetry", Value: "full"}},
		Warnings:    []wake.Warning{edgeWarning},
	}
}

func wheel(name string) *measure.Result {
	r := &measure.Result{
		File: name + "_x-0.58.csv.gz", Station: measure.Station{Normal: "x", Position: -0.58, Scatter: 0.0004},
		Samples: 11108, Rejected: 12,
		Mesh:      measure.MeshInfo{Kind: "lattice", Support: "cells", SupportBy: "flag", Elements: 11108, Area: 15.62, Holes: 1, Spacing: 0.0375, CutsBody: true},
		Window:    measure.Window{Y: [2]float64{-3, 3}, Z: [2]float64{0, 3}},
		Reference: measure.Reference{Speed: 25, Density: 1.2, TotalPressure: 376.163, Dynamic: 375, Area: frontal, Anchor: wake.Anchor{Kind: "edge", ShiftPa: 1.163, Points: 312}, Sensitivity: 0.01562},
		Regions: []measure.Region{{
			Name: "front-right wheel", Side: "right", Box: measure.Window{Y: [2]float64{0.66, 1.8}, Z: [2]float64{0, 1}},
			DragArea: ptr(0.2107), Cd: ptr(0.0826), Area: 1.0983, Centroid: &[2]float64{0.9413, 0.3342},
			Uncertainty: measure.Uncertainty{DragArea: budget(0.0021), Centroid: &[2]uncertainty.Budget{*budget(0.0011), *budget(0.0009)}},
		}},
		Rest:     &measure.Region{Name: "rest", Box: measure.Window{Y: [2]float64{-3, 3}, Z: [2]float64{0, 3}}, DragArea: ptr(0.4116), Cd: ptr(0.1614), Area: 14.5217},
		Method:   []measure.Setting{{Name: "weight", Value: "total-pressure"}},
		Warnings: []wake.Warning{bodyWarning},
	}
	return r
}

// judged is a judgement with the words that go with its verdict.
func judged(verdict string, margin float64) uncertainty.Judgement {
	j := uncertainty.Judgement{Verdict: verdict}
	if verdict == uncertainty.NotJudged {
		j.Margin, j.Missing = &margin, []uncertainty.Category{uncertainty.RunToRun}
	}
	return j
}

func sampleDelta(d, standard float64, verdict string) *compare.Delta {
	u := 2.26 * standard
	cd := d / frontal
	return &compare.Delta{
		Method: "momentum", DragArea: d, Cd: &cd, Counts: ptr(cd / 0.001), CountSize: 0.001, Percent: ptr(100 * d / areaBare),
		Budget: uncertainty.Budget{
			Standard: standard, Expanded: u, Coverage: 2.26, DOF: ptr(9),
			Items: []uncertainty.Item{{Name: "time average", Category: uncertainty.TimeAverage, Kind: "random", Standard: standard}},
		},
		Judgement: judged(verdict, standard), Interval: [2]float64{d - u, d + u},
	}
}

func sampleShift(inboard float64, verdict string) *compare.Shift {
	return &compare.Shift{
		Weight: "total-pressure", Centroid: [2]float64{-inboard, 0.004}, Inboard: &inboard,
		LengthBudget: uncertainty.LengthBudget{
			Standard: 0.0021, Expanded: 0.0047,
			Items: []uncertainty.Item{{Name: "time average", Category: uncertainty.TimeAverage, Kind: "random", Standard: 0.0021}},
		},
		Judgement:     judged(verdict, 0.003),
		CommonInboard: ptr(inboard + 0.001),
	}
}

func sampleComparison() *compare.Comparison {
	return &compare.Comparison{
		Warnings: nil,
		Common:   compare.Common{Grid: "same samples", Window: measure.Window{Y: [2]float64{-5.4, 5.4}, Z: [2]float64{0, 6.9}}, Area: 74.52},
		Baseline: far("bare", areaBare),
		Variants: []compare.Variant{
			{Survey: far("fairing", areaFairing), Delta: sampleDelta(areaFairing-areaBare, 0.0118, "resolved"), Areas: []compare.AreaDelta{{Threshold: 0.05, Delta: -0.1204}}},
			{Survey: far("flare", areaFlare), Delta: sampleDelta(areaFlare-areaBare, 0.0121, "resolved"), Areas: []compare.AreaDelta{{Threshold: 0.05, Delta: 0.2113}}},
		},
	}
}

func wheelComparison() *compare.Comparison {
	return &compare.Comparison{
		Warnings: []wake.Warning{{Code: "bodies-differ", Where: "front-right wheel", Text: "the fairing fills 0.021 m2 of the box that is open in the baseline", Cure: "choose a box that both leave open"}},
		Common:   compare.Common{Grid: "samples of bare_x-0.58.csv.gz", Window: measure.Window{Y: [2]float64{-3, 3}, Z: [2]float64{0, 3}}, Area: 15.59, Resampling: 0.0003},
		Baseline: wheel("bare"),
		Variants: []compare.Variant{
			{Survey: wheel("fairing"), Regions: []compare.RegionDelta{{Name: "front-right wheel", Side: "right", Delta: sampleDelta(-0.0013, 0.0015, "not resolved"), Shift: sampleShift(-0.010, "resolved")}}},
			{Survey: wheel("flare"), Regions: []compare.RegionDelta{{Name: "front-right wheel", Side: "right", Delta: sampleDelta(0.0404, 0.0016, "resolved"), Shift: sampleShift(-0.044, "resolved")}}},
		},
	}
}

func sampleProfiles(k float64) *measure.Profiles {
	return &measure.Profiles{
		First:  measure.Profile{Edges: []float64{-2, -1, 0, 1, 2}, Density: []float64{0.1, k, 2 * k, -0.1}},
		Second: measure.Profile{Edges: []float64{0, 1, 2}, Density: []float64{k, 0.5}},
	}
}

func sampleOutcome() *study.Outcome {
	c, w := sampleComparison(), wheelComparison()
	return &study.Outcome{
		Title: "Campus shuttle: front-wheel fairing and flare", Baseline: "bare", Headline: "far wake", Count: 0.001,
		Configurations: []study.ConfigurationOutcome{
			{Name: "bare", Force: &study.ForceValue{DragArea: 2.3026, Standard: ptr(0.016)}},
			{Name: "fairing", Note: "boat tail behind each front wheel", Force: &study.ForceValue{DragArea: 2.2145, Standard: ptr(0.010)}},
			{Name: "flare", Force: &study.ForceValue{DragArea: 2.4581, Standard: ptr(0.009)}},
		},
		Stations: []study.StationOutcome{
			{Name: "behind the front wheel", Normal: "x", Position: -0.58, Comparison: w, Variants: []string{"fairing", "flare"},
				Surveys: []study.StationSurvey{{Configuration: "bare", Result: w.Baseline}, {Configuration: "fairing", Result: w.Variants[0].Survey}, {Configuration: "flare", Result: w.Variants[1].Survey}}},
			{Name: "far wake", Normal: "x", Position: 2.91, Comparison: c, Variants: []string{"fairing", "flare"},
				Surveys: []study.StationSurvey{{Configuration: "bare", Result: c.Baseline, Profiles: sampleProfiles(1)}, {Configuration: "fairing", Result: c.Variants[0].Survey, Profiles: sampleProfiles(0.8)}, {Configuration: "flare", Result: c.Variants[1].Survey}}},
			{Name: "top", Normal: "z", Position: 0.36, Missing: []string{"bare", "flare"},
				Surveys: []study.StationSurvey{{Configuration: "fairing", Result: topView()}}},
		},
		Forces: []study.ForceCheck{
			{Station: "far wake", Configuration: "bare", Wake: areaBare, Force: 2.3026, Closure: compare.Closure{Difference: areaBare - 2.3026, AreaBudget: uncertainty.AreaBudget{Standard: 0.0218, Expanded: 0.0436, Coverage: 2}, Verdict: "agree"}},
			{Station: "far wake", Configuration: "fairing", Wake: areaFairing, Force: 2.2145, Closure: compare.Closure{Difference: areaFairing - 2.2145, AreaBudget: uncertainty.AreaBudget{Standard: 0.0179, Expanded: 0.0358, Coverage: 2}, Verdict: "agree"},
				Delta: &compare.ForceDelta{Wake: areaFairing - areaBare, Force: 2.2145 - 2.3026, Closure: compare.Closure{Difference: 0.0008, AreaBudget: uncertainty.AreaBudget{Standard: 0.0223, Expanded: 0.0446, Coverage: 2}, Verdict: "agree"}}},
		},
		Inputs: []study.Input{
			{Role: "study", File: "shuttle.toml", Bytes: 1423, SHA256: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"},
			{Role: "survey", Configuration: "bare", File: "bare_x+2.91_whole.csv.gz", Bytes: 2381746, SHA256: "60303ae22b998861bce3b28f33eec1be758a213c86c93c076dbe9f558c11c752"},
		},
		Warnings: []wake.Warning{{Code: "not-used", Where: "shuttle.toml:19:1", Text: "section.floor is not used by this version", Cure: "it changes no number; remove it or keep it for a later version"}},
	}
}

func topView() *measure.Result {
	return &measure.Result{
		File: "fairing_z0.36.csv.gz", Station: measure.Station{Normal: "z", Position: 0.36}, Samples: 31200,
		Mesh:      measure.MeshInfo{Kind: "triangles", Support: "nodes", SupportBy: "default", Elements: 61874, Area: 43.2, Spacing: 0.0375},
		Window:    measure.Window{Y: [2]float64{-3, 7}, Z: [2]float64{-2.2, 2.2}},
		Reference: measure.Reference{Speed: 25, Density: 1.2, TotalPressure: 375, Dynamic: 375, Anchor: wake.Anchor{Kind: "none"}},
		Drag:      &measure.Drag{Headline: "velocity_only", VelocityOnly: &measure.VelocityOnly{DragArea: 1.2345}},
	}
}

// samplePictures draws a map for each configuration at two stations and a sheet.
func samplePictures(t *testing.T) (out []Picture) {
	t.Helper()
	draw := func(shade uint8, w, h int) []byte {
		img := image.NewGray(image.Rect(0, 0, w, h))
		img.Pix[0] = shade
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	for i, c := range []string{"bare", "fairing", "flare"} {
		for _, st := range []string{"far wake", "behind the front wheel"} {
			for _, name := range []string{"total-pressure loss", "axial velocity"} {
				out = append(out, Picture{
					Station: st, Configuration: c, Quantity: name, PNG: draw(uint8(120+60*i), 64, 32),
					Alt: "Map of " + name + " behind " + c, Caption: "Seen from behind, looking forward",
				})
			}
		}
	}
	return append(out, Picture{Station: "far wake", Quantity: "total-pressure loss", Alt: "bare, flare and the difference", Caption: "bare | flare | difference", PNG: draw(200, 90, 26)})
}

// sampleViewer has two quantities of every configuration at two stations on a
// lattice of 9 × 5 samples: values are sampleValue, but for a hole in the middle of
// the second station.
func sampleViewer() *Viewer {
	scale := func(lo, hi float64) ViewScale {
		return ViewScale{Levels: []float64{lo, lo + (hi-lo)/4, hi}, Colors: []string{"#fafaf0", "#783c28"}, Under: "#010203", Over: "#040506"}
	}
	v := &Viewer{}
	for _, q := range []string{"total-pressure loss", "axial velocity"} {
		v.Quantities = append(v.Quantities, ViewQuantity{Label: q, Scale: scale(0, 2), Change: scale(-1, 1)})
	}
	for s, name := range []string{"behind the front wheel", "far wake"} {
		st := ViewStation{Name: name, Cells: true, XLabel: "y, m", YLabel: "z, m", From: "seen from behind", Ground: true}
		for i := range 9 {
			st.X = append(st.X, -2+0.5*float64(i))
		}
		for j := range 5 {
			st.Y = append(st.Y, 0.25+0.5*float64(j))
		}
		for c, cn := range []string{"bare", "fairing", "flare"} {
			vc := ViewConfiguration{
				Name: cn, OutlineName: "wake outline", Outlines: [][][2]float64{{{-1, 0}, {0, 1.0004}, {1, 0}}},
				Marks: []ViewMark{{At: [2]float64{0.9, 0.3}}}, Vectors: &ViewVectors{X: []float64{0}, Y: []float64{1}, Dx: []float32{0.1}, Dy: []float32{float32(math.NaN())}},
			}
			for q := range 2 {
				f := make([]float32, 45)
				for k := range f {
					f[k] = sampleValue(s, q, c, k)
				}
				if s == 0 {
					f[22] = float32(math.NaN())
				}
				vc.Fields = append(vc.Fields, f)
			}
			if c > 0 {
				vc.Doubt = [][]float32{vc.Fields[0], nil}
			}
			st.Configurations = append(st.Configurations, vc)
		}
		v.Stations = append(v.Stations, st)
	}
	return v
}

func sampleValue(s, q, c, k int) float32 {
	return float32(math.Sin(float64(k)*0.7+float64(q)) + 0.3*float64(c) - 0.1*float64(s))
}
