// Command speedtable times wakeledger against the ordinary Python stack (pandas,
// SciPy, Matplotlib) on generated planes and prints a table of ratios:
//
//	go run ./cmd/speedtable --samples 1e4,1e5,1e6 --rounds 5
//
// Both programs read the same text file, join the samples, leave out what bridges
// the body, integrate, sample one quantity on a raster of 1600×900 and write it as a
// PNG. They run alternately, so that whatever else the machine does hurts both alike;
// the table has the medians. Where the machine is busy, compare processor seconds.
// The last rows are the demo, a study of 27 planes with all its pictures, and a study of 12
// planes of 30,000 samples with one picture each, which Python has no counterpart of: there
// the other is the build of the program that --against names. The program is built from the
// working copy unless --program names one. Python needs numpy, scipy, pandas and matplotlib.
package main

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"
)

//go:embed baseline.py
var baseline []byte

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// races are what is timed: a plane of each kind and size, the demo and the study.
var races = append(kinds[:len(kinds):len(kinds)], "demo", "study")

func run(args []string, stdout, stderr io.Writer) int {
	fs := pflag.NewFlagSet("speedtable", pflag.ContinueOnError)
	fs.SetOutput(stderr)
	samples := fs.StringSlice("samples", []string{"1e4", "1e5", "1e6"}, "`LIST` of sample counts")
	r := race{stdout: stdout, stderr: stderr}
	fs.StringSliceVar(&r.kinds, "kinds", races, "`LIST` of planes, and the demo and a study of 12 planes")
	fs.IntVar(&r.rounds, "rounds", 5, "`NUMBER` of runs of each program")
	fs.StringVar(&r.program, "program", "", "`FILE` to time instead of a fresh build")
	fs.StringVar(&r.python, "python", "python3", "`COMMAND` that runs Python; none leaves it out")
	fs.StringVar(&r.against, "against", "", "`FILE`, another build of the program, whose demo and study are timed alternately")
	err := fs.Parse(args)
	if errors.Is(err, pflag.ErrHelp) {
		return 0
	}
	for _, s := range *samples {
		n, e := strconv.ParseFloat(s, 64)
		if e != nil || !(n >= 100 && n <= 2e7) {
			err = cmp.Or(err, fmt.Errorf("--samples %q: 100 to 2e7 is expected", s))
		}
		r.samples = append(r.samples, int(n))
	}
	if slices.ContainsFunc(r.kinds, func(k string) bool { return !slices.Contains(races, k) }) {
		err = cmp.Or(err, fmt.Errorf("--kinds %q: %s are expected", r.kinds, strings.Join(races, ", ")))
	}
	if r.rounds < 1 {
		err = cmp.Or(err, fmt.Errorf("--rounds %d: 1 or more is expected", r.rounds))
	}
	code := 2
	if err == nil {
		code, err = 1, r.table()
	}
	if err != nil {
		fmt.Fprintln(stderr, "speedtable:", err)
		return code
	}
	return 0
}

// race is what the flags ask for.
type race struct {
	samples                  []int
	kinds                    []string
	rounds                   int
	program, python, against string
	dir                      string
	stdout, stderr           io.Writer
}

// table runs everything and prints a row for each.
func (r *race) table() (err error) {
	if r.dir, err = os.MkdirTemp("", "speedtable-"); err != nil {
		return err
	}
	defer os.RemoveAll(r.dir)
	if r.program == "" {
		r.program = r.at("wakeledger")
		if out, err := exec.Command("go", "build", "-o", r.program, "wakeledger/cmd/wakeledger").CombinedOutput(); err != nil {
			return fmt.Errorf("building: %w\n%s", err, out)
		}
	}
	if err := os.WriteFile(r.at("baseline.py"), baseline, 0o666); err != nil {
		return err
	}
	fmt.Fprintln(r.stdout, "| samples | plane | wall s, other / ours | ratio | processor s, other / ours | ratio | peak MB, other / ours | bytes a sample | stages, wall s |")
	fmt.Fprintln(r.stdout, "|---|---|---|---|---|---|---|---|---|")
	for _, n := range r.samples {
		for _, kind := range r.kinds {
			if !slices.Contains(kinds, kind) {
				continue
			}
			var other []string
			if r.python != "none" {
				other = []string{r.python, r.at("baseline.py"), r.at("plane.csv"), r.at("baseline.png")}
			}
			err := writePlane(r.at("plane.csv"), kind, n, 1)
			if err == nil {
				err = r.row(kind, []string{r.program, "measure", r.at("plane.csv"), "--speed", "1", "--density", "1", "--pressure", "0", "--area", "1",
					"--map", "u/U", "--size", "1600x900", "--out", r.at("out"), "--timings", "--quiet"}, other)
			}
			if err != nil {
				return err
			}
		}
	}
	for _, kind := range r.kinds {
		args := []string{r.program, kind, "--out", r.at(kind), "--timings", "--quiet"}
		switch kind {
		case "demo":
		case "study":
			args = append(args, r.at("study.toml"))
			if err := r.writeStudy(); err != nil {
				return err
			}
		default:
			continue
		}
		var other []string
		if r.against != "" {
			other = append([]string{r.against}, args[1:]...)
		}
		if err := r.row(kind, args, other); err != nil {
			return err
		}
	}
	return nil
}

