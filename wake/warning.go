package wake

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// Warning is a doubt that travels with a result to the terminal, the JSON and
// the page. It does not stop the work.
type Warning struct {
	// Code is a short fixed word in kebab case, for scripts.
	Code string `json:"code"`
	// Where names the file, plane or region that the doubt belongs to.
	Where string `json:"where"`
	// Text is the fact, with its number.
	Text string `json:"text"`
	// Cure says what the user can do about it.
	Cure string `json:"cure"`
}

// String prints "where: text; cure [code]".
func (w Warning) String() string {
	s := w.Text
	if w.Where != "" {
		s = w.Where + ": " + s
	}
	if w.Cure != "" {
		s += "; " + w.Cure
	}
	return s + " [" + w.Code + "]"
}

// Doubt is a Warning with its text put together.
func Doubt(code, where, cure, format string, a ...any) Warning {
	return Warning{Code: code, Where: where, Text: fmt.Sprintf(format, a...), Cure: cure}
}

// InputError is what a reader returns for input that cannot be used. Line and
// Column count from 1 and are 0 where they have no meaning; Column is the number
// of the field in its line for tables, and of the byte for study files.
type InputError struct {
	File         string
	Line, Column int
	// Text is the fact with the offending value, Cure what would mend it.
	Text, Cure string
}

// Error prints "file:line:column: text; cure" on one line.
func (e *InputError) Error() string {
	at, text := e.File, e.Text
	for _, n := range []int{e.Line, e.Column} {
		if n <= 0 || at == "" {
			break
		}
		at += fmt.Sprintf(":%d", n)
	}
	if at != "" {
		text = at + ": " + text
	}
	if e.Cure != "" {
		text += "; " + e.Cure
	}
	return text
}

// Refuse is an InputError of a file as a whole.
func Refuse(file, cure, format string, a ...any) error {
	return &InputError{File: file, Text: fmt.Sprintf(format, a...), Cure: cure}
}

// Reason is an error of the file system without its paths, for a message that begins with one.
func Reason(err error) string {
	if p, ok := errors.AsType[*fs.PathError](err); ok {
		return p.Err.Error()
	}
	if l, ok := errors.AsType[*os.LinkError](err); ok {
		return l.Err.Error()
	}
	return err.Error()
}

// Plural is a number of things: "1 plane", "2 planes".
func Plural(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}
