package floor

import (
	"context"
	"errors"
	"fmt"

	"readback/capture/journal"
	"readback/rules"
)

// Happened is an entry of a job with what it changed of the findings that are open.
type Happened struct {
	journal.Entry                 // without its utterance and its spec
	Opened        []rules.Finding // in the order of the spec
	Closed        []rules.Finding // as they were last
}

// History folds a job as its journal has it now and says what each entry opened and closed. Like
// [Floor.Stood] it holds nobody up, and leaves nothing in memory. The error is as there.
func (f *Floor) History(ctx context.Context, id string) ([]Happened, error) {
	var l *live
	var out []Happened
	var open []rules.Finding
	for after := int64(0); ; after = l.last.Seq {
		entries, err := f.Reader.Entries(ctx, id, after, page)
		if errors.Is(err, journal.ErrNotFound) {
			return nil, notFound(id)
		}
		if err == nil && l == nil {
			l, err = f.unread(entries[0])
		}
		if err != nil {
			return nil, fmt.Errorf("history of job %s: %w", id, err)
		}
		for _, e := range entries {
			if err := l.foldAll([]journal.Entry{e}); err != nil {
				return nil, fmt.Errorf("history of job %s: %w", id, err)
			}
			now := l.rules.Open()
			h := Happened{Entry: e, Opened: without(now, open), Closed: without(open, now)}
			h.Utterance, h.SpecText, h.ShopText = nil, "", ""
			out, open = append(out, h), now
		}
		if len(entries) < page {
			return out, nil
		}
	}
}

// without returns the findings of all that some does not have, in whatever words: a stop that is being
// mended piece by piece is one.
func without(all, some []rules.Finding) (out []rules.Finding) {
	target := func(f rules.Finding) standing { return standing{rule: f.Rule, callout: f.Callout, at: f.At} }
	has := map[standing]bool{}
	for _, f := range some {
		has[target(f)] = true
	}
	for _, f := range all {
		if !has[target(f)] {
			out = append(out, f)
		}
	}
	return out
}
