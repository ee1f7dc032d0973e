package study

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/force"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// records gives the configurations their forces: what is stated, or the mean of a record that
// is read.
func (r *runner) records() error {
	for k, cfg := range r.c.Configurations {
		if cfg.Force == nil {
			continue
		}
		f := &ForceValue{Standard: cfg.Force.StandardUncertainty, stated: cfg.Force.StandardUncertainty}
		r.out.Configurations[k].Force = f
		if cfg.Force.Records == nil {
			f.DragArea = *cfg.Force.DragArea
			continue
		}
		var parts []force.Group
		for _, name := range slices.Sorted(maps.Keys(cfg.Force.Parts)) {
			parts = append(parts, force.Group{Name: name, Columns: cfg.Force.Parts[name]})
		}
		dynamic := 0.0
		if r.c.Reference.with(cfg.Own).Density != nil {
			dynamic = r.opts[k].Reference.Dynamic()
		}
		read := func(names ...string) (*force.Mean, error) {
			var files []force.File
			for _, name := range names {
				if err := r.enter("force record", cfg.Name, name); err != nil {
					return nil, err
				}
				files = append(files, force.File{Path: r.path(name), Name: name})
			}
			m, err := force.Read(files, force.Options{Start: cfg.Force.Start, Dynamic: dynamic, Area: r.opt.FrontalArea, Parts: parts})
			if err == nil {
				r.out.Warnings = append(r.out.Warnings, m.Warnings...)
			}
			return m, err
		}
		m, err := read(cfg.Force.Records...)
		if err != nil {
			return err
		}
		f.DragArea, f.Record, m.Stated = m.Mean, m, f.stated
		if u := f.stated; u == nil || m.Standard == nil {
			f.Standard = m.Standard
		} else {
			// What is stated beside the record comes on top, as it is not in the scatter.
			f.Standard = new(math.Hypot(*m.Standard, *u))
		}
		for _, name := range cfg.Force.Repeats {
			if m, err = read(name); err != nil {
				return err
			}
			same := func(o *force.Mean) bool { return uncertainty.Copied(m.Values(), o.Values()) }
			if runs := append([]*force.Mean{f.Record}, f.Repeats...); slices.ContainsFunc(runs, same) {
				r.warn("repeat-copied", m.File, "give the record of another run; without one run-to-run scatter is not known",
					"a repeat of the force of %q holds the values of another record of it: it is no further run and is left out", cfg.Name)
				continue
			}
			f.Repeats = append(f.Repeats, m)
		}
	}
	return nil
}

// headline picks the station whose drag is quoted first: the first one at which
// the baseline's window closes on a momentum drag, else the first with any, or with a
// pitot survey whose drag means something.
func (r *runner) headline() {
	if r.c.Quote != "" {
		r.out.Headline = r.c.Quote
		return
	}
	for _, also := range []bool{false, true} {
		for _, st := range r.out.Stations {
			for _, s := range st.Surveys {
				if s.Configuration == r.c.Baseline && (hasDrag(s.Result) && !s.Result.Edge.Open() || also && (hasDrag(s.Result) || hasPitotDrag(s.Result))) {
					r.out.Headline = st.Name
					return
				}
			}
		}
	}
}

func hasDrag(r *measure.Result) bool {
	return r.Drag != nil && r.Drag.Momentum != nil && r.Drag.Headline != ""
}

func hasPitotDrag(r *measure.Result) bool {
	return r.Drag != nil && r.Drag.Headline == measure.ByJones
}

