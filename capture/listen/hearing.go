package listen

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/rules"
)

// Hearing opens listeners for the benches of a server. Every field but Sounds, Names, Named and LeadIn must be set.
type Hearing struct {
	Engine  hear.Engine
	Grammar func(*rules.Job) (hear.Words, error) // what may be said on a job
	Policy  judge.Policy
	Sounds  Sounds // nil: no sound is kept
	LeadIn  string // what a note of an open microphone begins with; "" for nothing
	// Names parts the people whom the shop knows into those to whom the bench may be handed by voice and those
	// whose names cannot be told by ear, and Named is Grammar with the first. nil: by hand alone.
	Names func(j *rules.Job, people []string) (said []string, unsaid []grammar.Unsaid)
	Named func(j *rules.Job, people []string) (hear.Words, error)
	// Opening is what may be said where jobs are opened, with the letters that the shop's numbers
	// begin with; nil: jobs are opened by typing alone.
	Opening func(heads []string) (hear.Words, error)
}

// Listener returns a listener for a seat. Whom the shop comes to know later can be named from the next note on.
func (h *Hearing) Listener(ctx context.Context, seat *floor.Seat) (*Listener, error) {
	people, err := h.People(ctx, seat)
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	words, err := h.words(ctx, seat, people)
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	var l *Listener
	open := func(ctx context.Context) (hear.Ear, error) {
		now, err := h.People(ctx, seat)
		if err == nil && !slices.Equal(now, l.people) {
			if more, err := h.words(ctx, seat, now); err == nil { // else those who were known can still be named
				words = more
				l.People(now)
			}
		}
		return h.Engine.Open(ctx, words)
	}
	l = New(open, h.Engine.Name(), seat, h.Sounds, h.Policy)
	if g, ok := h.Engine.(hear.Guesser); ok {
		l.Guess(g)
	}
	l.LeadIn(h.LeadIn)
	l.People(people)
	return l, nil
}

// People returns to whom the bench of a seat can be handed by voice, sorted.
func (h *Hearing) People(ctx context.Context, seat *floor.Seat) (said []string, err error) {
	if h.Names == nil {
		return nil, nil
	}
	people, err := seat.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("whose names may be spoken: %w", err)
	}
	err = seat.Job(ctx, func(j *rules.Job) error {
		said, _ = h.Names(j, people)
		return nil
	})
	slices.Sort(said)
	return said, err
}

// words returns what may be said at a seat where these people may be named.
func (h *Hearing) words(ctx context.Context, seat *floor.Seat, people []string) (words hear.Words, err error) {
	err = seat.Job(ctx, func(j *rules.Job) (err error) {
		if h.Named == nil || len(people) == 0 {
			words, err = h.Grammar(j)
			return err
		}
		words, err = h.Named(j, people)
		return err
	})
	return words, err
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
