package settings

import (
	"strings"
	"testing"
)

func TestDepth(t *testing.T) {
	const deep = "tables and lists are nested more than 32 deep; write the tables that the manual shows; none is as deep"
	long := strings.Repeat("a.", 100_000) + "a = 1\n"
	for _, c := range []struct{ name, text, want string }{
		{"long key", "x = 1\n" + long, "s.toml:2:65: " + deep},
		{"long header", "[" + strings.Repeat("a.", 100_000) + "a]\n", "s.toml:1:66: " + deep},
		{"quoted parts", strings.Repeat(`"a" . `, 40) + "b = 1\n", "s.toml:1:193: " + deep},
		{"arrays", "a = " + strings.Repeat("[", 9000) + strings.Repeat("]", 9000), "s.toml:1:5: " + deep},
		{"more arrays", "a = " + strings.Repeat("[", 100_000), "s.toml:1:10005: arrays and inline tables are nested more than the maximum of 10000 levels deep; use TOML"},
		{"inline tables", "a = " + strings.Repeat("{a=", 100) + "1" + strings.Repeat("}", 100), "s.toml:1:101: " + deep},
		{"numbers", "a = [" + strings.Repeat("1.5, ", 1000) + "2.5]\n", ""},
		{"in a string", "a = '" + strings.Repeat("[.", 100) + "'\n", ""},
		{"lines of keys", strings.Repeat("[[a.b]]\n", 100), ""},
	} {
		got := ""
		if _, _, err := Parse("s.toml", []byte(c.text), 1<<20, "", "use TOML"); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
