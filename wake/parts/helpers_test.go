package parts_test

import (
	"wakeledger/grid/gridtest"
	"wakeledger/wake/parts/partstest"
)

type blob = partstest.Blob

const h = partstest.H

var (
	kinds, plane, planes, fieldOf, noisy = partstest.Kinds, partstest.Plane, partstest.Planes, partstest.FieldOf, partstest.Noisy
	find, take, near                     = partstest.Find, partstest.Take, gridtest.Near
)
