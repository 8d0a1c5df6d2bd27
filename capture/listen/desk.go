package listen

import (
	"context"
	"fmt"
	"slices"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/opening"
	"readback/capture/wire"
)

// desk is where jobs are opened: no seat, and no journal but for the job that is opened.
type desk struct{ talk *opening.Talk }

// Desk returns a listener that hears a conversation about opening a job. Of its sound nothing is
// kept. The error wraps [hear.ErrGrammar] where nothing of it can be heard.
func (h *Hearing) Desk(talk *opening.Talk) (*Listener, error) {
	if h.Opening == nil {
		return nil, fmt.Errorf("%w: jobs are opened by typing here", hear.ErrGrammar)
	}
	words, err := h.Opening()
	if err != nil {
		return nil, fmt.Errorf("listen for a job to be opened: %w", err)
	}
	open := func(ctx context.Context) (hear.Ear, error) { return h.Engine.Open(ctx, words) }
	l := New(open, h.Engine.Name(), nil, nil, h.Policy)
	l.desk = &desk{talk}
	return l, nil
}

// kind says how much harm words can do: what only changes what is read back does none.
func (d *desk) kind(text string) judge.Kind {
	switch d.talk.Means(text) {
	case opening.Acts:
		return judge.Record
	case opening.Tells:
		return judge.Harmless
	case opening.Nothing:
	}
	return judge.Nothing
}

func (d *desk) take(ctx context.Context, note wire.Note, heard judge.Decision) (Outcome, error) {
	out, err := d.talk.Say(ctx, heard.Text)
	out.ID = note.ID
	return Outcome{Verdict: judge.Taken, Text: heard.Text, Say: out.Say, Opening: &out}, err
}

// leaving are the words that leave a sheet for the jobs.
var leaving = []string{"back to the jobs", "back to the job list", "show the jobs", "show me the jobs", "go to the jobs"}

// Leaving lists them.
func Leaving() []string { return slices.Clone(leaving) }

// leaves reports whether the words leave the sheet.
func (l *Listener) leaves(text string) bool { return l.desk == nil && slices.Contains(leaving, text) }
