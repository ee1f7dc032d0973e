package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// near checks a number in the JSON on stdout: near PATH WANT TOLERANCE, with PATH
// of keys and indices between dots, as in surveys.0.drag.momentum.drag_area_m2.
// "! near PATH" checks that there is no such key.
func near(ts *testscript.TestScript, neg bool, args []string) {
	var at any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &at))
	for key := range strings.SplitSeq(args[0], ".") {
		switch v := at.(type) {
		case map[string]any:
			at = v[key]
		case []any:
			i, err := strconv.Atoi(key)
			if at = nil; err == nil && i < len(v) {
				at = v[i]
			}
		default:
			at = nil
		}
	}
	if neg {
		if at != nil {
			ts.Fatalf("%s is %v, but should be absent", args[0], at)
		}
		return
	}
	var want, tol float64
	if _, err := fmt.Sscan(strings.Join(args[1:], " "), &want, &tol); err != nil {
		ts.Fatalf("near %v: PATH, WANT and TOLERANCE are expected", args)
	}
	if got, ok := at.(float64); !ok || !(math.Abs(got-want) <= tol) {
		ts.Fatalf("%s is %v, %v ± %v is expected", args[0], at, want, tol)
	}
}
