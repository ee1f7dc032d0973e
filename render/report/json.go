package report

import (
	"bytes"
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
	return writeJSON(w, measureDoc{MeasureSchema, n.all(), results})
}

// CompareJSON writes one comparison.
func CompareJSON(w io.Writer, c *compare.Comparison) error {
	var n notes
	n.addComparison(c)
	return writeJSON(w, compareDoc{CompareSchema, n.all(), c.Common, c.Baseline, c.Variants, c.Pairs})
}

// StudyJSON writes a whole study. Comparisons inside it keep their own warnings;
// the list at the top has them all.
func StudyJSON(w io.Writer, o *study.Outcome) error {
	var n notes
	n.addOutcome(o)
	return writeJSON(w, studyDoc{StudySchema, n.all(), o})
}

func writeJSON(w io.Writer, doc any) error {
	v, err := complete(reflect.ValueOf(doc), "")
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

// complete returns a copy of v in which no list is nil and no zero is
// negative, or an error for the first number that JSON cannot hold. at is the
// place of v in the document, in the document's own keys.
func complete(v reflect.Value, at string) (reflect.Value, error) {
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		x := v.Float()
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return v, fmt.Errorf("%s is %v, which must not reach a report; values or reference are beyond what can be computed with: check their units", at, x)
		}
		if x == 0 {
			return reflect.Zero(v.Type()), nil
		}
	case reflect.Pointer:
		if v.IsNil() {
			return v, nil
		}
		e, err := complete(v.Elem(), at)
		if err != nil {
			return v, err
		}
		p := reflect.New(v.Type().Elem())
		p.Elem().Set(e)
		return p, nil
	case reflect.Slice:
		out := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		return out, completeEach(v, out, at)
	case reflect.Array:
		out := reflect.New(v.Type()).Elem()
		return out, completeEach(v, out, at)
	case reflect.Map:
		if v.IsNil() {
			return reflect.MakeMap(v.Type()), nil
		}
		out := reflect.MakeMapWithSize(v.Type(), v.Len())
		for _, k := range v.MapKeys() {
			e, err := complete(v.MapIndex(k), at+"."+fmt.Sprint(k))
			if err != nil {
				return v, err
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
			e, err := complete(v.Field(i), join(at, key, f))
			if err != nil {
				return v, err
			}
			out.Field(i).Set(e)
		}
		return out, nil
	}
	return v, nil
}

func completeEach(v, out reflect.Value, at string) error {
	for i := range v.Len() {
		e, err := complete(v.Index(i), at+"["+strconv.Itoa(i)+"]")
		if err != nil {
			return err
		}
		out.Index(i).Set(e)
	}
	return nil
}

// join adds a key to a place; the keys of an embedded struct stand beside those
// of the struct that holds it.
func join(at, key string, f reflect.StructField) string {
	switch {
	case f.Anonymous && key == "":
		return at
	case key == "":
		key = f.Name
	}
	if at == "" {
		return key
	}
	return at + "." + key
}
