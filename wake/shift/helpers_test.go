package shift_test

import (
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake/parts"
	"wakeledger/wake/parts/partstest"
	"wakeledger/wake/shift"
)

type blob = partstest.Blob

const h = partstest.H

var (
	kinds, plane, planes, fieldOf, noisy = partstest.Kinds, partstest.Plane, partstest.Planes, partstest.FieldOf, partstest.Noisy
	find, take, near                     = partstest.Find, partstest.Take, gridtest.Near
)

func between(t testing.TB, a, b *parts.Set, opt shift.Options) *shift.Shift {
	t.Helper()
	s, err := shift.Between(a, b, a.Structures[0].Name, b.Structures[0].Name, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
