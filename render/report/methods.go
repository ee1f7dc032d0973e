package report

import (
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// methodsUsed explains each method that gave a number of the study, with its
// source. The README's table says which were cited from memory.
func methodsUsed(o *study.Outcome) []methodView {
	var have struct{ shift, budget, anchor bool }
	gave := map[string]bool{}
	for _, r := range ledgerRows(o) {
		for _, m := range measure.Methods {
			if r.result.Drag != nil {
				_, _, ok := m.Of(r.result.Drag)
				gave[m.Key] = gave[m.Key] || ok
			}
		}
		have.budget = have.budget || r.result.Uncertainty.DragArea != nil
		have.anchor = have.anchor || r.result.Reference.Anchor.Kind == "edge"
		have.shift = have.shift || r.shift != nil
	}
	var out []methodView
	add := func(is bool, name, text, source string) {
		if is {
			out = append(out, methodView{name, text, source})
		}
	}
	for _, m := range measure.Methods {
		name, text := m.Short, m.Formula
		if e, ok := explained[m.Key]; ok {
			name, text = e.name, e.text
		}
		add(gave[m.Key], name, text, m.Source)
	}
	add(have.anchor, "Anchor",
		"The reference total pressure was shifted by one number for the whole plane, to the mean of the edge of the window that is free of wake.", "")
	add(have.shift, "Shift",
		"Move of the centroid of the stated weight inside a box that stays in place; inboard is toward the vehicle's centre plane and positive.", "")
	add(have.budget, "Uncertainty",
		"Standard uncertainties are added as squares; what is common to two configurations cancels in their difference. The expanded uncertainty is for a coverage of 95 %, with Student's t where the degrees of freedom are few. A change is called resolved when it is larger than its expanded uncertainty.",
		"JCGM 100:2008 (GUM), sections 5 and G.4.")
	return out
}

// explained has more on a method than its formula.
var explained = map[string]struct{ name, text string }{
	measure.ByMomentum: {"Momentum integral",
		"C_D·A = ∫(1 − Cpt) dS − ∫(1 − u/U)² dS + ∫(v² + w²)/U² dS: loss of total pressure, axial and cross-flow term. Point by point this is the pressure and momentum defect (p∞ − p) + ρu(U − u) over q; Reynolds stress enters as −2<u'u'>/U² where it is used."},
	measure.ByWakeOnly: {"Drag by the wake alone",
		"C_D·A = ∫_W [(1 − Cpt) + (u* − u)(u* + u − 2U − 2u_b)/U²] dS + ∫ψξ dS/U² over the connected wake W, plus −2<u'u'>/U² where the stress is used: u* is the axial velocity with the total pressure restored, u_b the speed that the wake's displacement adds in a closed section of stated size, ψ the stream function of the streamwise vorticity ξ. In such a section the displacement part of the cross-flow, less the unevenness of u*, belongs to it too. The window may be smaller than the flow that the wake displaces."},
	measure.ByJones: {"Jones's pitot-static method",
		"C_D·A = 2∫(u/U)(1 − √Cpt) dS: each stream tube is followed to where its pressure is p∞, with no further loss. It has no meaning where Cpt or u is not positive, holds no vortex drag, and takes −2<u'u'>/U² where the stress is used."},
	measure.ByBetz: {"Betz's wake integral",
		"The profile part of the drag by the wake alone, in free air. Close to the body it comes out low."},
	measure.ByVelocityOnly: {"Velocity deficit",
		"2∫(u/U)(1 − u/U) dS. Without the pressure this is no drag: in the potential flow about a sphere it is far from zero though the drag is zero."},
	measure.ByEnergy: {"Mechanical energy",
		"The same drag as the power lost upstream of the plane and the mechanical energy that still leaves through it. The first part grows downstream at the cost of the second."},
}
