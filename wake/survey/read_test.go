package survey

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/klauspost/compress/gzip"
	"pgregory.net/rapid"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

func readBytes(ctx context.Context, name string, data []byte, opt Options) (*wake.Samples, error) {
	return readStream(ctx, name, bytes.NewReader(data), int64(len(data)), opt)
}

func readStream(ctx context.Context, name string, r io.Reader, size int64, opt Options) (*wake.Samples, error) {
	t, err := openReader(name, r, size)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	s, err := read(ctx, t, &opt)
	if err == nil {
		leaveOut(s)
	}
	return s, err
}

// untidy writes a table with comments, empty lines and missing values, and says
// which line each full row stands in.
func untidy(seed uint64, rows int, end string) (data []byte, lines []int) {
	r := rand.New(rand.NewPCG(seed, 1))
	var b strings.Builder
	b.WriteString("x,y,z,u,note,p" + end)
	line := 1
	for i := 0; i < rows; line++ {
		switch r.IntN(12) {
		case 0:
			b.WriteString("# a comment, with commas" + end)
		case 1:
			b.WriteString(end)
		case 2:
			fmt.Fprintf(&b, "1,%d,0.5,nan,text,2%s", i, end)
		default:
			fmt.Fprintf(&b, "1,%d,%.17g,%.17g,\"a, b\",%.4f%s", i, r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), end)
			lines = append(lines, line+1)
			i++
		}
	}
	return []byte(b.String()), lines
}

// zipped packs data with gzip; open: without its end.
func zipped(t *testing.T, data []byte, open bool) []byte {
	t.Helper()
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	_, err := w.Write(data)
	if open {
		err = errors.Join(err, w.Flush())
	} else {
		err = errors.Join(err, w.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	return z.Bytes()
}

// The samples, the lines and the count of dropped rows do not depend on how the
// file is cut into blocks or on how many workers there are.
func TestBlocksAndWorkersDoNotMatter(t *testing.T) {
	for _, end := range []string{"\n", "\r\n"} {
		data, lines := untidy(11, 3000, end)
		var first *wake.Samples
		for _, c := range []struct{ block, head, workers int }{{0, 0, 1}, {97, 0, 1}, {97, 300, 2}, {30, 301, 1}, {1000, 302, 4}, {4096, 5000, 3}, {len(data), 500, 2}} {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(c.workers))
			s, err := readStream(context.Background(), "untidy", bytes.NewReader(data), -1, Options{block: c.block, head: c.head})
			if err != nil {
				t.Fatal(err)
			}
			if s.N != len(lines) {
				t.Fatalf("%d samples, want %d", s.N, len(lines))
			}
			for i, want := range lines {
				if got := s.LineOf(i); got != want {
					t.Fatalf("block %d, end %q: sample %d in line %d, want %d", c.block, end, i, got, want)
				}
			}
			if first == nil {
				first = s
				continue
			}
			if d := cmp.Diff(first, s, cmpopts.IgnoreFields(wake.Samples{}, "LineOf")); d != "" {
				t.Fatalf("block %d, %d workers:\n%s", c.block, c.workers, d)
			}
		}
		if first.Dropped == 0 || len(first.Warnings) != 0 || !cmp.Equal(first.Ignored, []string{"note"}) {
			t.Errorf("dropped %d, warnings %v, ignored %q", first.Dropped, first.Warnings, first.Ignored)
		}
	}
}

// Of several faults the first in the file is reported, whoever finds it first.
func TestFirstErrorWins(t *testing.T) {
	var b strings.Builder
	b.WriteString("x,y,z,u\n")
	for i := range 4000 {
		switch {
		case i == 1234:
			b.WriteString("1,2,3,first\n")
		case i > 1234:
			b.WriteString("1,2,3\n")
		default:
			fmt.Fprintf(&b, "1,%d,%d,%d\n", i, i%7, i)
		}
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for workers := 1; workers <= 4; workers++ {
		runtime.GOMAXPROCS(workers)
		for range 40 {
			_, err := readBytes(context.Background(), "f", []byte(b.String()), Options{block: 64, head: 99})
			if want := `f:1236:4: "first" is not a number (u); mend the field, or write nan for a missing value`; err == nil || err.Error() != want {
				t.Fatalf("%d workers: %v", workers, err)
			}
		}
	}
}

// Rows before damaged data are judged first; the damage is reported after them.
func TestDamageAfterRows(t *testing.T) {
	data, _ := untidy(3, 2000, "\n")
	z := zipped(t, data, false)
	for _, n := range []int{11, 20, 200, len(z) / 2, len(z) - 9, len(z) - 1} {
		_, err := readBytes(context.Background(), "f.gz", z[:n], Options{block: 1000, head: 2000})
		if want := "f.gz: the gzip data ends early; copy the file again, or export it again"; err == nil || err.Error() != want {
			t.Errorf("cut to %d bytes: %v", n, err)
		}
	}
	bad := bytes.Replace(data, []byte("a, b"), []byte(`a", b`), 1) // a field more
	_, err := readBytes(context.Background(), "f.gz", zipped(t, bad, true), Options{block: 1000, head: 2000})
	var in *wake.InputError
	if !errors.As(err, &in) || in.Line == 0 {
		t.Errorf("%v, want the row's fault first", err)
	}
}

// Written with 17 digits and read again, samples are the same to the last bit,
// in any dialect.
func TestWrittenThenRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "rows")
		sep := rapid.SampledFrom([]string{",", ";", "\t", " ", "   "}).Draw(t, "separator")
		format := rapid.SampledFrom([]string{"%.17g", "%.16e", "%25.17g", "%+.16E"}).Draw(t, "format")
		end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line end")
		comma := sep != "," && rapid.Bool().Draw(t, "decimal comma")
		names := []wake.Quantity{wake.X, wake.Y, wake.Z, wake.U, wake.Cpt, wake.WW}
		want := make([][]float64, len(names))
		var b strings.Builder
		for i, q := range names {
			if i > 0 {
				b.WriteString(sep)
			}
			b.WriteString(q.String())
		}
		b.WriteString(end)
		for range n {
			for i := range names {
				v := rapid.Float64Range(-maxPosition, maxPosition).Draw(t, "value")
				want[i] = append(want[i], v)
				if i > 0 {
					b.WriteString(sep)
				}
				text := fmt.Sprintf(format, v)
				if comma {
					text = strings.ReplaceAll(text, ".", ",")
				}
				b.WriteString(text)
			}
			b.WriteString(end)
		}
		// Reading alone: what values mean is judged after it.
		file, err := openReader("f", strings.NewReader(b.String()), int64(b.Len()))
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		s, err := read(context.Background(), file, &Options{block: rapid.IntRange(1, 400).Draw(t, "block"), head: 700})
		if err != nil {
			var in *wake.InputError
			if errors.As(err, &in) && strings.Contains(in.Text, "on a line") {
				return // two coordinates happened to be constant
			}
			t.Fatalf("%v in\n%s", err, b.String())
		}
		for i, q := range names {
			for j, v := range want[i] {
				if math.Float64bits(s.Col[q][j]) != math.Float64bits(v) {
					t.Fatalf("%s[%d] = %v, want %v, in\n%s", q, j, s.Col[q][j], v, b.String())
				}
			}
		}
	})
}

