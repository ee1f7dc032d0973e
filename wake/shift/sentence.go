package shift

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake/uncertainty"
)

// mm is a length in millimetres with a sign, but for zero.
func mm(v float64) string {
	if math.Abs(1000*v) < 0.5 {
		return "0"
	}
	return trueMinus(fmt.Sprintf("%+.0f", 1000*v))
}

// mmUnsigned is the size of a length in millimetres; below a centimetre to a tenth.
func mmUnsigned(v float64) string {
	if a := 1000 * math.Abs(v); a < 9.95 {
		return fmt.Sprintf("%.1f", a)
	}
	return fmt.Sprintf("%.0f", 1000*math.Abs(v))
}

// Sense is a direction in words, and the opposite one.
type Sense [2]string

// Toward is the move toward the centre plane, or to the right where its side is not known.
func (m Move) Toward() (v float64, way Sense) {
	if m.Inboard != nil {
		return *m.Inboard, Sense{"inboard", "outboard"}
	}
	return m.Lateral, Sense{"to the right", "to the left"}
}

// direction is the size of a move in words: "24 mm inboard".
func (m Move) direction() string {
	v, way := m.Toward()
	if v < 0 {
		return mmUnsigned(v) + " mm " + way[1]
	}
	return mmUnsigned(v) + " mm " + way[0]
}

// millimetres is how lengths are written.
var millimetres = uncertainty.Format{Scale: 1000, Decimals: 1, Unit: "mm"}

// within is the size of a move with its ± and direction: "24 ± 3 mm inboard".
func (m Move) within() string {
	return strings.Replace(m.direction(), " mm", " ± "+mmUnsigned(m.Expanded)+" mm", 1)
}

// quote is within, without ± where the budget lacks a category.
func (s *Shift) quote(m Move) string {
	if m.Verdict == uncertainty.NotJudged {
		return m.direction()
	}
	return m.within()
}

// list is "centroid +24 ± 3, edge +22 ± 4 …".
func (s *Shift) list() string {
	var l []string
	for _, m := range s.Moves {
		v, _ := m.Toward()
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
		return s.A + ": no move can be measured: " + strings.Join(s.NotMeasured, "; ")
	}
	v, way := s.Headline.Toward()
	b := uncertainty.Budget(s.Headline.LengthBudget)
	head := s.quote(*s.Headline)
	verdict := s.Judgement.Sentence
	if !s.Agree {
		head += " (" + s.Headline.Measure + ")"
		verdict = s.Judgement.Reason // finer planes do not make the measures agree
	}
	out := fmt.Sprintf("%s: %s: %s; %s mm %s", s.A, head, verdict(v, &b, millimetres, 0, ""), s.list(), way[0])
	switch {
	case len(s.Moves) == 1:
		out += " (one measure alone)"
	case s.Agree:
		out += " agree"
	default:
		out += " do not agree: it changed shape"
		if s.sameSign() {
			_, way, _ := strings.Cut(s.Moves[0].direction(), " mm ")
			out += "; all go " + way
		}
	}
	if f := s.fraction(); f != "" {
		out += "; " + f
	}
	return out
}

// fraction says what part of a width the move is, or the least and the greatest
// where the measures agree on the direction alone; empty where no width was given.
func (s *Shift) fraction() string {
	of := s.WidthOf
	if of == "" {
		of = "width"
	}
	switch least, most := s.extremes(); {
	case s.Agree && s.Headline != nil && s.Headline.Fraction != nil:
		return fmt.Sprintf("%.1f %% of the %s", 100*math.Abs(*s.Headline.Fraction), of)
	case !s.Agree && s.sameSign() && least.Fraction != nil && most.Fraction != nil:
		return fmt.Sprintf("%.1f to %.1f %% of the %s", 100*math.Abs(*least.Fraction), 100*math.Abs(*most.Fraction), of)
	}
	return ""
}

