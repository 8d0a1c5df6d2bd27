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

// Hearing opens listeners for the benches of a server. Every field but Sounds, Names, LeadIn and Opening must be set.
type Hearing struct {
	Engine hear.Engine
	// Grammar is what may be said on a job as it stands whose bench may be handed to these people, if any.
	Grammar func(j *rules.Job, people []string) (hear.Words, error)
	Policy  judge.Policy
	Sounds  Sounds // nil: no sound is kept
	LeadIn  string // what a note of an open microphone begins with; "" for nothing
	// Names parts the people whom the shop knows into those to whom the bench may be handed by voice and those
	// whose names cannot be told by ear. nil: it is handed over by hand alone.
	Names func(j *rules.Job, people []string) (said []string, unsaid []grammar.Unsaid)
	// Opening is what may be said where jobs are opened, with the letters that the shop's numbers
	// begin with; nil: jobs are opened by typing alone.
	Opening func(heads []string) (hear.Words, error)
}

// Listener returns a listener for a seat. From one note to the next it takes up whom the shop has come to know, and
// what is expected next.
func (h *Hearing) Listener(ctx context.Context, seat *floor.Seat) (*Listener, error) {
	now, err := h.scene(ctx, seat)
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	words, people, err := h.words(ctx, seat, now.known)
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	var l *Listener
	made := now
	open := func(ctx context.Context) (hear.Ear, error) {
		if now, err := h.scene(ctx, seat); err == nil && !now.still(made) {
			if more, people, err := h.words(ctx, seat, now.known); err == nil { // else what was heard can still be
				made, words = now, more
				l.People(people)
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
	l.Decide(seat)
	return l, nil
}

// scene is what the words to listen for were made for, beside the job's own.
type scene struct {
	known  []string // whom the shop knows, sorted
	decide bool     // something is out, and takes a disposition
	expect []string // callouts of what is expected, the next first
}

// still reports whether words that were made for an earlier scene will do: to make them anew takes the recogniser half a
// second, so that what is next has to be among what was expected then, and no more.
func (s scene) still(made scene) bool {
	return slices.Equal(s.known, made.known) && s.decide == made.decide && (len(s.expect) == 0 || slices.Contains(made.expect, s.expect[0]))
}

func (h *Hearing) scene(ctx context.Context, seat *floor.Seat) (s scene, err error) {
	if s.known, err = h.known(ctx, seat); err != nil {
		return scene{}, err
	}
	err = seat.Job(ctx, func(j *rules.Job) error {
		s.expect, s.decide = j.Expected(), j.HeldUp()
		return nil
	})
	return s, err
}

// People returns to whom the bench of a seat can be handed by voice, sorted.
func (h *Hearing) People(ctx context.Context, seat *floor.Seat) (said []string, err error) {
	known, err := h.known(ctx, seat)
	if err != nil {
		return nil, err
	}
	err = seat.Job(ctx, func(j *rules.Job) error {
		said = h.spoken(j, known)
		return nil
	})
	return said, err
}

// known returns whom the shop knows, sorted; nobody where the bench is handed over by hand alone.
func (h *Hearing) known(ctx context.Context, seat *floor.Seat) ([]string, error) {
	if h.Names == nil {
		return nil, nil
	}
	people, err := seat.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("whose names may be spoken: %w", err)
	}
	return slices.Sorted(slices.Values(people)), nil
}

// spoken returns those of the people whose names can be told by ear on a job, sorted.
func (h *Hearing) spoken(j *rules.Job, people []string) []string {
	if h.Names == nil || len(people) == 0 {
		return nil
	}
	said, _ := h.Names(j, people)
	slices.Sort(said)
	return said
}

// words returns what may be said at a seat of a shop that knows these people, and who of them may be named.
func (h *Hearing) words(ctx context.Context, seat *floor.Seat, known []string) (words hear.Words, people []string, err error) {
	err = seat.Job(ctx, func(j *rules.Job) (err error) {
		people = h.spoken(j, known)
		words, err = h.Grammar(j, people)
		return err
	})
	return words, people, err
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
