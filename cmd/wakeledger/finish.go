package main

import (
	"bytes"
	"cmp"
	"fmt"
	"io"

	"wakeledger/render/report"
	"wakeledger/wake"
)

// result is what a command ends with.
type result struct {
	warnings []wake.Warning
	// text writes tables for people, in full for a file of its own.
	text func(w io.Writer, full bool) error
	json func(io.Writer) error
	// name is that of the files for text and JSON in the folder, files adds further ones, and
	// done, if not nil, says what was written.
	name  string
	files func(*output) error
	done  func(io.Writer, *output)
}

// document is a JSON document as a result has it.
func document(doc any) func(io.Writer) error {
	return func(w io.Writer) error { return report.WriteJSON(w, doc) }
}

// finish judges the warnings, writes the folder, and prints: in this order, so
// that a failure leaves nothing behind and nothing half said.
func (e *env) finish(r result) error {
	if err := e.judge(r.warnings); err != nil {
		return err
	}
	var t, j bytes.Buffer
	if err := cmp.Or(r.text(&t, e.full), r.json(&j)); err != nil {
		return err
	}
	if e.out != "" {
		o := newOutput()
		if err := o.table(r.name+".txt", func(w io.Writer) error { return r.text(w, true) }); err != nil {
			return err
		}
		o.add(r.name+".json", j.Bytes())
		if r.files != nil {
			if err := r.files(o); err != nil {
				return err
			}
		}
		e.clock.lap("png")
		if err := e.ctx.Err(); err != nil {
			return err
		}
		if err := o.write(e.out, e.read); err != nil {
			return err
		}
		e.clock.lap("write")
		if r.done != nil {
			r.done(&t, o)
		} else {
			fmt.Fprintf(&t, "\n%d files written into %s\n", len(o.files), e.out)
		}
	}
	if e.json {
		if _, err := e.stdout.Write(j.Bytes()); err != nil {
			return err
		}
	} else if _, err := e.text().Write(t.Bytes()); err != nil {
		return err
	}
	if e.timings {
		return e.clock.print(e.stdout)
	}
	return nil
}
