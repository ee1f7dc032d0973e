package report

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"strings"

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
	Schema   string            `json:"schema"`
	Warnings []wake.Warning    `json:"warnings"`
	Common   compare.Common    `json:"common"`
	Baseline *measure.Result   `json:"baseline"`
	Variants []compare.Variant `json:"variants"`
	Pairs    []compare.Between `json:"pairs,omitempty"`
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
// they were met. A number that is NaN or infinite is an error that names its
// place, and nothing is written.
func MeasureJSON(w io.Writer, results []*measure.Result) error {
	var n notes
	for _, r := range results {
		n.addResult(r)
	}
	return WriteJSON(w, measureDoc{MeasureSchema, n.list, results})
}

// CompareJSON writes one comparison.
func CompareJSON(w io.Writer, c *compare.Comparison) error {
	var n notes
	n.addComparison(c)
	return WriteJSON(w, compareDoc{CompareSchema, n.list, c.Common, c.Baseline, c.Variants, c.Pairs})
}

// StudyJSON writes a whole study. Comparisons inside it keep their own warnings;
// the list at the top has them all.
func StudyJSON(w io.Writer, o *study.Outcome) error {
	var n notes
	n.addOutcome(o)
	return WriteJSON(w, studyDoc{StudySchema, n.list, o})
}

// WriteJSON writes a document: finite numbers, and no list that is null. What a nil pointer would
// write is left out by its tag.
func WriteJSON(w io.Writer, doc any) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(doc); err != nil {
		return cmp.Or(finite(doc), err) // the first names the place
	}
	text := b.Bytes()
	for _, end := range []string{",\n", "\n"} { // no string ends its line without a quote
		text = bytes.ReplaceAll(text, []byte("null"+end), []byte("[]"+end))
		text = bytes.ReplaceAll(text, []byte("-0"+end), []byte("0"+end))
	}
	_, err := w.Write(text)
	return err
}

// finite returns an error for the first number in doc that is NaN or infinite, which JSON cannot hold; it names
// its place in the document's own keys.
func finite(doc any) error {
	if at, x := notFinite(reflect.ValueOf(doc)); x != 0 {
		return fmt.Errorf("%s is %v, which must not reach a report; values or reference are beyond what can be computed with: check their units", strings.TrimPrefix(at, "."), x)
	}
	return nil
}

// notFinite returns the first such number in v and where it is, else 0.
func notFinite(v reflect.Value) (at string, x float64) {
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		if x := v.Float(); x-x != 0 {
			return "", x
		}
	case reflect.Pointer, reflect.Interface:
		return notFinite(v.Elem())
	case reflect.Slice, reflect.Array:
		if k := v.Type().Elem().Kind(); k == reflect.String || k >= reflect.Int && k <= reflect.Uint64 {
			return "", 0
		}
		for i := range v.Len() {
			if at, x := notFinite(v.Index(i)); x != 0 {
				return fmt.Sprintf("[%d]%s", i, at), x
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if !f.IsExported() || key == "-" {
				continue
			}
			if at, x := notFinite(v.Field(i)); x != 0 {
				if key == "" && f.Anonymous { // its keys stand beside those of the one that holds it
					return at, x
				}
				return "." + cmp.Or(key, f.Name) + at, x
			}
		}
	}
	return "", 0
}
