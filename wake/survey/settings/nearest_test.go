package settings

import "testing"

// TestEditDistance: values by hand, and the laws of a distance.
func TestEditDistance(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"speed", "speed", 0}, {"sped", "speed", 1}, {"spede", "speed", 1},
		{"kitten", "sitting", 3}, {"größe", "grösse", 2}, {"ca", "abc", 3},
	} {
		if got := editDistance(tt.a, tt.b); got != tt.want {
			t.Errorf("editDistance(%q, %q) = %d, want %d", tt.a, tt.b, got, tt.want)
		}
		if ab, ba := editDistance(tt.a, tt.b), editDistance(tt.b, tt.a); ab != ba {
			t.Errorf("editDistance(%q, %q): %d and %d in the two orders", tt.a, tt.b, ab, ba)
		}
	}
}