// Sentence is the one that an engineer would send: what the variant did to the
// structure at the station, how far and which way, how sure that is, and how much
// drag went with it. variant and baseline are the configurations' names; label names
// the structure for the reader ("right front-wheel wake"), and empty takes its name.
func (s *Shift) Sentence(variant, baseline, label string) string {
	if label == "" {
		label = s.A
	}
	at := "x = " + uncertainty.Fixed(s.Position, 2) + " m"
	with := fmt.Sprintf("With %s, the %s at %s", variant, label, at)
	if len(s.Moves) == 0 {
		return fmt.Sprintf("With %s, the move of the %s at %s cannot be measured.", variant, label, at)
	}
	notJudged := func() string {
		return fmt.Sprintf("%s: it stays resolved if what is not known is below u = %s mm", uncertainty.NotJudged, mmUnsigned(*s.Margin))
	}
	least, most := s.extremes()
	var out string
	switch {
	case !s.Agree && !s.sameSign():
		out = fmt.Sprintf("%s changed shape and cannot be said to have moved either way against %s: from %s (%s, ± %s) to %s (%s, ± %s)", with, baseline,
			least.direction(), least.Measure, mmUnsigned(least.Expanded), most.direction(), most.Measure, mmUnsigned(most.Expanded))
		if slices.ContainsFunc(s.Moves, func(m Move) bool { return m.Measure == MeasureOwn }) {
			out += "; the bodies fill different places of it"
		}
	case !s.Agree:
		sure := s.sureness()
		if s.Verdict == uncertainty.NotJudged {
			sure = notJudged()
		}
		out = fmt.Sprintf("%s lies %s (%s) of where it is with %s; the %d measures do not agree, from %s mm (%s) to %s mm (%s): %s; %s", with, s.quote(*s.Headline), s.Headline.Measure, baseline,
			len(s.Moves), mmUnsigned(least.Lateral), least.Measure, mmUnsigned(most.Lateral), most.Measure, join(s.fraction(), sure), s.why())
	case s.Verdict == uncertainty.Resolved:
		out = fmt.Sprintf("%s lies %s of where it is with %s (± %s mm, 95 %%; %s)",
			with, s.Headline.direction(), baseline, mmUnsigned(s.Headline.Expanded), join(s.agreement(), s.fraction()))
	case s.Verdict == uncertainty.NotResolved:
		out = fmt.Sprintf("With %s, a move of the %s at %s is not resolved: %s against %s (95 %%; %s)", variant, label, at, s.Headline.within(), baseline, s.agreement())
	default:
		out = fmt.Sprintf("%s lies %s of where it is with %s (%s), %s", with, s.Headline.direction(), baseline, join(s.agreement(), s.fraction()), notJudged())
	}
	return out + "."
}

// join sets two phrases, of which either may be empty, beside each other.
func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

func trueMinus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// sureness says how many of the measures, which all go one way, resolve it.
func (s *Shift) sureness() string {
	n := 0
	for _, m := range s.Moves {
		if m.Verdict == uncertainty.Resolved {
			n++
		}
	}
	if n == len(s.Moves) {
		return fmt.Sprintf("all %d measures resolve the direction (95 %%)", n)
	}
	some := fmt.Sprint(n)
	if n == 0 {
		some = "none"
	}
	return fmt.Sprintf("not resolved, all %d measures go that way, %s of them beyond their uncertainty (95 %%)", len(s.Moves), some)
}

// why says what makes moves of one direction differ in size: the outline, which the
// edge follows, against the inside, which registration follows and the profile where
// that is missing.
func (s *Shift) why() string {
	var edge, core *Move
	for k := range s.Moves {
		switch m := &s.Moves[k]; m.Measure {
		case MeasureEdge:
			edge = m
		case MeasureProfile:
			if core == nil {
				core = m
			}
		case MeasureRegistration:
			core = m
		}
	}
	if edge == nil || core == nil {
		return "it changed shape too, so no single figure describes the move"
	}
	flank := "outer flank"
	if edge.Inboard == nil {
		flank = "outline"
	}
	switch further := math.Abs(edge.Lateral) > math.Abs(core.Lateral); {
	case further && edge.Inboard != nil && *edge.Inboard > 0:
		return "it changed shape too: its outer flank was drawn in further than its core moved"
	case further && edge.Inboard != nil:
		return "it changed shape too: its outer flank spread further than its core moved"
	case further:
		return "it changed shape too: its outline moved further than its core"
	}
	return "it changed shape too: its core moved further than its " + flank
}

// extremes are the moves that go least and most far: by size where all go one way,
// else along y.
func (s *Shift) extremes() (least, most Move) {
	least, most = s.Moves[0], s.Moves[0]
	same := s.sameSign()
	for _, m := range s.Moves {
		v, lo, hi := m.Lateral, least.Lateral, most.Lateral
		if same {
			v, lo, hi = math.Abs(v), math.Abs(lo), math.Abs(hi)
		}
		if v < lo {
			least = m
		}
		if v > hi {
			most = m
		}
	}
	return least, most
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