func grid11(row func(i, j int) string) []byte {
	var b strings.Builder
	for j := range 11 {
		for i := range 11 {
			b.WriteString(row(i, j) + "\n")
		}
	}
	return []byte(b.String())
}

func TestWarnings(t *testing.T) {
	still := append([]byte("x,y,z,u,v,w,p\n"), grid11(func(i, j int) string { return fmt.Sprintf("2,%d,%d,%d,0,0.5,7", i, j, i*j) })...)
	few := append([]byte("x,y,z,u,p\n"), grid11(func(i, j int) string {
		if i > 4 {
			return fmt.Sprintf("2,%d,%d,,%d", i, j, i+j)
		}
		return fmt.Sprintf("2,%d,%d,%d,%d", i, j, i*j+i+1, i+j)
	})...)
	kinematic := append([]byte("x,y,z,u,p [m2/s2],pt [m2/s2]\n"), grid11(func(i, j int) string { return fmt.Sprintf("2,%d,%d,%d,%d,%d", i, j, i*j+1, i, j) })...)
	for _, c := range []struct {
		data    []byte
		want    []string
		dropped int
	}{
		{still, []string{
			"f: v is 0 in all 121 rows; check the export [constant-column]",
			"f: w is 0.5 in all 121 rows; check the export [constant-column]",
			"f: p is 7 in all 121 rows; check the export [constant-column]"}, 0},
		{few, []string{"f: 66 of 121 rows were left out for missing values, 66 of them for u; export only the plane's own samples, or leave the column out [many-dropped]"}, 66},
		{kinematic, []string{"f: p and pt given over density: multiplied by 1.2 kg/m3; check that the density is the solver's [kinematic-pressure]"}, 0},
	} {
		s, err := readBytes(context.Background(), "f", c.data, Options{Density: 1.2})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, w := range s.Warnings {
			got = append(got, w.String())
		}
		if d := cmp.Diff(c.want, got); d != "" || s.Dropped != c.dropped {
			t.Errorf("dropped %d\n%s", s.Dropped, d)
		}
	}
	// In a frame whose x runs sideways it is v that cannot be constant.
	_, err := readBytes(context.Background(), "f", still, Options{Frame: frame(t, "x left, y aft, z up")})
	if want := `f:1:5: v is 0 in all 121 rows; check the export, or name another column with --column v="NAME"`; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// Data over a chord and a speed get their scale from a unit with a number.
func TestScaledColumns(t *testing.T) {
	data := []byte("x/c,y [in],u/U,uu/U2\n1.5,2,0.5,0.01\n1.5,4,0.75,0.02\n2,2,1,0.03\n")
	s, err := readBytes(context.Background(), "f", data, Options{Columns: columns{
		wake.X: "x/c [24 in]", wake.Z: "= 0 m", wake.U: "u/U [30.5 m/s]", wake.UU: "uu/U2 [930.25 m2/s2]"}})
	if err != nil {
		t.Fatal(err)
	}
	for q, want := range map[wake.Quantity]float64{wake.X: 0.9144, wake.Y: 0.0508, wake.U: 15.25, wake.UU: 9.3025} {
		if !(math.Abs(s.Col[q][0]-want) <= 1e-15*want) {
			t.Errorf("%s = %v, want %v", q, s.Col[q][0], want)
		}
	}
}

func TestContextEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	data, _ := untidy(5, 500, "\n")
	if _, err := readBytes(ctx, "f", data, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want %v", err, context.Canceled)
	}
}

