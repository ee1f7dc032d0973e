package atlas

import (
	"testing"

	"github.com/golang/freetype/truetype"
	"golang.org/x/image/font/gofont/goregular"

	"wakeledger/render"
	"wakeledger/wake/measure"
)

// The font of the pictures has every letter of what is written below them.
func TestFooterHasLetters(t *testing.T) {
	f, err := truetype.Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	p, ok := render.Limits("local drag")
	if !ok || formula(p) == "" {
		t.Fatal("local drag has no formula")
	}
	for _, r := range footer(&measure.Result{}) + formula(p) {
		if f.Index(r) == 0 {
			t.Errorf("no letter for %q", r)
		}
	}
}
