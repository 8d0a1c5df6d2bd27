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
type desk struct {
	talk *opening.Talk
	gate float64 // of words that open a job or go to one
}

// deskGate is the least gate of words that only change what is read back. Spelt numbers fit worse
// than sentences: in flite's four voices those and all else that may be said at the desk had -21 and
// above, and talk that was forced into its words -31 and below.
const deskGate = -32

// Desk returns a listener that hears a conversation about opening a job. Of its sound nothing is
// kept. The error wraps [hear.ErrGrammar] where nothing of it can be heard.
func (h *Hearing) Desk(ctx context.Context, talk *opening.Talk) (*Listener, error) {
	if h.Opening == nil {
		return nil, fmt.Errorf("%w: jobs are opened by typing here", hear.ErrGrammar)
	}
	heads, err := talk.Heads(ctx)
	if err != nil {
		return nil, fmt.Errorf("listen for a job to be opened: %w", err)
	}
	words, err := h.Opening(heads)
	if err != nil {
		return nil, fmt.Errorf("listen for a job to be opened: %w", err)
	}
	open := func(ctx context.Context) (hear.Ear, error) { return h.Engine.Open(ctx, words) }
	policy := h.Policy
	policy.Gate = min(policy.Gate, deskGate)
	l := New(open, h.Engine.Name(), nil, nil, policy)
	l.LeadIn(h.LeadIn)
	l.desk = &desk{talk, h.Policy.Gate}
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
	if heard.Gate < d.gate && d.talk.Means(heard.Text) == opening.Acts {
		return Outcome{Verdict: judge.Refused, Text: heard.Text, Say: "Say again."}, nil
	}
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
