package spec

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Error is one fault of a spec file, for its author.
type Error struct {
	File         string
	Line, Column int    // from 1; 0 where the fault has no place
	Wrong        string // what is wrong, in the words of the file
	Mend         string // what would do
}

// Error writes "mr5.yaml:14:5: what is wrong; what would do".
func (e *Error) Error() string {
	text := e.Wrong
	if e.Mend != "" {
		text += "; " + e.Mend
	}
	if e.Line == 0 {
		return e.File + ": " + text
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, text)
}

// Errors are all faults of a spec file, in the order of their places. It is never
// empty.
type Errors []*Error

// Error writes one fault a line.
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, f := range e {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives the faults to errors.As.
func (e Errors) Unwrap() []error {
	out := make([]error, len(e))
	for i, f := range e {
		out[i] = f
	}
	return out
}

// MaxFaults is how many faults are reported of one file.
const MaxFaults = 50

// sorted returns the faults by place, each once.
func (e Errors) sorted() Errors {
	slices.SortStableFunc(e, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	e = slices.CompactFunc(e, func(a, b *Error) bool { return *a == *b })
	return e[:min(len(e), MaxFaults)]
}
