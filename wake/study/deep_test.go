package study

import (
	"strings"
	"testing"
)

// A key of 100,000 parts took 4 GB in the parser.
func TestDeepKey(t *testing.T) {
	_, err := Parse("s.toml", []byte(strings.Repeat("a.", 100_000)+"a = 1\n"))
	if want := "s.toml:1:65: tables and lists are nested more than 32 deep"; err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("%.200v, want %s", err, want)
	}
}
