package report

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
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

// WriteJSON writes a document: finite numbers, and no list that is null.
func WriteJSON(w io.Writer, doc any) error {
	v, err := complete(reflect.ValueOf(doc))
	if err != nil {
		return err
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v.Interface()); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

// notFinite is a number that JSON cannot hold, and its place in the document's own keys.
type notFinite struct {
	at string
	x  float64
}

func (e *notFinite) Error() string {
	return fmt.Sprintf("%s is %v, which must not reach a report; values or reference are beyond what can be computed with: check their units", strings.TrimPrefix(e.at, "."), e.x)
}

// within says that the place of an error of complete is in the part key.
func within(key string, err error) error {
	if e, ok := err.(*notFinite); ok {
		e.at = key + e.at
	}
	return err
}

// complete returns a copy of v in which no list is nil and no zero is
// negative, or *notFinite for the first number that JSON cannot hold.
func complete(v reflect.Value) (reflect.Value, error) {
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		x := v.Float()
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return v, &notFinite{x: x}
		}
		if x == 0 {
			return reflect.Zero(v.Type()), nil
		}
	case reflect.Pointer:
		if v.IsNil() {
			return v, nil
		}
		e, err := complete(v.Elem())
		if err != nil {
			return v, err
		}
		p := reflect.New(v.Type().Elem())
		p.Elem().Set(e)
		return p, nil
	case reflect.Slice:
		out := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		return out, completeEach(v, out)
	case reflect.Array:
		out := reflect.New(v.Type()).Elem()
		return out, completeEach(v, out)
	case reflect.Map:
		if v.IsNil() {
			return reflect.MakeMap(v.Type()), nil
		}
		out := reflect.MakeMapWithSize(v.Type(), v.Len())
		for _, k := range v.MapKeys() {
			e, err := complete(v.MapIndex(k))
			if err != nil {
				return v, within("."+fmt.Sprint(k), err)
			}
			out.SetMapIndex(k, e)
		}
		return out, nil
	case reflect.Struct:
		out := reflect.New(v.Type()).Elem()
		for i := range v.NumField() {
			f := v.Type().Field(i)
			key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if !f.IsExported() || key == "-" {
				continue
			}
			e, err := complete(v.Field(i))
			if err != nil {
				// The keys of an embedded struct stand beside those of the one that holds it.
				if key == "" && f.Anonymous {
					return v, err
				}
				return v, within("."+cmp.Or(key, f.Name), err)
			}
			out.Field(i).Set(e)
		}
		return out, nil
	}
	return v, nil
}

func completeEach(v, out reflect.Value) error {
	if k := v.Type().Elem().Kind(); k == reflect.String || k >= reflect.Int && k <= reflect.Uint64 {
		reflect.Copy(out, v)
		return nil
	}
	for i := range v.Len() {
		e, err := complete(v.Index(i))
		if err != nil {
			return within("["+strconv.Itoa(i)+"]", err)
		}
		out.Index(i).Set(e)
	}
	return nil
}
