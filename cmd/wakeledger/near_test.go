package main

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// near checks a number in the JSON on stdout: near PATH WANT TOLERANCE, with PATH
// of keys and indices between dots, as in surveys.0.drag.momentum.drag_area_m2.
// "! near PATH" checks that there is no such key.
func near(ts *testscript.TestScript, neg bool, args []string) {
	var doc any
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &doc); err != nil {
		ts.Fatalf("stdout is no JSON: %v", err)
	}
	if len(args) == 0 {
		ts.Fatalf("usage: near PATH WANT TOLERANCE")
	}
	at, ok := doc, true
	for _, key := range strings.Split(args[0], ".") {
		switch v := at.(type) {
		case map[string]any:
			at, ok = v[key]
		case []any:
			i, err := strconv.Atoi(key)
			if ok = err == nil && i >= 0 && i < len(v); ok {
				at = v[i]
			}
		default:
			ok = false
		}
		if !ok {
			break
		}
	}
	if neg {
		if ok {
			ts.Fatalf("%s is %v, but should be absent", args[0], at)
		}
		return
	}
	got, isNumber := at.(float64)
	if !ok || !isNumber || len(args) != 3 {
		ts.Fatalf("%s is %v, a number is expected", args[0], at)
	}
	want, err1 := strconv.ParseFloat(args[1], 64)
	tol, err2 := strconv.ParseFloat(args[2], 64)
	if err1 != nil || err2 != nil {
		ts.Fatalf("near %v: WANT and TOLERANCE are numbers", args)
	}
	if !(math.Abs(got-want) <= tol) {
		ts.Fatalf("%s is %v, %v ± %v is expected", args[0], got, want, tol)
	}
}
