package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// The schemas of the three documents. A number goes up when a key changes its
// meaning or goes away; new keys may come under the same number.
const (
	MeasureSchema = "wakeledger.measure/1"
	CompareSchema = "wakeledger.compare/1"
	StudySchema   = "wakeledger.study/1"
)

type measureDoc struct {
	Schema   string            `json:"schema"`
	Warnings []wake.Warning    `json:"warnings"`
	Surveys  []*measure.Result `json:"surveys"`
}

type compareDoc struct {
	Schema   string         `json:"schema"`
	Warnings []wake.Warning `json:"warnings"`
	*compare.Comparison
}

type studyDoc struct {
	Schema   string         `json:"schema"`
	Warnings []wake.Warning `json:"warnings"`
	*study.Outcome
}

// MeasureJSON writes the results of single surveys as one JSON document, with
// the warnings of all of them in one list.
//
// This holds for all three documents: two blanks of indentation and a newline at
// the end; a list is never null; equal warnings occur once, in the order in which
// they were met. A number that is NaN or infinite is an error, and nothing is
// written.
func MeasureJSON(w io.Writer, results []*measure.Result) error {
	var n notes
	for _, r := range results {
		n.marks(r.Warnings)
	}
	return WriteJSON(w, measureDoc{MeasureSchema, n.list, results})
}

// CompareJSON writes one comparison.
func CompareJSON(w io.Writer, c *compare.Comparison) error {
	var n notes
	n.addComparison(c)
	return WriteJSON(w, compareDoc{CompareSchema, n.list, c})
}

// StudyJSON writes a whole study. Comparisons inside it keep their own warnings;
// the list at the top has them all.
func StudyJSON(w io.Writer, o *study.Outcome) error {
	return WriteJSON(w, studyDoc{StudySchema, StudyWarnings(o), o})
}

// WriteJSON writes a document: finite numbers, and no list that is null. What a nil pointer would
// write is left out by its tag.
func WriteJSON(w io.Writer, doc any) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(doc); err != nil {
		return fmt.Errorf("a number that is not finite must not reach a report; values or reference are beyond what can be computed with: check their units (%w)", err)
	}
	text := b.Bytes()
	for _, end := range []string{",\n", "\n"} { // no string ends its line without a quote
		text = bytes.ReplaceAll(text, []byte("null"+end), []byte("[]"+end))
		text = bytes.ReplaceAll(text, []byte("-0"+end), []byte("0"+end))
	}
	_, err := w.Write(text)
	return err
}
