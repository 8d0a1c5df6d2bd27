package floor

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"readback/capture/journal"
	"readback/parse"
	"readback/rules"
)

// Told is all that the entries of a job tell, folded once.
type Told struct {
	Stood
	Happened []Happened             // entry by entry
	Ended    []Ended                // what no longer stands, in the order in which it ended
	Made     map[parse.Target]int64 // the seq of the note of each reading and mark that stands, of what is computed too
	Shop     *rules.Shop            // the register that the job was opened with; nil for none

	job *rules.Job
}

// Where returns a target in words: "collar nut three".
func (t *Told) Where(at parse.Target) string { return t.job.Where(at) }

// How something ended.
const (
	Superseded = "superseded" // something else was read or marked there
	TakenBack  = "taken back" // by its speaker's word
	Voided     = "void"       // by later work
)

// Ended is a reading or mark that no longer stands.
type Ended struct {
	parse.Target
	Where string // in words: "collar nut three"
	Of    int64  // seq of the note that made it
	By    int64  // seq of the note that ended it
	How   string
}

// Tell folds these entries, the first of which opens the job, apart from whatever benches work on, until
// ctx ends. The error wraps [ErrBroken] for a job that cannot be folded.
func (f *Floor) Tell(ctx context.Context, entries []journal.Entry) (t Told, err error) {
	if len(entries) == 0 {
		return Told{}, journal.ErrNotFound
	}
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%w: tell: %v", ErrBroken, fault)
		}
	}()
	l, err := f.unread(entries[0])
	if err != nil {
		return Told{}, err
	}
	var notes []journal.Entry
	var open []rules.Finding
	var stands map[parse.Target]int
	for _, e := range entries {
		if err := context.Cause(ctx); err != nil { // nobody waits for it: a long job is seconds of work
			return Told{}, fmt.Errorf("tell of job %s: %w", e.Job, err)
		}
		if err := l.foldAll([]journal.Entry{e}); err != nil {
			return Told{}, fmt.Errorf("tell of job %s: %w", e.Job, err)
		}
		if folds(e) {
			notes = append(notes, journal.Entry{Seq: e.Seq, At: e.At, Person: e.Person})
			now := l.rules.Made()
			t.Ended = append(t.Ended, l.ended(stands, now)...)
			stands = now
		}
		now := l.rules.Open()
		h := Happened{Entry: e, Opened: without(now, open), Closed: without(open, now)}
		t.Happened, open = append(t.Happened, h), now
	}
	if t.Stood, err = l.stood(notes); err != nil {
		return Told{}, err
	}
	t.Made, t.Shop, t.job = map[parse.Target]int64{}, l.rules.Shop(), l.rules
	for at, note := range stands {
		t.Made[at] = l.noted[note-1]
	}
	for _, r := range t.Readings {
		t.Made[parse.Target{Callout: r.Callout, At: r.Stood.At}] = r.Seq
	}
	return t, nil
}

// ended compares what stood before a note with what stands now.
func (l *live) ended(before, now map[parse.Target]int) (out []Ended) {
	for _, t := range slices.SortedFunc(maps.Keys(before), compareTargets) {
		was, is := before[t], now[t]
		if was == is {
			continue
		}
		how := Superseded
		switch {
		case is == 0 && l.rules.Void(t):
			how = Voided
		case is == 0:
			how = TakenBack
		}
		out = append(out, Ended{t, l.rules.Where(t), l.noted[was-1], l.noted[len(l.noted)-1], how})
	}
	return out
}

func compareTargets(a, b parse.Target) int {
	switch {
	case a.Callout != b.Callout && a.Callout < b.Callout, a.Callout == b.Callout && a.At < b.At:
		return -1
	case a == b:
		return 0
	}
	return 1
}
