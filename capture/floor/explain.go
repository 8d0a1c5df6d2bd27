package floor

import (
	"context"
	"errors"
	"fmt"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
)

// Explain reads a note of a job again, with what had been said before it, and says which
// words became what. It changes nothing. Where newer code reads the note otherwise than it
// was read then, the answer says so: what counts is what was kept.
func (f *Floor) Explain(ctx context.Context, job string, seq int64) (wire.Explained, error) {
	var l *live
	var note journal.Entry
	for after := int64(0); note.Seq == 0; {
		entries, err := f.Reader.Entries(ctx, job, after, page)
		if errors.Is(err, journal.ErrNotFound) {
			return wire.Explained{}, notFound(job)
		}
		if err != nil {
			return wire.Explained{}, fmt.Errorf("explain entry %d of job %s: %w", seq, job, err)
		}
		if l == nil {
			if l, err = f.open(entries[0]); err != nil {
				return wire.Explained{}, err
			}
		}
		before := entries
		for i := range entries {
			if entries[i].Seq == seq {
				before, note = entries[:i], entries[i]
				break
			}
		}
		if err := l.foldAll(before); err != nil {
			return wire.Explained{}, fmt.Errorf("explain entry %d of job %s: %w", seq, job, err)
		}
		if len(entries) < page {
			break
		}
		after = entries[len(entries)-1].Seq
	}
	if note.Kind != journal.Note || note.Utterance == nil {
		return wire.Explained{}, &RefusalError{
			Wrong: fmt.Sprintf("entry %d of job %s is no note", seq, job), Do: "give the number of a note, as it stands beside it", Why: journal.ErrNotFound,
		}
	}
	if guess, of := remarkOf(note); guess || of > 0 {
		return wire.Explained{}, &RefusalError{
			Wrong: fmt.Sprintf("note %d of job %s is a remark in free words, which is kept and not read", seq, job), Do: "look at it on the sheet, or print the job", Why: journal.ErrNotFound,
		}
	}
	out := wire.ExplainedOf(*note.Utterance, l.explain(note))
	var err error
	out.Shown, err = f.shownOf(ctx, job, note)
	return out, err
}

// explain reads a note again, what a gauge sent as that.
func (l *live) explain(note journal.Entry) parse.Utterance {
	said := l.said[speakerOf(note)]
	if g := note.Utterance.Gauge; g != nil && g.Do == parse.GaugeSent {
		return parse.Sent(note.Text, l.words, said)
	}
	u := parse.Explain(note.Text, l.words, said)
	u.Guarded = note.Utterance.Guarded // that is no matter of how it is read
	return u
}
