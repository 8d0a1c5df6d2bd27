package floor

import (
	"context"
	"errors"
	"fmt"

	"readback/capture/journal"
)

// Why the floor refuses something. Each comes in a [RefusalError]; test for them with
// [errors.Is]. What the journal refuses wraps its own errors.
var (
	ErrTaken  = errors.New("floor: the job was opened otherwise")
	ErrSpec   = errors.New("floor: there is no such spec")
	ErrOption = errors.New("floor: the spec does not take the options")
	ErrID     = errors.New("floor: the id is not a note's")
	ErrBroken = errors.New("floor: the job cannot be worked on")

	ErrNoGuess = errors.New("floor: the words of the entry are no guess")
)

// RefusalError says why nothing was kept, in words for the one who asked.
type RefusalError struct {
	Wrong string // what is wrong
	Do    string // what would help
	Why   error  // one of the errors of this package or of the journal
}

func (r *RefusalError) Error() string { return r.Wrong + "; " + r.Do }

// Unwrap returns the cause.
func (r *RefusalError) Unwrap() error { return r.Why }

// Explain turns any error of this package into words for people: what is wrong and what
// would help.
func Explain(err error) (wrong, do string) {
	if r, ok := errors.AsType[*RefusalError](err); ok {
		return r.Wrong, r.Do
	}
	switch {
	case errors.Is(err, journal.ErrNotFound):
		return "there is no such job", "open it first, or look for its id in the list of jobs"
	case errors.Is(err, journal.ErrOtherJob):
		return "the id was used on another job", "make a new id for each note"
	case errors.Is(err, journal.ErrEntry):
		return "the note cannot be kept as it is", "take out what is no text and send it again"
	case errors.Is(err, journal.ErrFull):
		return "the disk is full and nothing was kept", "make room on the server's disk, then send it again"
	case errors.Is(err, journal.ErrReadOnly):
		return "the disk cannot be written and nothing was kept", "make the server's data folder writable, then send it again"
	case errors.Is(err, journal.ErrClosed), errors.Is(err, context.Canceled):
		return "the server is stopping and nothing was kept", "send it again when it is back"
	}
	return "this failed here and nothing was kept", "send it again; the server's log says why it failed"
}

func notFound(job string) error {
	return &RefusalError{
		Wrong: fmt.Sprintf("there is no job %s", job),
		Do:    "open it first, or look for its id in the list of jobs",
		Why:   journal.ErrNotFound,
	}
}
