package report

import (
	"bytes"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey/rake"
)

// A plane's Jones integral is quoted by rake where measure quotes it, and nowhere else.
func TestJonesQuotedAlike(t *testing.T) {
	for _, invalid := range []float64{0, wake.SoundJones, 0.011, 0.4, 1} {
		var b bytes.Buffer
		if err := (Rakes{{Drag: &rake.Drag{PitotWindow: measure.PitotWindow{DragArea: 0.1234, Invalid: invalid, Bracket: &[2]float64{0.1, 0.2}}}}}).Text(&b); err != nil {
			t.Fatal(err)
		}
		sound := (&measure.Jones{Invalid: invalid}).Sound()
		if quoted := strings.Contains(b.String(), "0.1234"); quoted != sound || strings.Contains(b.String(), "not quoted") == sound {
			t.Errorf("%.1f %% of the wake without meaning: measure quotes %v, rake prints\n%s", 100*invalid, sound, &b)
		}
	}
}
