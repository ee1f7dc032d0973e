package settings

import (
	"strings"
	"testing"
)

func TestDepth(t *testing.T) {
	deep := strings.Repeat("a.", 100_000) + "a = 1\n"
	for _, c := range []struct{ name, text, want string }{
		{"long key", "x = 1\n" + deep, "s.toml:2:64: a key has parts more than 32 deep; write the tables that the manual shows; none is as deep"},
		{"long header", "[" + strings.Repeat("a.", 100_000) + "a]\n", "s.toml:1:65: a key has parts more than 32 deep; write the tables that the manual shows; none is as deep"},
		{"quoted parts", strings.Repeat(`"a" . `, 40) + "b = 1\n", "s.toml:1:191: a key has parts more than 32 deep; write the tables that the manual shows; none is as deep"},
		{"arrays", "a = " + strings.Repeat("[", 100_000), "s.toml:1:37: brackets are nested more than 32 deep; write the tables that the manual shows; none is as deep"},
		{"inline tables", "a = " + strings.Repeat("{a=", 100), "s.toml:1:101: brackets are nested more than 32 deep; write the tables that the manual shows; none is as deep"},
		{"after a string", "a = \"\\\"[\" # [\nb = '''[\n[''' \n" + deep, "s.toml:4:64: a key has parts more than 32 deep; write the tables that the manual shows; none is as deep"},
		{"numbers", "a = [" + strings.Repeat("1.5, ", 1000) + "2.5]\n", ""},
		{"in a string", "a = '" + strings.Repeat("[.", 100) + "'\n", ""},
		{"in a long string", "a = \"\"\"\n" + strings.Repeat("[.\n", 100) + "\"\"\"\n", ""},
		{"in a comment", "# " + strings.Repeat("[.", 100) + "\na.b.c = 1", ""},
		{"no end", "a = \"\"\"[[", ""},
		{"lines of keys", strings.Repeat("a.b = 1\n", 100), ""},
	} {
		got := ""
		if err := checkDepth("s.toml", []byte(c.text)); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
