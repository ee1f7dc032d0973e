package survey

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"wakeledger/wake"
)

// The bounds themselves are read, the next number beyond is not; NaN stays a missing
// value.
func TestRanges(t *testing.T) {
	const rows = "x,y,z,u,rho\n1,0,0,9,1.2\n1,VALUE,0,SPEED,DENSITY\n1,0,1,9,1.2\n1,1,1,9,1.2\n"
	for _, c := range []struct{ y, u, rho, want string }{
		{"1e9", "-1e18", "1e-300", ""},
		{"-1.0000001e9", "9", "1", "f:3:2: y is -1.0000001e+09 m; a size up to 1e+09 is expected: check the field and the unit"},
		{"2", "2e18", "1", "f:3:4: u is 2e+18 m/s; a size up to 1e+18 is expected: check the field and the unit"},
		{"2", "9", "0", "f:3:5: the density is 0 kg/m3; a positive density is expected: check the field, or leave the column out"},
		{"2", "9", "-0.1", "f:3:5: the density is -0.1 kg/m3; a positive density is expected: check the field, or leave the column out"},
	} {
		data := strings.NewReplacer("VALUE", c.y, "SPEED", c.u, "DENSITY", c.rho).Replace(rows)
		_, err := readBytes(context.Background(), "f", []byte(data), Options{})
		got := ""
		if err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%s %s %s:\n got %s\nwant %s", c.y, c.u, c.rho, got, c.want)
		}
	}
	// A unit takes a number beyond the bound, and a single value has no line.
	_, err := readBytes(context.Background(), "f", []byte("x [km],y,z,u\n2e6,0,0,9\n2e6,1,0,9\n2e6,0,1,9\n"), Options{})
	if want := "f:2:1: x is 2e+09 m; a size up to 1e+09 is expected: check the field and the unit"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	_, err = readBytes(context.Background(), "f", []byte("x,y,z,u,area\n1,0,0,9,1\n1,1,0,9,0\n1,0,1,9,1\n"), Options{})
	if want := "f:3:5: the area is 0 m2; a positive area is expected: check the field, or leave the column out"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	_, err = readBytes(context.Background(), "f", []byte("x,y,z,u\n1,0,0,9\n1,1,0,9\n1,0,1,9\n"), Options{Columns: columns{wake.Rho: "= -1 kg/m3"}})
	if want := "f: the density is -1 kg/m3; a positive density is expected: check the field, or leave the column out"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// Wherever a bit of packed text flips, the packed data is blamed, not the row that
// turned to nonsense.
func TestDamageNotRow(t *testing.T) {
	data, _ := untidy(5, 400, "\n")
	z, inRows := zipped(t, data, false), 0
	for at := 200; at < len(z)-8; at += 97 {
		b := bytes.Clone(z)
		b[at] ^= 0x10
		_, err := readBytes(context.Background(), "f.gz", b, Options{block: 1000, head: 2000})
		if err == nil || !strings.HasPrefix(err.Error(), "f.gz: the gzip data ") {
			// The head is learned from before the rest is read.
			if err != nil && at < 1200 {
				continue
			}
			t.Errorf("bit of byte %d: %v", at, err)
		}
		inRows++
	}
	if inRows < 10 {
		t.Errorf("%d flips in rows", inRows)
	}
}
