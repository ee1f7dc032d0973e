package parts_test

import (
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/waketest"
)

// A survey without velocity has nothing to find structures in.
func TestNoWeight(t *testing.T) {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1, 1, -1, 1, 9, 9)
	s.Col[wake.U] = nil
	m, err := measure.Take(planes(t, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference()})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parts.NewField(m); err == nil || !strings.Contains(err.Error(), "--column") {
		t.Errorf("taken, or without a cure: %v", err)
	}
}
