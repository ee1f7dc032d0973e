package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
)

// surveyFlags are the flags that measure and compare share; the study file has
// the same words.
type surveyFlags struct {
	fs *pflag.FlagSet

	// speed, pressure, total and reference are given once for all files, or once for each.
	speed, pressure, total, reference     []string
	density, area, tare                   string
	frame, anchor, section, floor         string
	columns, regions, sides               []string
	threshold                             []float64
	weight, support, symmetry, turbulence string
	normal                                string
	gap                                   float64
	includesK, sourcePart                 bool
	onset                                 []float64
	yaw                                   float64
}

func addSurveyFlags(fs *pflag.FlagSet) *surveyFlags {
	f := &surveyFlags{fs: fs}
	fs.StringArrayVar(&f.speed, "speed", nil, "speed of the free stream, for example 25 or \"90 km/h\"")
	fs.StringVar(&f.density, "density", "", "reference density in kg/m3")
	fs.StringArrayVar(&f.pressure, "pressure", nil, "reference static pressure in Pa; once, or once for each file")
	fs.StringArrayVar(&f.total, "total-pressure", nil, "reference total pressure, if it is not p + ½ρU²; likewise")
	fs.StringVar(&f.area, "area", "", "frontal area in m2, for coefficients")
	addReadFlags(fs, f)
	fs.StringVar(&f.anchor, "anchor", "none", "tie the total-pressure reference to the open edge: `none|edge`")
	fs.StringVar(&f.section, "section", "", "`WIDTHxHEIGHT` of the section in m")
	fs.StringVar(&f.floor, "floor", "", "what the lower border is: `none|slip|belt|fixed`")
	fs.Float64SliceVar(&f.threshold, "threshold", measure.DefaultThresholds, "`LIST` of thresholds for areas")
	fs.Lookup("threshold").DefValue = strings.Join(strings.Fields(strings.Trim(fmt.Sprint(measure.DefaultThresholds), "[]")), ",")
	fs.StringVar(&f.weight, "weight", "total-pressure", "what weighs the wake: total-pressure, deficit, momentum or drag")
	fs.StringArrayVar(&f.regions, "region", nil, "`NAME:ymin,ymax,zmin,zmax`, a box to report (repeatable)")
	fs.StringArrayVar(&f.sides, "side", nil, "`left|right`, of each region or of all")
	fs.StringVar(&f.symmetry, "symmetry", "full", "half doubles drags and areas of a half plane")
	fs.StringVar(&f.turbulence, "turbulence", "", "normal stress from its column, from k as isotropic, or none: `stress|isotropic|none` (default: stress if present)")
	fs.BoolVar(&f.includesK, "pressure-includes-k", false, "the pressure holds 2/3 of density times k, which is taken out")
	fs.Float64Var(&f.yaw, "yaw", 0, "yaw in `DEGREES`, positive where the free stream has a part toward +y (wind from the left); --speed is then |V∞| and q = ½ρ|V∞|²")
	fs.Float64SliceVar(&f.onset, "onset", nil, "`V,W` of the free stream in m/s instead of --yaw; --speed is then its part along x, U, and q = ½ρU²")
	fs.BoolVar(&f.sourcePart, "source-part", false, "add the displacement part of the cross-flow to the wake-only drag in free air too")
	fs.StringArrayVar(&f.reference, "reference", nil, "take pressure, and speed unless stated, from this undisturbed plane `FILE`, such as an inlet; likewise")
	fs.StringVar(&f.tare, "tare", "", "subtract this survey `FILE` of the empty section")
	return f
}

// addReadFlags adds what reading alone needs.
func addReadFlags(fs *pflag.FlagSet, f *surveyFlags) {
	fs.StringArrayVar(&f.columns, "column", nil, "`QUANTITY=\"NAME [unit]\"`: which column holds x y z u v w p pt cp cpt rho k uu vv ww area (repeatable)")
	fs.StringVar(&f.frame, "frame", "", "the file's axes, for example \"x forward, y left, z up\"")
	fs.StringVar(&f.support, "support", "", "what a lattice sample represents: `cells|nodes` (default: as the file says, else nodes)")
	fs.StringVar(&f.normal, "normal", "", "the axis that planes are normal to: `x|y|z` (default: found from the samples)")
	fs.Float64Var(&f.gap, "gap", 0, "`FACTOR` on the local spacing above which a triangle bridges a gap (0: the default)")
}

// ofFile is what a flag that is given once for all files, or once for each, says of file k.
func ofFile(list []string, k int) string {
	switch len(list) {
	case 0:
		return ""
	case 1:
		return list[0]
	}
	return list[k]
}

// own reports whether files have references of their own.
func (f *surveyFlags) own() bool {
	return len(f.speed) > 1 || len(f.pressure) > 1 || len(f.total) > 1 || len(f.reference) > 1
}