// forces sets the wake drag of every plane whose window closes beside the stated
// force of its configuration, and the differences beside each other. Those of an open window are
// of the wake alone, whose level is no drag to compare, but whose change is to be that of the force.
func (r *runner) forces() {
	r.out.Forces = []ForceCheck{}
	stated := map[string]*ForceValue{}
	var runs [][]*force.Mean
	for _, c := range r.out.Configurations {
		stated[c.Name] = c.Force
		if c.Force != nil && len(c.Force.Repeats) > 0 {
			runs = append(runs, append([]*force.Mean{c.Force.Record}, c.Force.Repeats...))
		}
	}
	if base := stated[r.c.Baseline]; base != nil && base.Record != nil {
		for _, c := range r.out.Configurations {
			if c.Name == r.c.Baseline || c.Force == nil || c.Force.Record == nil {
				continue
			}
			if l := force.NewLedger(base.Record, c.Force.Record, runs...); l != nil {
				l.Over(r.opt.FrontalArea, r.c.Reference.Count)
				r.out.ByPart = append(r.out.ByPart, ForceLedger{c.Name, l})
			}
		}
	}
	for i, st := range r.out.Stations {
		for _, s := range st.Surveys {
			f := stated[s.Configuration]
			if f == nil || !hasDrag(s.Result) {
				continue
			}
			delta := r.forceDelta(i, s.Configuration, stated)
			if s.Result.Edge.Open() {
				continue
			}
			drag := s.Result.Drag.Momentum.DragArea
			own := f.items("force")
			if t := s.Result.Tare; t != nil {
				drag = t.DragArea
				own = append(own, uncertainty.Item{Name: "tare, at which speed the displaced mass leaves", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(t.Gap) / 2 / math.Sqrt(3), Distribution: uncertainty.Rectangular})
			}
			fc := ForceCheck{Station: st.Name, Configuration: s.Configuration, Wake: drag, Force: f.DragArea}
			fc.Closure = closes(drag-f.DragArea, f.DragArea, ofOneRun(own, s.Result.Uncertainty.DragArea.Items))
			if p := fc.Percent; p != nil && fc.Verdict != agree && math.Abs(*p) > 100/contradicts {
				r.warn("force-level", s.Result.File, "look at the unit and the columns of the record, at [reference], and at what the plane does not hold",
					"the wake has a drag area of %.4g m², the force of the same run of %.4g m²: that is more than a tenth, and more than what is known of the ± explains", fc.Wake, fc.Force)
			}
			fc.Delta = delta
			r.out.Forces = append(r.out.Forces, fc)
		}
	}
}

// items are those of a force in a budget that sets it beside the wake of the same run:
// what is stated of it. What a record scatters by is in the wake as well.
func (f *ForceValue) items(name string) []uncertainty.Item {
	if f.stated == nil {
		return nil
	}
	return []uncertainty.Item{{Name: name, Category: uncertainty.Reference, How: uncertainty.Stated, Kind: uncertainty.Independent, Standard: *f.stated}}
}

// scatter is what the force says of the time average of the drag: the standard uncertainty of
// its record's mean, or what was stated for it without one; nil for neither. A plane whose snapshots are
// too short a record is of less time than a force record that is longer: what this one scatters by is not
// the plane's, and the plane is told so.
func (f *ForceValue) scatter(of *compare.Survey) *uncertainty.Item {
	p := of.Plane
	switch {
	case f == nil:
		return nil
	case f.Record != nil && of.Short() && !(float64(f.Record.N)*f.Record.Step <= sameTime*p.Time):
		time := "a time that is not known"
		if p.Time > 0 {
			time = fmt.Sprintf("%.3g s", p.Time)
		}
		of.Result.Warnings = append(of.Result.Warnings, wake.Doubt("force-longer", p.Name(), "average snapshots of the force record's time; or give the force of the snapshots' time alone, and their time_step",
			"the snapshots are too short a record, of %s, and the force record is of %.3g s: what it says of its own mean is not taken for theirs", time, float64(f.Record.N)*f.Record.Step))
		return &uncertainty.Item{How: uncertainty.Unknown}
	}
	return f.own()
}

// own is what is known of the time average of a force by itself; nil where nothing is.
func (f *ForceValue) own() *uncertainty.Item {
	switch {
	case f.Record != nil:
		return f.Record.Item()
	case f.stated != nil:
		return &uncertainty.Item{Standard: *f.stated, How: uncertainty.Stated}
	}
	return nil
}

// sameTime: records of one time may differ in length by a value or two.
const sameTime = 1.1

