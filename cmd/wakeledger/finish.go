package main

import (
	"bytes"
	"fmt"
	"io"

	"wakeledger/wake"
)

// finish judges the warnings, writes the folder, and prints: in this order, so
// that a failure leaves nothing behind and nothing half said. name is that of the
// files for text and JSON; more adds further files.
func (e *env) finish(warnings []wake.Warning, text, json func(io.Writer) error, name string, more func(*output) error) error {
	if err := e.judge(warnings); err != nil {
		return err
	}
	var t, j bytes.Buffer
	if err := text(&t); err != nil {
		return err
	}
	if err := json(&j); err != nil {
		return err
	}
	if e.out != "" {
		o := newOutput()
		// The folder's text is full.
		var whole bytes.Buffer
		printed := e.full
		e.full = true
		if err := text(&whole); err != nil {
			return err
		}
		e.full = printed
		o.add(name+".txt", whole.Bytes())
		o.add(name+".json", j.Bytes())
		if more != nil {
			if err := more(o); err != nil {
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
		fmt.Fprintf(&t, "\n%d files written into %s\n", len(o.files), e.out)
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