// perFiles refuses flags that are given neither once nor once for each of n files.
func (f *surveyFlags) perFiles(n int) error {
	for _, v := range []struct {
		name string
		list []string
	}{{"speed", f.speed}, {"pressure", f.pressure}, {"total-pressure", f.total}, {"reference", f.reference}} {
		if len(v.list) > 1 && len(v.list) != n {
			return &usageError{fmt.Sprintf("--%s is given %d times, files: %d", v.name, len(v.list), n), "give it once for all, or once for each in their order"}
		}
	}
	return nil
}

// value reads a flag with a unit; missing is an error that names the flag.
func value(flag, text string, d wake.Dimension, why string) (float64, error) {
	if text == "" {
		return 0, &usageError{"--" + flag + " is missing: " + why, "the reference is never guessed"}
	}
	v, _, err := wake.ParseValue(text, d)
	if err != nil {
		return 0, &usageError{fmt.Sprintf("--%s %q: %v", flag, text, err), ""}
	}
	return v, nil
}

// read gives the reader's options.
func (f *surveyFlags) read() (survey.Options, error) {
	opt := survey.Options{By: "flag"}
	for _, c := range f.columns {
		name, column, ok := strings.Cut(c, "=")
		q, known := wake.ParseQuantity(strings.TrimSpace(name))
		if !ok || !known {
			return opt, &usageError{fmt.Sprintf("--column %q", c), `QUANTITY="NAME [unit]" is expected, with one of x y z u v w p pt cp cpt rho k uu vv ww area`}
		}
		if opt.Columns == nil {
			opt.Columns = map[wake.Quantity]string{}
		}
		if _, twice := opt.Columns[q]; twice {
			return opt, &usageError{fmt.Sprintf("--column names %s twice", q), "name each quantity once"}
		}
		opt.Columns[q] = strings.TrimSpace(column)
	}
	if f.frame != "" {
		fr, err := wake.ParseFrame(f.frame)
		if err != nil {
			return opt, &usageError{fmt.Sprintf("--frame %q: %v", f.frame, err), ""}
		}
		opt.Frame = fr
	}
	if f.density != "" {
		rho, err := value("density", f.density, wake.Density, "")
		if err != nil {
			return opt, err
		}
		if !(rho > 0) {
			return opt, &usageError{fmt.Sprintf("--density %q", f.density), "a positive density is expected, as in --density 1.2"}
		}
		opt.Density = rho
	}
	return opt, nil
}

// plane gives the options of plane recognition.
func (f *surveyFlags) plane() (wake.PlaneOptions, error) {
	opt := wake.PlaneOptions{Gap: f.gap}
	if f.gap != 0 && !(1 <= f.gap && f.gap <= 1e6) {
		return opt, &usageError{fmt.Sprintf("--gap %g", f.gap), "a factor from 1 to 1e6 is expected, or 0 for the default"}
	}
	if f.normal != "" {
		k := slices.Index([]string{"x", "y", "z"}, f.normal)
		if k < 0 {
			return opt, &usageError{fmt.Sprintf("--normal %q is not known", f.normal), "x, y or z is expected"}
		}
		opt.Normal, opt.NormalBy = wake.Axis(k), "flag"
	}
	switch f.support {
	case "":
	case "cells":
		opt.Support, opt.SupportBy = grid.Cells, "flag"
	case "nodes":
		opt.Support, opt.SupportBy = grid.Nodes, "flag"
	default:
		return opt, &usageError{fmt.Sprintf("--support %q is not known", f.support), "cells or nodes is expected"}
	}
	return opt, nil
}

