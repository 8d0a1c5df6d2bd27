package listen

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"readback/capture/hear"
	"readback/capture/hear/judge"
)

// Trial is what would have come of a sentence that was read to try the microphone.
type Trial struct {
	Verdict judge.Verdict
	Text    string  // the words that were heard
	Right   bool    // they were taken or asked about, and say what the sentence does
	Level   float64 // of the speech, dB below full scale; -100 where nothing tells
	Noise   float64 // of what is around it, as Level
}

// Try says that the note is over, for which sentence was to be read, and tells what would have come of it at a bench
// that waits for nothing. Nothing of it is recorded or kept, and the listener stays as it was: a question that it has asked still waits,
// a bench that stands by still does, and what an open microphone takes without the lead-in is the same. Where the
// engine fails the error says why.
func (l *Listener) Try(ctx context.Context, sentence string) (t Trial, err error) {
	if l.ear == nil {
		return Trial{Verdict: judge.Refused}, errNotBegun
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	h, err := l.ear.End(ctx)
	if err != nil {
		return Trial{Verdict: judge.Refused}, fmt.Errorf("hear a sentence of the check: %w", err)
	}
	h.Cut = l.cut
	t, err = l.beside(ctx).try(ctx, h, l.ear)
	t.Level, t.Noise = decibels(h.Level), decibels(h.Noise)
	t.Right = (t.Verdict == judge.Taken || t.Verdict == judge.Asked) && l.readAlike(ctx, t.Text, plainly(sentence))
	return t, err
}

// beside returns a listener of the same bench that has asked nothing, and keeps nothing. It has no ear.
func (l *Listener) beside(ctx context.Context) *Listener {
	b := New(nil, l.engine, l.seat, nil, l.policy)
	b.desk, b.people, b.pcm, b.ctx = l.desk, l.people, l.pcm, ctx
	b.lead.words = l.lead.words
	return b
}

// try judges what was heard, and leaves it at that.
func (l *Listener) try(ctx context.Context, h hear.Heard, scorer judge.Scorer) (Trial, error) {
	if led := l.lead.begins(h.Words); led > 0 { // out of habit: none is wanted
		scorer = behind{scorer, textOf(h.Words[:led])}
	}
	h, _ = l.lead.of(h, false)
	if l.command(&h) {
		return Trial{Verdict: judge.Taken, Text: textOf(h.Words)}, nil
	}
	judged, _ := l.second(ctx, h)
	d, err := l.judge.Hear(ctx, judged, scorer)
	if err != nil {
		return Trial{Verdict: judge.Refused, Text: d.Text}, fmt.Errorf("judge a sentence of the check: %w", err)
	}
	if d.Verdict == judge.Silent && (d.Text != "" && !math.IsInf(d.Gate, -1) || l.spoken(&h)) {
		d.Verdict = judge.Refused
	}
	return Trial{Verdict: d.Verdict, Text: strings.TrimSpace(d.Text)}, nil
}
