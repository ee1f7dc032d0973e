// Command speedtable times wakeledger against the ordinary Python stack (pandas,
// SciPy, Matplotlib) on generated planes and prints a table of ratios:
//
//	go run ./cmd/speedtable --samples 1e4,1e5,1e6 --rounds 5
//
// Both programs read the same text file, join the samples, leave out what bridges
// the body, integrate, sample one quantity on a raster of 1600×900 and write it as a
// PNG. They run alternately, so that whatever else the machine does hurts both alike;
// the table has the medians. Where the machine is busy, compare processor seconds.
// A second table has the demo, a study of 27 planes with all its pictures, and a study of 12
// planes of 30,000 samples with one picture each, which Python has no counterpart of; --against
// FILE races another build of the program there. The program is built from the working copy
// unless --program names one. Python needs numpy, scipy, pandas and matplotlib.
package main

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
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

// options are the flags.
type options struct {
	samples []int
	kinds   []string
	rounds  int
	program string
	python  string
	demo    bool
	against string
}

func run(args []string, stdout, stderr io.Writer) int {
	fs := pflag.NewFlagSet("speedtable", pflag.ContinueOnError)
	fs.SetOutput(stderr)
	samples := fs.StringSlice("samples", []string{"1e4", "1e5", "1e6"}, "`LIST` of sample counts")
	var o options
	fs.StringSliceVar(&o.kinds, "kinds", kinds, "`LIST` of planes: "+strings.Join(kinds, ", "))
	fs.IntVar(&o.rounds, "rounds", 5, "`NUMBER` of runs of each program on each plane")
	fs.StringVar(&o.program, "program", "", "`FILE` to time instead of a fresh build")
	fs.StringVar(&o.python, "python", "python3", "`COMMAND` that runs Python; none leaves it out")
	fs.BoolVar(&o.demo, "demo", true, "time the demo and a study of 12 planes too")
	fs.StringVar(&o.against, "against", "", "`FILE`, another build of the program, whose demo and study are timed alternately")
	switch err := fs.Parse(args); {
	case errors.Is(err, pflag.ErrHelp):
		return 0
	case err != nil:
		fmt.Fprintln(stderr, "speedtable:", err)
		return 2
	}
	for _, s := range *samples {
		n, err := strconv.ParseFloat(s, 64)
		if err != nil || !(n >= 100 && n <= 2e7) {
			fmt.Fprintf(stderr, "speedtable: --samples %q: 100 to 2e7 is expected\n", s)
			return 2
		}
		o.samples = append(o.samples, int(n))
	}
	for _, k := range o.kinds {
		if !slices.Contains(kinds, k) {
			fmt.Fprintf(stderr, "speedtable: --kinds %q: %s are expected\n", k, strings.Join(kinds, ", "))
			return 2
		}
	}
	if o.rounds < 1 {
		fmt.Fprintf(stderr, "speedtable: --rounds %d: 1 or more is expected\n", o.rounds)
		return 2
	}
	if err := o.table(stdout, stderr); err != nil {
		fmt.Fprintln(stderr, "speedtable:", err)
		return 1
	}
	return 0
}

// timing is the JSON line that both programs print.
type timing struct {
	Wall     map[string]float64 `json:"s"`
	Memory   map[string]float64 `json:"mb"`
	CPU      map[string]float64 `json:"cpu"`
	Integral float64            `json:"I"`
	Area     float64            `json:"area"`
	Samples  int                `json:"n"`
}

// table runs everything and prints a line for each plane.
func (o *options) table(stdout, stderr io.Writer) error {
	dir, err := os.MkdirTemp("", "speedtable-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if o.program == "" {
		o.program = filepath.Join(dir, "wakeledger")
		if out, err := exec.Command("go", "build", "-o", o.program, "wakeledger/cmd/wakeledger").CombinedOutput(); err != nil {
			return fmt.Errorf("building: %w\n%s", err, out)
		}
	}
	script := filepath.Join(dir, "baseline.py")
	if err := os.WriteFile(script, baseline, 0o666); err != nil {
		return err
	}
	fmt.Fprintln(stdout, "| samples | plane | wall s, Python / ours | ratio | processor s, Python / ours | ratio | peak MB, Python / ours | bytes a sample | stages, wall s |")
	fmt.Fprintln(stdout, "|---|---|---|---|---|---|---|---|---|")
	for _, n := range o.samples {
		for _, kind := range o.kinds {
			plane := filepath.Join(dir, "plane.csv")
			if err := writePlane(plane, kind, n, 1); err != nil {
				return err
			}
			var ours, theirs []timing
			for r := range o.rounds {
				fmt.Fprintf(stderr, "%s, %d samples, round %d\n", kind, n, r+1)
				t, err := timed(o.program, "measure", plane, "--speed", "1", "--density", "1", "--pressure", "0", "--area", "1",
					"--map", "u/U", "--size", "1600x900", "--out", filepath.Join(dir, "out"), "--timings", "--quiet")
				if err != nil {
					return err
				}
				ours = append(ours, t)
				if o.python == "none" {
					continue
				}
				if t, err = timed(o.python, script, plane, filepath.Join(dir, "baseline.png")); err != nil {
					return err
				}
				theirs = append(theirs, t)
			}
			if err := line(stdout, kind, ours, theirs); err != nil {
				return err
			}
		}
	}
	if !o.demo {
		return nil
	}
	return o.race(dir, stdout, stderr)
}

