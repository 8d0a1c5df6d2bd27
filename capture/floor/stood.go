package floor

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// Stood is what a job has measured and still stands, as its journal folds.
type Stood struct {
	Head     int64 // seq of the last entry that was folded
	Revision string
	Options  map[string]string // defaults filled in
	Readings []Measured        // in the order of the spec
	Details  map[string]string // what was said of the unit, by callout: "serial_number"

	Dispositions []Disposed // every one that was given, in order
	Symptoms     []Found    // what notes say is wrong, in order; not what they say is not
}

// Disposed is a disposition with the name of its callout in words.
type Disposed struct {
	wire.Disposition
	Name string
}

// untold leaves out what somebody takes back: the last that he told of, in the same words.
func untold(found []Found, c parse.Condition, person string) []Found {
	for i, f := range slices.Backward(found) {
		if f.Condition == c && f.Person == person {
			return slices.Delete(found, i, i+1)
		}
	}
	return found
}

// Found is something wrong that a note tells of, and nobody has taken back.
type Found struct {
	parse.Condition
	Seq    int64           // of the note
	At     journal.Instant // of that note, by the server's clock
	Person string
}

// Measured is a reading that stands, and the note that it comes from.
type Measured struct {
	rules.Stood
	Seq    int64           // of the note; of a computed value the last of those that it is computed from
	At     journal.Instant // of that note, by the server's clock
	Person string          // who said it, or [journal.NotStated]
}

// Stood folds a job as its journal has it now, apart from the job that benches work on: it
// holds nobody up, and leaves nothing in memory. The error wraps [journal.ErrNotFound],
// [ErrBroken] for a job that cannot be folded, or says what ails the journal.
func (f *Floor) Stood(ctx context.Context, id string) (Stood, error) {
	var notes []journal.Entry // those that fold, without what they hold
	var found []Found
	l, err := f.folded(ctx, id, func(_ *live, e journal.Entry) {
		if folds(e) {
			notes = append(notes, journal.Entry{Seq: e.Seq, At: e.At, Person: e.Person})
			for _, c := range e.Utterance.Untold {
				found = untold(found, c, e.Person)
			}
			for _, c := range e.Utterance.Symptoms {
				if !c.Absent {
					found = append(found, Found{c, e.Seq, e.At, e.Person})
				}
			}
		}
	})
	if err != nil {
		return Stood{}, err
	}
	s, err := l.stood(notes)
	s.Symptoms = found
	return s, err
}

// folded folds a job for its sake alone, without its vocabulary; see is shown each entry, and the job as it
// stands with it.
func (f *Floor) folded(ctx context.Context, id string, see func(*live, journal.Entry)) (l *live, err error) {
	for after := int64(0); ; after = l.last.Seq {
		entries, err := f.Reader.Entries(ctx, id, after, page)
		if errors.Is(err, journal.ErrNotFound) {
			return nil, notFound(id)
		}
		if err != nil {
			return nil, fmt.Errorf("fold job %s: %w", id, err)
		}
		if l == nil {
			if l, err = f.unread(entries[0]); err != nil {
				return nil, err
			}
		}
		for _, e := range entries {
			if err := l.foldAll([]journal.Entry{e}); err != nil {
				return nil, fmt.Errorf("fold job %s: %w", id, err)
			}
			see(l, e)
		}
		if len(entries) < page {
			return l, nil
		}
	}
}

// stood gives each reading its note: the rules count the notes that were folded.
func (l *live) stood(notes []journal.Entry) (s Stood, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%w: readings: %v", ErrBroken, fault)
		}
	}()
	s = Stood{Head: l.last.Seq, Revision: l.plan.spec.Revision, Options: l.rules.Options(), Readings: []Measured{}, Details: l.rules.Details()}
	for _, r := range l.rules.Stood() {
		n := notes[r.Note-1]
		s.Readings = append(s.Readings, Measured{r, n.Seq, n.At, n.Person})
	}
	for _, d := range l.dispositions() {
		s.Dispositions = append(s.Dispositions, Disposed{d, l.rules.Name(d.Callout)})
	}
	return s, nil
}