// ofOneRun are the items of a wake, or of a change of it, beside the force of its own run, or of the
// same runs. Both saw the same flow over the same time, so neither the time average nor what another
// run changes has a part in it, however well they are known. The reference has: it shifts the wake alone.
func ofOneRun(force, of []uncertainty.Item) []uncertainty.Item {
	items := slices.Clone(of)
	for _, c := range []uncertainty.Category{uncertainty.TimeAverage, uncertainty.RunToRun} {
		items = append(uncertainty.Without(c, items), uncertainty.Declared(c, uncertainty.Absent, "wake and force are of one run"))
	}
	items = append(items, force...)
	if uncertainty.StateOf(uncertainty.Reference, of).How == uncertainty.Unknown {
		items = append(items, uncertainty.Declared(uncertainty.Reference, uncertainty.Unknown, "not stated"))
	}
	return items
}

// The words of a Closure whose budget is complete.
const (
	agree  = "agree"
	differ = "differ"
)

// contradicts: a difference below a tenth, of a change or a drag, is told in the table alone.
const contradicts = 10

// closes sets a difference against its budget and against the force.
func closes(difference, force float64, items []uncertainty.Item) compare.Closure {
	b := uncertainty.NewBudget(items...)
	j := uncertainty.Judge(difference, &b)
	c := compare.Closure{Difference: difference, AreaBudget: uncertainty.AreaBudget(b), Missing: j.Missing}
	c.Verdict = map[string]string{uncertainty.NotResolved: agree, uncertainty.Resolved: differ, uncertainty.NotJudged: uncertainty.NotJudged}[j.Verdict]
	if force != 0 {
		c.Percent = new(100 * difference / math.Abs(force))
	}
	if c.Standard > 0 {
		c.Ratio = new(math.Abs(difference) / c.Standard)
	}
	return c
}

// forceDelta compares the change against the baseline in wake and in force.
func (r *runner) forceDelta(station int, name string, stated map[string]*ForceValue) *compare.ForceDelta {
	base, f := stated[r.c.Baseline], stated[name]
	v := r.variant(station, name)
	if name == r.c.Baseline || base == nil || v == nil || v.Delta == nil {
		return nil
	}
	d := v.Delta
	out := &compare.ForceDelta{Wake: d.DragArea, Force: f.DragArea - base.DragArea}
	out.Closure = closes(out.Wake-out.Force, out.Force, ofOneRun(slices.Concat(base.items("force of "+r.c.Baseline), f.items("force of "+name)), d.Items))
	v.BesideForce = out
	m2, u := uncertainty.Format{Scale: 1, Decimals: 4, Unit: "m²"}, out.Expanded
	if large := max(math.Abs(out.Wake), math.Abs(out.Force)); out.Verdict == differ && math.Abs(out.Difference) > max(d.Standard, large/contradicts) {
		out.Contradicts = true
		r.warn("force-differs", v.Survey.File, "trust neither before it is clear why: look at the planes' reference, at <u'u'>, and whether plane and record are of one run and one time",
			"the wake says that the drag changes by %s m², the force of the same runs by %s m²: %s ± %s m² between them, more than the samples explain", m2.Signed(out.Wake, u), m2.Signed(out.Force, u), m2.Signed(out.Difference, u), m2.In(u, u))
		return out
	}
	if p, q := base.own(), f.own(); p != nil && q != nil && d.Verdict == uncertainty.Resolved && math.Abs(out.Force) < math.Abs(out.Wake) {
		p.Category, q.Category = uncertainty.TimeAverage, uncertainty.TimeAverage
		b := uncertainty.Only("two forces over one time", *p, *q)
		if uncertainty.Judge(out.Force, &b).Verdict == uncertainty.NotResolved {
			out.Unresolved = &b.Expanded
			r.warn("force-differs", v.Survey.File, "do not count on the change before the force shows it too: give longer records, or a plane whose window holds all of the wake",
				"the wake says that the drag changes by %s m², which is resolved, the force of the same runs by %s ± %s m², which is not", m2.Signed(out.Wake, d.Expanded), m2.Signed(out.Force, b.Expanded), m2.In(b.Expanded, b.Expanded))
		}
	}
	return out
}
