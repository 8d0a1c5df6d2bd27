package floor

import (
	"context"
	"slices"

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
	var out []Happened
	var open []rules.Finding
	_, err := f.folded(ctx, id, func(l *live, e journal.Entry) {
		now := l.rules.Open()
		h := Happened{Entry: e, Opened: without(now, open), Closed: without(open, now)}
		h.Utterance, h.SpecText, h.ShopText = nil, "", ""
		out, open = append(out, h), now
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// without returns the findings of all that some does not have, each of some standing for one. A finding may
// have come into other words: a stop that is being mended piece by piece is one. See [rules.Finding.Continues].
func without(all, some []rules.Finding) (out []rules.Finding) {
	some = slices.Clone(some)
	take := func(is func(rules.Finding) bool) bool {
		i := slices.IndexFunc(some, is)
		if i < 0 {
			return false
		}
		some = slices.Delete(some, i, i+1)
		return true
	}
	var other []rules.Finding
	for _, f := range all { // those in the same words first, or one of two of a target would be taken for the other
		if !take(func(g rules.Finding) bool { return g.SameTarget(f) && g.Text == f.Text }) {
			other = append(other, f)
		}
	}
	for _, f := range other {
		if !take(f.Continues) {
			out = append(out, f)
		}
	}
	return out
}
