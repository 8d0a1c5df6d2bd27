package listen

import (
	"context"
	"errors"
	"fmt"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/rules"
)

// Hearing opens listeners for the benches of a server. Every field but Sounds and LeadIn must be set.
type Hearing struct {
	Engine  hear.Engine
	Grammar func(*rules.Job) (hear.Words, error) // what may be said on a job
	Policy  judge.Policy
	Sounds  Sounds // nil: no sound is kept
	LeadIn  string // what a note of an open microphone begins with; "" for nothing
	// Opening is what may be said where jobs are opened, with the letters that the shop's numbers
	// begin with; nil: jobs are opened by typing alone.
	Opening func(heads []string) (hear.Words, error)
}

// Listener returns a listener for a seat.
func (h *Hearing) Listener(ctx context.Context, seat *floor.Seat) (*Listener, error) {
	var grammar hear.Words
	err := seat.Job(ctx, func(j *rules.Job) (err error) {
		grammar, err = h.Grammar(j)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	open := func(ctx context.Context) (hear.Ear, error) { return h.Engine.Open(ctx, grammar) }
	l := New(open, h.Engine.Name(), seat, h.Sounds, h.Policy)
	if g, ok := h.Engine.(hear.Guesser); ok {
		l.Guess(g)
	}
	l.LeadIn(h.LeadIn)
	return l, nil
}

// Explain says why nothing can be heard, and what would help.
func Explain(err error) (wrong, do string) {
	switch {
	case errors.Is(err, hear.ErrMissing):
		return "this server cannot hear: what the recogniser needs is not installed", "type the note; the server's log says what to install"
	case errors.Is(err, hear.ErrBusy):
		return "every recogniser is in use", "type the note, or say it again in a moment"
	case errors.Is(err, hear.ErrLost):
		return "the recogniser was lost in the middle of the note and is started again", "say the note again"
	case errors.Is(err, ErrNoSound):
		return "the sound of that note is not kept here, or was purged", "put its words right by typing"
	case errors.Is(err, hear.ErrAway):
		return "the transcription service did not answer", "say the note again, or type it"
	case errors.Is(err, hear.ErrGrammar):
		return "the words of this job cannot be heard", "type the note; the server's log says which words"
	}
	return "the note could not be heard", "say it again, or type it"
}
