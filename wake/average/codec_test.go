package average

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"math/rand/v2"
	"testing"

	"wakeledger/wake/waketest"
)

// TestCodecRoundTrip: what is read is what was written, from any kind of reader.
func TestCodecRoundTrip(t *testing.T) {
	for _, s := range []*State{averageOf(t, options(), 1, 2, 5), averageOf(t, Options{}, 3)} {
		b := encode(t, s)
		back, err := decode("a.state", b)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(encode(t, back), b) {
			t.Error("a state that was read is written otherwise")
		}
	}
}

// TestCodecDamage: a bit that flips, and a cut, are found wherever they are.
func TestCodecDamage(t *testing.T) {
	const seed = 8
	b := encode(t, averageOf(t, options(), 1, 2))
	r := rand.New(rand.NewPCG(seed, 0))
	for i := 0; i < len(b); i += 1 + r.IntN(8) {
		c := bytes.Clone(b)
		c[i] ^= 1 << r.IntN(8)
		if _, err := decode("a.state", c); err == nil {
			t.Fatalf("seed %d: a bit that flipped in byte %d was not found", seed, i)
		} else {
			refuses(t, err, "a.state", 0)
		}
		if i%7 != 0 {
			continue
		}
		_, err := decode("a.state", b[:i])
		refuses(t, err, "a.state", 0)
	}
	_, err := decode("a.state", append(bytes.Clone(b), 0))
	refuses(t, err, "a.state", 0, "goes on after its end")
	_, err = decode("a.state", []byte("x [m],y [m],z [m],u [m/s]\n"))
	refuses(t, err, "a.state", 0, "not a state of an average", "mean.state")
	c := bytes.Clone(b)
	c[len(magic)] = 2
	_, err = decode("a.state", c)
	refuses(t, err, "a.state", 0, "version 2", "version 4")
}

// seal puts the right checksum under a changed state.
func seal(b []byte) []byte {
	if len(b) < sha256.Size {
		return b
	}
	body := b[:len(b)-sha256.Size]
	sum := sha256.Sum256(body)
	return append(bytes.Clone(body), sum[:]...)
}

// TestCodecImpossible: contents that no average has are refused, even with the
// right checksum, and sizes that are not there cost no memory.
func TestCodecImpossible(t *testing.T) {
	s := averageOf(t, options(), 1, 2)
	b := encode(t, s)
	// Quantities are bytes, in base64.
	replace := func(from, to string) []byte {
		if !bytes.Contains(b, []byte(from)) {
			t.Fatalf("the head lacks %q", from)
		}
		c := bytes.Replace(bytes.Clone(b), []byte(from), []byte(to), 1)
		binary.LittleEndian.PutUint32(c[len(magic)+4:], binary.LittleEndian.Uint32(b[len(magic)+4:])+uint32(len(to)-len(from)))
		return seal(c)
	}
	sums := len(b) - sha256.Size - 8*len(s.acc) - 8*len(s.blocks.list)*len(s.blocks.list[0].acc)
	variance := bytes.Clone(b)
	clear(variance[sums+2*8*4 : sums+2*8*5]) // Σuu of the first sample
	for name, c := range map[string][]byte{
		"more samples":      replace(`"samples":24`, `"samples":2147483647`),
		"no samples":        replace(`"samples":24`, `"samples":0`),
		"negative":          replace(`"samples":24`, `"samples":-1`),
		"no snapshots":      replace(`"snapshots":[`, `"snapshots":[],"x":[`),
		"out of order":      replace(`"number":2`, `"number":1`),
		"a probe less":      replace(`"probes_m_s":[`, `"probes_m_s":[],"x":[`),
		"unknown key":       replace(`"samples":24`, `"samples":24,"x":1`),
		"unknown quantity":  replace(`AwQFBg==`, `A2MFBg==`),
		"order":             replace(`AwQFBg==`, `BAMFBg==`),
		"without u":         replace(`AwQFBg==`, `BAUG`),
		"no speed":          replace(`"Speed":25`, `"Speed":0`),
		"support":           replace(`"Support":0`, `"Support":2`),
		"negative variance": seal(variance),
	} {
		_, err := decode("a.state", c)
		t.Run(name, func(t *testing.T) { refuses(t, err, "a.state", 0, "damaged") })
	}
	large := replace(`"samples":24`, `"samples":2147483647`)
	if n := waketest.Allocated(func() { decode("a.state", large) }); n > 1<<20 {
		t.Errorf("a false size took %d bytes", n)
	}
}

// FuzzDecode: no input makes the reader panic, and what it takes it writes back
// byte for byte and turns into a result without panic. Fuzz it with
// -fuzzminimizetime 1x: states are long, and shortening each new one takes the
// whole time.
func FuzzDecode(f *testing.F) {
	f.Add(encode(f, averageOf(f, options(), 1, 2)), true)
	f.Add(encode(f, averageOf(f, Options{}, 1)), true)
	f.Add([]byte(magic), false)
	for _, s := range waketest.Corpus(f, "state", "*.state") {
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, b []byte, sealed bool) {
		if sealed {
			b = seal(b)
		}
		s, err := decode("a.state", b)
		if err != nil {
			refuses(t, err, "a.state", 0)
			return
		}
		if again := encode(t, s); !bytes.Equal(again, b) {
			t.Fatal("a state that was read is written otherwise")
		}
		if r, err := s.Result(); err == nil {
			if _, err := json.Marshal(r); err != nil {
				t.Fatal(err)
			}
		}
	})
}
