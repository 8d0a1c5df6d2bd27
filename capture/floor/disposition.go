package floor

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/oklog/ulid/v2"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// Why a disposition is refused. Each comes in a [RefusalError].
var (
	ErrNoFinding = errors.New("floor: there is no such finding")
	ErrNotTaken  = errors.New("floor: the finding does not take that disposition")
	ErrUnnamed   = errors.New("floor: nobody's name stands with the disposition")
	ErrAnew      = errors.New("floor: what the finding rests on was taken anew")
)

// Dispose keeps what was decided of a finding and tells the benches of the job. The same id again gives
// the entry that it became; known is true then. What is decided on must be what stands: a finding that
// says something else by now, or rests on a newer reading, is refused. The error is a [RefusalError], or
// what ails the journal.
func (f *Floor) Dispose(ctx context.Context, id string, d wire.Dispose) (e wire.Entry, known bool, err error) {
	var r journal.Result
	err = f.with(ctx, id, func(j *job) (err error) {
		for n := 0; n == 0 || n < retries && errors.Is(err, journal.ErrSeq); n++ {
			if r, err = j.dispose(ctx, d); err == nil && !r.Known {
				j.tell(r.Entry, nil)
			}
		}
		return err
	})
	return wire.EntryOf(r.Entry), r.Known, err
}

func (j *job) dispose(ctx context.Context, d wire.Dispose) (journal.Result, error) {
	if err := j.load(ctx); err != nil {
		return journal.Result{}, err
	}
	if j.live.ids[d.ID] {
		e, err := j.floor.Reader.ByID(ctx, j.id, d.ID)
		if err == nil && e.Kind != journal.Disposed {
			err = &RefusalError{Wrong: "the id is that of an entry which is no disposition", Do: "make a new id for each disposition", Why: ErrID}
		}
		return journal.Result{Entry: e, Known: true}, err
	}
	of, err := j.live.decidable(d)
	if err != nil {
		return journal.Result{}, err
	}
	r, err := j.record(ctx, journal.Entry{
		Job: j.id, ID: d.ID, Kind: journal.Disposed, At: journal.InstantOf(j.floor.Now()), ClientAt: journal.InstantOf(d.ClientAt()),
		Person: d.Person, Bench: d.Bench, SpecHash: j.live.plan.hash, Program: j.floor.Program,
		Disposition: &journal.Disposition{
			Rule: of.Rule, Callout: of.Callout, At: of.At, Finding: of.Text, Reading: of.Reading, Is: d.Is, Reason: d.Reason,
		},
	})
	if err == nil && r.Known && r.Entry.Kind != journal.Disposed {
		err = &RefusalError{Wrong: "the id is that of an entry which is no disposition", Do: "make a new id for each disposition", Why: ErrID}
	}
	return r, err
}

// ToDecide returns the finding that a disposition is of which names none, and says it: see [rules.Job.ToDecide]. ok is false
// where no finding takes it. Where nobody's name stands at the seat the error is a [RefusalError].
func (s *Seat) ToDecide(ctx context.Context, is rules.Disposition) (d wire.Decidable, aloud string, ok bool, err error) {
	s.job.mu.Lock()
	defer s.job.mu.Unlock()
	if err := s.job.load(ctx); err != nil {
		return d, "", false, err
	}
	if s.who.Person == journal.NotStated {
		return d, "", false, &RefusalError{Wrong: "nobody's name stands at this bench", Do: "say who you are on the sheet, then decide again", Why: ErrUnnamed}
	}
	of, aloud, ok := s.job.live.rules.ToDecide(is)
	if !ok {
		return d, "", false, nil
	}
	all := s.job.live.decidables()
	return all[slices.IndexFunc(all, func(d wire.Decidable) bool { return d.ID() == of.ID() })], aloud, true, nil
}