// measure gives the options of measuring file k. pressure says whether any plane holds a
// pressure, for which density and pressure are needed.
func (f *surveyFlags) measure(k int, pressure bool) (measure.Options, error) {
	speed, static, total, reference := ofFile(f.speed, k), ofFile(f.pressure, k), ofFile(f.total, k), ofFile(f.reference, k)
	opt := measure.Options{Anchor: f.anchor, Thresholds: f.threshold, Turbulence: f.turbulence, Floor: f.floor}
	r := &opt.Reference
	var err error
	if reference != "" {
		for _, by := range [][2]string{{"pressure", static}, {"total-pressure", total}} {
			if by[1] != "" {
				return opt, &usageError{"--reference and --" + by[0] + " both state the reference", "give one of them"}
			}
		}
		if _, err := value("density", f.density, wake.Density, "the reference plane needs it, as in --density 1.2"); err != nil {
			return opt, err
		}
	}
	if reference != "" && speed == "" {
		// The plane has it.
	} else if r.Speed, err = value("speed", speed, wake.Velocity, "it is the speed far upstream, as in --speed \"25 m/s\""); err != nil {
		return opt, err
	}
	if pressure || f.density != "" {
		if r.Density, err = value("density", f.density, wake.Density, "the planes hold a pressure, as in --density 1.2"); err != nil {
			return opt, err
		}
	} else {
		// Without a pressure no number depends on the density.
		r.Density = 1
	}
	if reference == "" && (pressure || static != "") {
		if r.Pressure, err = value("pressure", static, wake.Pressure, "it is the static pressure far upstream on the file's scale, as in --pressure 0 for gauge values"); err != nil {
			return opt, err
		}
	}
	r.TotalPressure = math.NaN()
	if total != "" {
		if r.TotalPressure, err = value("total-pressure", total, wake.Pressure, ""); err != nil {
			return opt, err
		}
	}
	if f.area != "" {
		if opt.FrontalArea, err = value("area", f.area, wake.Surface, ""); err != nil {
			return opt, err
		}
		if !(opt.FrontalArea > 0) {
			return opt, &usageError{fmt.Sprintf("--area %q", f.area), "a positive area is expected"}
		}
	}
	if opt.Weight, err = measure.ParseWeight(f.weight); err != nil {
		return opt, &usageError{"--weight: " + err.Error(), ""}
	}
	switch f.symmetry {
	case "full", "":
	case "half":
		opt.Half = true
	default:
		return opt, &usageError{fmt.Sprintf("--symmetry %q is not known", f.symmetry), "half or full is expected"}
	}
	switch f.floor {
	case "", "none", "slip", "belt", "fixed":
	default:
		return opt, &usageError{fmt.Sprintf("--floor %q is not known", f.floor), "none, slip, belt or fixed is expected"}
	}
	if opt.Section, err = parseSection(f.section); err != nil {
		return opt, err
	}
	opt.PressureIncludesK, opt.SourcePart = f.includesK, f.sourcePart
	if len(f.onset) != 0 && len(f.onset) != 2 {
		return opt, &usageError{fmt.Sprintf("--onset has %d numbers", len(f.onset)), "V,W in m/s is expected"}
	}
	for k, v := range f.onset {
		if math.IsNaN(v - v) {
			return opt, &usageError{fmt.Sprintf("--onset has %g", v), "finite numbers are expected"}
		}
		opt.Onset[k] = v
	}
	if f.yaw != 0 && len(f.onset) != 0 {
		return opt, &usageError{"--yaw and --onset both state the direction of the free stream", "give one of them"}
	}
	opt.Yaw = f.yaw
	opt.Regions, err = parseRegions(f.regions, f.sides)
	return opt, err
}

// parseSection reads WIDTHxHEIGHT.
func parseSection(s string) (out [2]float64, err error) {
	if s == "" {
		return out, nil
	}
	bad := &usageError{fmt.Sprintf("--section %q", s), "WIDTHxHEIGHT in m is expected, as in 10.8x6.9"}
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == 'x' || r == '×' })
	if len(parts) != 2 {
		return out, bad
	}
	for k, p := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || !(v > 0) || math.IsInf(v, 0) {
			return out, bad
		}
		out[k] = v
	}
	return out, nil
}

// parseRegions reads NAME:ymin,ymax,zmin,zmax and pairs the regions with sides.
func parseRegions(regions, sides []string) ([]measure.Box, error) {
	for _, s := range sides {
		if s != "left" && s != "right" {
			return nil, &usageError{fmt.Sprintf("--side %q is not known", s), "left or right is expected"}
		}
	}
	if len(sides) > 1 && len(sides) != len(regions) {
		return nil, &usageError{fmt.Sprintf("%d sides for %d regions", len(sides), len(regions)), "give --side once for all regions, or once for each"}
	}
	if len(sides) > 0 && len(regions) == 0 {
		return nil, &usageError{"--side without a region", "give --region NAME:ymin,ymax,zmin,zmax"}
	}
	var out []measure.Box
	seen := map[string]bool{}
	for k, text := range regions {
		bad := func(what string) error {
			return &usageError{fmt.Sprintf("--region %q: %s", text, what), "NAME:ymin,ymax,zmin,zmax in m is expected"}
		}
		cut := strings.LastIndex(text, ":")
		if cut < 1 {
			return nil, bad("no name before a colon")
		}
		name := strings.TrimSpace(text[:cut])
		if name == "" {
			return nil, bad("an empty name")
		}
		if name == "total" || name == "rest" {
			return nil, bad("the name is taken by the program's own tables")
		}
		if seen[name] {
			return nil, bad("the name is taken")
		}
		seen[name] = true
		fields := strings.Split(text[cut+1:], ",")
		if len(fields) != 4 {
			return nil, bad(fmt.Sprintf("%d limits", len(fields)))
		}
		var v [4]float64
		for i, s := range fields {
			x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
			if err != nil || math.IsNaN(x-x) {
				return nil, bad(fmt.Sprintf("%q is not a number", s))
			}
			v[i] = x
		}
		if !(v[0] < v[1] && v[2] < v[3]) {
			return nil, bad("the box is empty")
		}
		b := measure.Box{Name: name, Box: grid.Box{Min: grid.Point{X: v[0], Y: v[2]}, Max: grid.Point{X: v[1], Y: v[3]}}}
		switch len(sides) {
		case 0:
		case 1:
			b.Side = sides[0]
		default:
			b.Side = sides[k]
		}
		out = append(out, b)
	}
	return out, nil
}