// writeStudy writes a study of the three kinds of planes at four stations.
func writeStudy(dir string) (path string, err error) {
	var b strings.Builder
	b.WriteString("baseline = \"lattice\"\n[reference]\nspeed = 1\ndensity = 1\npressure = 0\n[maps]\nquantities = [\"u/U\"]\n")
	for _, kind := range kinds {
		fmt.Fprintf(&b, "[[configuration]]\nname = %q\nsurveys = [\"%s_*.csv\"]\n", kind, kind)
	}
	for x := 1.0; x <= 4; x++ {
		fmt.Fprintf(&b, "[[station]]\nname = \"%g m\"\nposition = %g\n", x, x)
		for _, kind := range kinds {
			if err := writePlane(filepath.Join(dir, fmt.Sprintf("%s_%g.csv", kind, x)), kind, 30_000, x); err != nil {
				return "", err
			}
		}
	}
	path = filepath.Join(dir, "study.toml")
	return path, os.WriteFile(path, []byte(b.String()), 0o666)
}

// race times the demo and the study of the program and of the other build, and prints a line for each.
func (o *options) race(dir string, stdout, stderr io.Writer) error {
	study, err := writeStudy(dir)
	if err != nil {
		return err
	}
	programs := slices.DeleteFunc([]string{o.program, o.against}, func(p string) bool { return p == "" })
	for _, c := range []struct {
		name string
		args []string
	}{{"demo", []string{"demo"}}, {"study of 12 planes", []string{"study", study}}} {
		runs := make([][]timing, len(programs))
		for r := range o.rounds {
			for i, p := range programs {
				fmt.Fprintf(stderr, "%s of %s, round %d\n", c.name, p, r+1)
				t, err := timed(p, append(c.args, "--out", filepath.Join(dir, fmt.Sprint(c.args[0], i)), "--timings", "--quiet")...)
				if err != nil {
					return err
				}
				runs[i] = append(runs[i], t)
			}
		}
		fmt.Fprintf(stdout, "\n| %s of | wall s | processor s | peak MB | stages, wall s |\n|---|---|---|---|---|\n", c.name)
		for i, p := range programs {
			m := summary(runs[i])
			fmt.Fprintf(stdout, "| %s | %.2f | %.2f | %.0f | %s |\n", filepath.Base(p), m.wall, m.cpu, m.peak, m.stages)
		}
	}
	return nil
}

// timed runs a command and reads the last line that it prints.
func timed(name string, args ...string) (timing, error) {
	cmd := exec.Command(name, args...)
	var out, text bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &text
	if err := cmd.Run(); err != nil {
		return timing{}, fmt.Errorf("%s: %w\n%s", filepath.Base(name), err, text.String())
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	var t timing
	if err := json.Unmarshal([]byte(lines[len(lines)-1]), &t); err != nil {
		return timing{}, fmt.Errorf("%s printed no timings: %w", filepath.Base(name), err)
	}
	return t, nil
}

// line prints the medians for one plane, after a check that both programs saw the
// same: the integral of u(1−u) within 2 %, since a lattice of missing cells has its
// rim joined otherwise than by triangles.
func line(w io.Writer, kind string, ours, theirs []timing) error {
	a := summary(ours)
	python := [3]string{"–", "–", "–"}
	ratio := [2]string{"–", "–"}
	if len(theirs) > 0 {
		b := summary(theirs)
		if ours[0].Samples != theirs[0].Samples || !(math.Abs(ours[0].Integral-theirs[0].Integral) <= 0.02*math.Abs(theirs[0].Integral)) {
			return fmt.Errorf("%s: the programs disagree: %d and %d samples, integrals of u(1-u) %.6g and %.6g",
				kind, ours[0].Samples, theirs[0].Samples, ours[0].Integral, theirs[0].Integral)
		}
		python = [3]string{fmt.Sprintf("%.2f", b.wall), fmt.Sprintf("%.2f", b.cpu), fmt.Sprintf("%.0f", b.peak)}
		ratio = [2]string{fmt.Sprintf("%.1f", b.wall/a.wall), fmt.Sprintf("%.1f", b.cpu/a.cpu)}
	}
	_, err := fmt.Fprintf(w, "| %d | %s | %s / %.3f | %s | %s / %.3f | %s | %s / %.0f | %.0f | %s |\n",
		ours[0].Samples, kind, python[0], a.wall, ratio[0], python[1], a.cpu, ratio[1], python[2], a.peak,
		a.peak*(1<<20)/float64(ours[0].Samples), a.stages)
	return err
}

// medians of several runs.
type medians struct {
	wall, cpu, peak float64
	stages          string
}

func summary(runs []timing) medians {
	of := func(f func(t timing) float64) float64 {
		v := make([]float64, len(runs))
		for i, t := range runs {
			v[i] = f(t)
		}
		slices.Sort(v)
		return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
	}
	m := medians{
		wall: of(func(t timing) float64 { return t.Wall["total"] }),
		cpu: of(func(t timing) float64 {
			s := 0.0
			for stage, v := range t.CPU {
				if stage != "total" {
					s += v
				}
			}
			return s
		}),
		peak: of(func(t timing) float64 {
			p := 0.0
			for _, v := range t.Memory {
				p = math.Max(p, v)
			}
			return p
		}),
	}
	var stages []string
	for stage := range runs[0].Wall {
		if stage != "total" {
			stages = append(stages, stage)
		}
	}
	slices.Sort(stages)
	for i, stage := range stages {
		stages[i] = fmt.Sprintf("%s %.2f", stage, of(func(t timing) float64 { return t.Wall[stage] }))
	}
	m.stages = strings.Join(stages, ", ")
	return m
}