func (r *race) at(name string) string { return filepath.Join(r.dir, name) }

// writeStudy writes a study of the three kinds of planes at four stations.
func (r *race) writeStudy() error {
	var b strings.Builder
	b.WriteString("baseline = \"lattice\"\n[reference]\nspeed = 1\ndensity = 1\npressure = 0\n[maps]\nquantities = [\"u/U\"]\n")
	for _, kind := range kinds {
		fmt.Fprintf(&b, "[[configuration]]\nname = %q\nsurveys = [\"%s_*.csv\"]\n", kind, kind)
		for x := 1.0; x <= 4; x++ {
			if err := writePlane(r.at(fmt.Sprintf("%s_%g.csv", kind, x)), kind, 30_000, x); err != nil {
				return err
			}
		}
	}
	for x := 1.0; x <= 4; x++ {
		fmt.Fprintf(&b, "[[station]]\nname = \"%g m\"\nposition = %g\n", x, x)
	}
	return os.WriteFile(r.at("study.toml"), []byte(b.String()), 0o666)
}

// row runs the program and, where there is one, the other alternately, and prints the medians,
// after a check that both saw the same: the integral of u(1−u) within 2 %, since a lattice of
// missing cells has its rim joined otherwise than by triangles.
func (r *race) row(name string, ours, other []string) error {
	var runs [2][]timing
	for n := range r.rounds {
		fmt.Fprintf(r.stderr, "%s, round %d\n", name, n+1)
		for i, args := range [][]string{ours, other} {
			if args == nil {
				continue
			}
			t, err := timed(args)
			if err != nil {
				return err
			}
			runs[i] = append(runs[i], t)
		}
	}
	a, cell := runs[0], [8]string{"–", "–", "–", "–", "–", "–", "–", "–"}
	wall, cpu, peak := median(a, timing.wall), median(a, timing.cpu), median(a, timing.peak)
	if b := runs[1]; len(b) > 0 {
		if a[0].Samples != b[0].Samples || !(math.Abs(a[0].Integral-b[0].Integral) <= 0.02*math.Abs(b[0].Integral)) {
			return fmt.Errorf("%s: the programs disagree: %d and %d samples, integrals of u(1-u) %.6g and %.6g",
				name, a[0].Samples, b[0].Samples, a[0].Integral, b[0].Integral)
		}
		w, c := median(b, timing.wall), median(b, timing.cpu)
		cell[1], cell[2], cell[3], cell[4], cell[5] = fmt.Sprintf("%.2f", w), fmt.Sprintf("%.1f", w/wall), fmt.Sprintf("%.2f", c), fmt.Sprintf("%.1f", c/cpu), fmt.Sprintf("%.0f", median(b, timing.peak))
	}
	if n := a[0].Samples; n > 0 {
		cell[0], cell[6] = fmt.Sprint(n), fmt.Sprintf("%.0f", peak*(1<<20)/float64(n))
	}
	var stages []string
	for _, stage := range slices.Sorted(maps.Keys(a[0].Wall)) {
		if stage != "total" {
			stages = append(stages, fmt.Sprintf("%s %.2f", stage, median(a, func(t timing) float64 { return t.Wall[stage] })))
		}
	}
	_, err := fmt.Fprintf(r.stdout, "| %s | %s | %s / %.3f | %s | %s / %.3f | %s | %s / %.0f | %s | %s |\n",
		cell[0], name, cell[1], wall, cell[2], cell[3], cpu, cell[4], cell[5], peak, cell[6], strings.Join(stages, ", "))
	return err
}

// timing is the JSON line that both programs print; the stages beside the total.
type timing struct {
	Wall     map[string]float64 `json:"s"`
	Memory   map[string]float64 `json:"mb"`
	CPU      map[string]float64 `json:"cpu"`
	Integral float64            `json:"I"`
	Samples  int                `json:"n"`
}

func (t timing) wall() float64 { return t.Wall["total"] }

func (t timing) cpu() (s float64) {
	for stage, v := range t.CPU {
		if stage != "total" {
			s += v
		}
	}
	return s
}

func (t timing) peak() float64 { return slices.Max(slices.Collect(maps.Values(t.Memory))) }

// timed runs a command and reads the last line that it prints.
func timed(args []string) (t timing, err error) {
	cmd := exec.Command(args[0], args[1:]...)
	var text bytes.Buffer
	cmd.Stderr = &text
	out, err := cmd.Output()
	if err != nil {
		return t, fmt.Errorf("%s: %w\n%s", args[0], err, &text)
	}
	out = bytes.TrimSpace(out)
	if err := json.Unmarshal(out[bytes.LastIndexByte(out, '\n')+1:], &t); err != nil {
		return t, fmt.Errorf("%s printed no timings: %w", args[0], err)
	}
	return t, nil
}

func median(runs []timing, of func(timing) float64) float64 {
	v := make([]float64, len(runs))
	for i, t := range runs {
		v[i] = of(t)
	}
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
