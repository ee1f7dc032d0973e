package structure

import (
	"fmt"
	"math"
	"strings"
)

// mm is a length in millimetres with a sign.
func mm(v float64) string { return strings.Replace(fmt.Sprintf("%+.0f", 1000*v), "-", "−", 1) }

// mmUnsigned is the size of a length in millimetres; below a centimetre to a tenth.
func mmUnsigned(v float64) string {
	if a := 1000 * math.Abs(v); a < 9.95 {
		return fmt.Sprintf("%.1f", a)
	}
	return fmt.Sprintf("%.0f", 1000*math.Abs(v))
}

// toward is the move in the sense in which the text gives it, and the word for it.
func (s *Shift) toward(m Move) (float64, string) {
	if m.Inboard != nil {
		return *m.Inboard, "inboard"
	}
	return m.Lateral, "to the right"
}

// direction is the size of a move in words: "24 mm inboard".
func (s *Shift) direction(m Move) string {
	v, word := s.toward(m)
	if v < 0 {
		v = -v
		if word == "inboard" {
			word = "outboard"
		} else {
			word = "to the left"
		}
	}
	return mmUnsigned(v) + " mm " + word
}

// list is "centroid +24 ± 3, edge +22 ± 4 …".
func (s *Shift) list() string {
	var l []string
	for _, m := range s.Moves {
		v, _ := s.toward(m)
		l = append(l, fmt.Sprintf("%s %s ± %s", m.Measure, mm(v), mmUnsigned(m.Expanded)))
	}
	return strings.Join(l, ", ")
}

// sameSign reports whether all moves go the same way.
func (s *Shift) sameSign() bool {
	for _, m := range s.Moves {
		if m.Lateral*s.Moves[0].Lateral <= 0 {
			return false
		}
	}
	return true
}

// sentence is the result with the test that it rests on.
func (s *Shift) sentence() string {
	if len(s.Moves) == 0 {
		return s.A + ": no move can be measured: " + strings.Join(s.Missing, "; ")
	}
	_, word := s.toward(s.Moves[0])
	test := fmt.Sprintf("Birge ratio %.2f, limit %.2f", s.Birge, s.Limit)
	if len(s.Moves) == 1 {
		test = "one measure alone"
	}
	out := ""
	switch s.Verdict {
	case Moved:
		out = fmt.Sprintf("%s moved %s, U = %s mm (k = 2): %s mm %s agree (%s)", s.A, s.direction(*s.Headline), mmUnsigned(s.Headline.Expanded), s.list(), word, test)
	case NotResolved:
		v, _ := s.toward(*s.Headline)
		u := s.Headline.Expanded
		out = fmt.Sprintf("%s did not move by more than can be resolved: %s mm %s, between %s and %s mm with 95 %% coverage; %s mm agree (%s)",
			s.A, mm(v), word, mm(v-u), mm(v+u), s.list(), test)
	default:
		out = fmt.Sprintf("%s changed shape rather than moved: %s mm %s do not agree (%s)", s.A, s.list(), word, test)
		if s.sameSign() {
			out += "; all go " + strings.SplitN(s.direction(s.Moves[0]), " mm ", 2)[1]
		} else {
			out += "; they do not even go the same way"
		}
	}
	if s.Widening != nil && s.Verdict == ChangedShape {
		what := "wider"
		if *s.Widening < 0 {
			what = "narrower"
		}
		out += fmt.Sprintf("; between its outlines it is %s mm %s", mmUnsigned(*s.Widening), what)
	} else if s.Verdict == ChangedShape {
		if (s.LeftEdge == nil) != (s.RightEdge == nil) {
			out += "; a body or a neighbour bounds it on the other side, so it grows or shrinks on its free one"
		}
		out += fmt.Sprintf("; its spread changed by %s mm along y and %s mm along z", mm(s.Spread[0]), mm(s.Spread[1]))
	}
	if s.Fraction != nil {
		of := s.WidthOf
		if of == "" {
			of = "width"
		}
		out += fmt.Sprintf("; %.1f %% of the %s", 100*math.Abs(*s.Fraction), of)
	}
	return out
}

// Sentence is the one that an engineer would send: what the variant did to the
// structure at the station, how sure that is, and how much drag went with it.
// label names the structure for the reader ("right front-wheel wake"); empty takes
// its name.
func (s *Shift) Sentence(variant, baseline, label string) string {
	if label == "" {
		label = s.A
	}
	at := strings.Replace(fmt.Sprintf("x = %+.2f m", s.Position), "-", "−", 1)
	var out string
	switch {
	case len(s.Moves) == 0:
		return fmt.Sprintf("With the %s the move of the %s at %s cannot be measured.", variant, label, at)
	case s.Verdict == Moved:
		out = fmt.Sprintf("With the %s the %s at %s lies %s of where it is with the %s (± %s mm, 95 %%; %s)",
			variant, label, at, s.direction(*s.Headline), baseline, mmUnsigned(s.Headline.Expanded), s.agreement())
	case s.Verdict == NotResolved:
		v, word := s.toward(*s.Headline)
		out = fmt.Sprintf("With the %s a move of the %s at %s is not resolved: %s ± %s mm %s against the %s (95 %%; %s)",
			variant, label, at, mm(v), mmUnsigned(s.Headline.Expanded), word, baseline, s.agreement())
	default:
		lo, hi := s.extremes()
		out = fmt.Sprintf("With the %s the %s at %s changed shape rather than moved against the %s: %s (± %s mm) by its %s, %s (± %s mm) by its %s",
			variant, label, at, baseline, s.direction(lo), mmUnsigned(lo.Expanded), lo.Measure, s.direction(hi), mmUnsigned(hi.Expanded), hi.Measure)
	}
	if s.DragArea != nil {
		more := "more"
		if *s.DragArea < 0 {
			more = "less"
		}
		out += fmt.Sprintf(", and the part of the plane that it takes up carries %.4f m² %s drag area", math.Abs(*s.DragArea), more)
		if s.DragPercent != nil {
			out += fmt.Sprintf(" (%s %%)", strings.Replace(fmt.Sprintf("%+.0f", *s.DragPercent), "-", "−", 1))
		}
		if c := s.DragUncontested; c != nil && math.Abs(*c-*s.DragArea) > borderMatters*math.Abs(*s.DragArea) {
			out += strings.Replace(fmt.Sprintf("; without what a neighbour also claims the change is %+.4f m²", *c), "-", "−", 1)
		}
	}
	return out + "."
}

// borderMatters: a change of drag that the border to the neighbours alters by more
// than this part of it is not given without the other figure.
const borderMatters = 0.25

// extremes are the two moves to give where the measures do not agree: the centroid's
// and the edge's, or else the least and the greatest.
func (s *Shift) extremes() (a, b Move) {
	a, b = s.Moves[0], s.Moves[0]
	found := 0
	for _, m := range s.Moves {
		if m.Lateral < a.Lateral {
			a = m
		}
		if m.Lateral > b.Lateral {
			b = m
		}
	}
	for _, m := range s.Moves {
		switch m.Measure {
		case MeasureCentroid, MeasureEdge:
			found++
		}
	}
	if found < 2 {
		return a, b
	}
	for _, m := range s.Moves {
		switch m.Measure {
		case MeasureCentroid:
			a = m
		case MeasureEdge:
			b = m
		}
	}
	return a, b
}

func (s *Shift) agreement() string {
	switch n := len(s.Moves); n {
	case 1:
		return "one measure alone"
	case 2:
		return "both measures agree"
	default:
		return fmt.Sprintf("all %d measures agree", n)
	}
}
