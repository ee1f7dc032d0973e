package study

import "fmt"

// structures reads [structures].
func (d *decoder) structures(t table) Structures {
	s := Structures{By: t.word("by", "weight", "vorticity", "swirl", "none")}
	number := func(key string, b bound) float64 {
		if x := t.value(key, dimensionless, b); x != nil {
			return *x
		}
		return 0
	}
	s.Threshold, s.Prominence = number("threshold", positive), number("prominence", belowOne)
	if x := t.value("width", lengthDim, positive); x != nil {
		s.Width = *x
	}
	s.WidthOf, _ = t.text("width_of")
	if s.WidthOf != "" && !t.has("width") {
		t.fail("width_of", "width_of names a width that [structures] does not give", "add width, as in width = \"0.2 m\"")
	}
	s.EffectiveSamples = t.value("effective_samples", dimensionless, positive)
	s.CorrelationLength = t.value("correlation_length", lengthDim, positive)
	if n := s.EffectiveSamples; n != nil && *n < 1 {
		t.fail("effective_samples", fmt.Sprintf("effective_samples is %g", *n), "give the number of independent samples in the mean, at least 1")
	}
	if s.By == "none" {
		for _, key := range []string{"threshold", "prominence", "width", "effective_samples", "correlation_length"} {
			if t.has(key) {
				t.fail(key, key+" acts on nothing, since structures are found by none", "remove it, or find structures by weight")
			}
		}
	}
	return s
}