// Dispose keeps what was decided at this seat of a finding that [Seat.ToDecide] has returned, under the name of who sits
// there. It is refused if something was decided of it since. The error is that of [Floor.Dispose].
func (s *Seat) Dispose(ctx context.Context, of wire.Decidable, is rules.Disposition, reason string) error {
	id, err := ulid.New(ulid.Timestamp(s.job.floor.Now()), ulid.DefaultEntropy())
	if err != nil {
		return fmt.Errorf("decide on job %s: %w", s.job.id, err)
	}
	_, _, err = s.job.floor.Dispose(ctx, s.job.id, wire.Dispose{
		ID: id.String(), Finding: of.ID(), Reading: of.Reading, Is: string(is), Reason: reason, Person: s.who.Person, Bench: s.who.Bench, Over: &of.Decided,
	})
	return err
}

// decidable returns the finding that a disposition is of, as it stands now.
func (l *live) decidable(d wire.Dispose) (wire.Decidable, error) {
	var other *wire.Decidable // of the same rule and target, in other words
	for _, f := range l.decidables() {
		if f.Rule != d.Finding.Rule || f.Callout != d.Finding.Callout || !samePlace(f.At, d.Finding.At) {
			continue
		}
		switch {
		case f.Text != d.Finding.Text:
			other = &f
		case f.Reading != d.Reading:
			return wire.Decidable{}, anew(f)
		case d.Over != nil && f.Decided != *d.Over:
			return wire.Decidable{}, &RefusalError{Wrong: "something was decided of it meanwhile", Do: "look at what stands, and decide again", Why: ErrAnew}
		case !slices.Contains(f.Takes, rules.Disposition(d.Is)):
			return wire.Decidable{}, &RefusalError{
				Wrong: fmt.Sprintf("%q is no disposition of %q", d.Is, f.Text), Do: "decide " + list(f.Takes), Why: ErrNotTaken,
			}
		default:
			return f, nil
		}
	}
	if other != nil {
		return wire.Decidable{}, anew(*other)
	}
	return wire.Decidable{}, &RefusalError{
		Wrong: "there is no such finding that takes a disposition; it may be settled by now", Do: "look at what is open on the sheet", Why: ErrNoFinding,
	}
}

func anew(f wire.Decidable) error {
	return &RefusalError{
		Wrong: fmt.Sprintf("it was taken anew meanwhile, and is now: %s", f.Text), Do: "look at it as it is now, and decide again", Why: ErrAnew,
	}
}

func list(takes []rules.Disposition) (text string) {
	for i, d := range takes {
		switch {
		case i > 0 && i == len(takes)-1:
			text += " or "
		case i > 0:
			text += ", "
		}
		text += string(d)
	}
	return text
}

// samePlace reports whether two places have the same coordinates, in whatever order they were written.
func samePlace(a, b parse.Place) bool {
	of := func(p parse.Place) map[string]string {
		out := map[string]string{}
		for _, x := range p.Indexes() {
			out[x.Axis] = x.Value
		}
		return out
	}
	return maps.Equal(of(a), of(b))
}

// decide folds a disposition that is kept.
func (l *live) decide(e journal.Entry) {
	d := e.Disposition
	l.rules.Decide(rules.Decision{
		Seq: e.Seq, Is: rules.Disposition(d.Is),
		Finding: rules.FindingID{Rule: d.Rule, Callout: d.Callout, At: d.At, Text: d.Finding},
	})
	l.given = append(l.given, e)
}

// decidables lists the findings that take a disposition.
func (l *live) decidables() []wire.Decidable {
	out := []wire.Decidable{}
	for _, d := range l.rules.Decidables() {
		one := wire.Decidable{Finding: d.Finding, Takes: d.Takes, Holds: d.Holds, Due: d.Due()}
		if d.Note > 0 {
			one.Reading = l.noted[d.Note-1]
		}
		if d.Decided != nil {
			one.Decided = d.Decided.Seq
		}
		out = append(out, one)
	}
	return out
}

// dispositions lists every disposition that was given, and what became of it.
func (l *live) dispositions() []wire.Disposition {
	out := []wire.Disposition{}
	for i, d := range l.rules.Decisions() {
		one := wire.DispositionOf(l.given[i])
		one.State, one.By, one.Where = d.State, d.By, l.rules.Where(parse.Target{Callout: one.Callout, At: one.At})
		out = append(out, one)
	}
	return out
}