// A binary file that begins like text, and a line without end.
func TestNotText(t *testing.T) {
	long := append([]byte("x,y,z,u\n1,2,3,4\n1,3,3,4\n2,2,5,6\n"), bytes.Repeat([]byte("7"), 4<<20)...)
	_, err := readBytes(context.Background(), "f", long, Options{block: 4096, head: 4096})
	if want := "f:5: the line is longer than 1048576 bytes; write one sample a line"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	nul := append(bytes.Repeat([]byte("1,2,3\n"), 200), 0, '\n')
	_, err = readBytes(context.Background(), "f", nul, Options{})
	if want := "f: byte 1201 is 0: this is not text; export comma-separated text"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// FuzzRead: whatever the bytes, an answer or an error of one line, no panic, and
// no more samples than bytes.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"x,y,z,u\n1,2,3,4\n1,3,3,4\n2,2,5,6\n", "# points: 2\nx y z\n1 2 3\n4 5 6\n", "1;2;3\r4;5;6\r", "\xff\xfex\x00,\x00y\x00",
		"\"x, mm\",\"y, mm\",z\n1,2,3,\n", "x\ty\tz\tU:0\tU:1\n1\t2\t3\t1e5\t-1.0D+03\n", "1,5 2,5 3\n2,5 3,5 1\n", "\x1f\x8b\x08", "\x28\xb5\x2f\xfd\x00"} {
		f.Add([]byte(s), uint8(7))
	}
	for _, kind := range []string{"text", "numpy", "vtk"} {
		for _, s := range waketest.Corpus(f, kind, "plane.*", "*.csv", "*.gz", "*.np[yz]", "*.vt?") {
			f.Add(s, uint8(9))
		}
	}
	f.Fuzz(func(t *testing.T, data []byte, block uint8) {
		for _, opt := range []Options{{}, {Columns: columns{wake.X: "1", wake.Y: "2 [mm]", wake.Z: "=1 ft"}, Density: 1.2}} {
			opt.block, opt.head = int(block), 4*int(block)
			s, err := readBytes(context.Background(), "f", data, opt)
			if err != nil {
				var in *wake.InputError
				if !errors.As(err, &in) || strings.ContainsAny(err.Error(), "\n\r") {
					t.Fatalf("%T: %q", err, err)
				}
				continue
			}
			if s.N <= 0 || s.N+s.Dropped > 300*len(data) {
				t.Fatalf("%d samples of %d bytes", s.N, len(data))
			}
			if err := sound(s); err != nil {
				t.Fatal(err)
			}
			if s.LineOf == nil {
				continue // no file of lines
			}
			if l := s.LineOf(s.N - 1); l < 1 || l < s.N {
				t.Fatalf("sample %d in line %d", s.N-1, l)
			}
		}
	})
}
