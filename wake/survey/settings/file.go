// Package settings reads files of settings, TOML 1.0, strictly: what is wrong with one
// is told all at once, each fault with its line and byte column.
package settings

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"wakeledger/wake"
)

// File is a file of settings with what is wrong with it.
type File struct {
	Name   string
	Places *Places
	faults []*wake.InputError
	// flags are those that state the settings instead of a file.
	flags []*Flag
}

// Parse reads a text with or without a byte-order mark, which columns do not count. One of
// more than most bytes is refused, with the cure long; one that is not TOML has the cure
// syntax.
func Parse(name string, data []byte, most int, long, syntax string) (*File, map[string]any, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(data) > most {
		return nil, nil, &wake.InputError{File: name, Text: fmt.Sprintf("the file has %d bytes", len(data)), Cure: long}
	}
	places := locate(data)
	if at := places.deep; at != nil {
		return nil, nil, &wake.InputError{File: name, Line: at.Line, Column: at.Column, Text: fmt.Sprintf("tables and lists are nested more than %d deep", mostDepth), Cure: "write the tables that the manual shows; none is as deep"}
	}
	var root map[string]any
	if err := toml.Unmarshal(data, &root); err != nil {
		e := &wake.InputError{File: name, Text: strings.TrimPrefix(err.Error(), "toml: "), Cure: syntax}
		if de, ok := errors.AsType[*toml.DecodeError](err); ok {
			e.Line, e.Column = de.Position()
		}
		return nil, nil, e
	}
	return &File{Name: name, Places: places}, root, nil
}

// FailAt notes a fault.
func (f *File) FailAt(p Position, text, cure string) {
	f.faults = append(f.faults, &wake.InputError{File: f.Name, Line: p.Line, Column: p.Column, Text: text, Cure: cure})
}

// Err joins the faults in the order of the file (errors.Join); nil where there is none.
func (f *File) Err() error {
	slices.SortStableFunc(f.faults, func(a, b *wake.InputError) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	var all []error
	for _, e := range f.faults {
		all = append(all, e)
	}
	return errors.Join(all...)
}
