package shift

import "wakeledger/wake/uncertainty"

// Complete says of every move what tests do not look at: a steady solution, one reference,
// and no change from run to run. A time average that a field has of its own counts beside it.
func Complete(float64) []uncertainty.Item {
	return []uncertainty.Item{
		uncertainty.Declared(uncertainty.Reference, uncertainty.Absent, "one reference for both"),
		uncertainty.Declared(uncertainty.TimeAverage, uncertainty.Absent, "a steady solution"),
		uncertainty.Declared(uncertainty.RunToRun, uncertainty.Stated, "band of 0 %"),
	}
}
