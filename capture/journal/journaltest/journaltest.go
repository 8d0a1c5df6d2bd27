// Package journaltest is the contract of journal.Store as tests: a store passes
// [Run], or it is none. Only test files import it.
package journaltest

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"readback/capture/journal"
	"readback/parse"
	"readback/parse/number"
)

// Run holds a store to the contract. open returns a new, empty store; Run closes it.
func Run(t *testing.T, open func(t *testing.T) journal.Store) {
	t.Helper()
	for _, rule := range rules {
		t.Run(rule.says, func(t *testing.T) {
			s := open(t)
			rule.test(t, s)
			if err := s.Close(); err != nil {
				t.Errorf("close: %v", err)
			}
		})
	}
}

// rules is the contract, one sentence a test.
var rules = []struct {
	says string
	test func(*testing.T, journal.Store)
}{
	{"a job counts its entries from 1 without gaps", sequence},
	{"positions rise over all jobs", positions},
	{"an entry comes back as it was handed in", whole},
	{"what nobody said is not stated", notStated},
	{"what the caller changes later changes nothing", apart},
	{"the same id gives the entry as first kept", sameID},
	{"the same id twice in one batch is kept once", sameIDInBatch},
	{"an id of another job is refused and keeps no other out", otherJob},
	{"a seq that is not the next is refused and keeps no other out", wrongSeq},
	{"two that claim the same seq: one is kept", seqRace},
	{"what no engine could keep is refused and keeps no other out", badEntry},
	{"every text comes back byte for byte", texts},
	{"an entry is the same JSON when it is kept and when it is read", sameJSON},
	{"an empty batch is no error", emptyBatch},
	{"after a context has ended nothing is kept", endedContext},
	{"a follower reads on from a position", follow},
	{"a follower beside writers misses nothing", followBeside},
	{"a job's entries are read in pages", pages},
	{"an unknown job or id is not found", notFound},
	{"jobs are listed as they were opened", jobs},
	{"who said notes is listed, the last first", people},
	{"a closed store says so", closed},
}

// Start is the server time of the first entry that the suite makes.
var Start = time.Date(2031, 3, 4, 8, 0, 0, 123456000, time.UTC)

// ID returns the n-th id of the suite: a valid ULID that sorts by n.
func ID(n int) string { return fmt.Sprintf("01J0000000%016d", n) }

// Note returns the n-th entry of a job, as a bench hands it in.
func Note(job string, n int) journal.Entry {
	value, _ := number.Decimal(4800, 2)
	text := fmt.Sprintf("collar nut stage %d forty eight newton metres", n)
	return journal.Entry{
		Job: job, ID: ID(n), Kind: journal.Note, Person: "Ines", Bench: "bench 2", Text: text,
		At:       journal.InstantOf(Start.Add(time.Duration(n) * time.Millisecond)),
		ClientAt: journal.InstantOf(Start.Add(time.Duration(n) * time.Microsecond)),
		Utterance: &parse.Utterance{Text: text, Kind: parse.Reading, Claims: []parse.Claim{{
			Target: parse.Target{Callout: "collar_nut_torque", At: parse.At(parse.Index{Axis: "stage", Value: "3"})},
			Value:  value, Unit: "N.m", Span: parse.Span{Start: 19, End: 44},
		}}},
		Answer:  []byte(`{"kind":"reading", "say":"Collar nut. <In> & kept."}`),
		Sound:   strings.Repeat("5f2c", 16),
		Heard:   []byte(`{"engine":"offline","gate":-8.5}`),
		Caution: "Mind your hands.", SpecHash: "5f2c", Program: "0.1.0",
	}
}

// Opening returns the first entry of a job, with id n.
func Opening(job string, n int) journal.Entry {
	e := Note(job, n)
	e.Kind, e.Text, e.Utterance, e.Answer = journal.Opened, "", nil, nil
	e.Spec, e.SpecText = "mr5", "spec: mr5\nrevision: \"C\"\n"
	e.ShopText = "shop: Millrace Pump Works\n"
	e.Options = map[string]string{"base": "long", "stages": "8"}
	return e
}

// Photo returns the n-th entry of a job: a photo of the note with a seq.
func Photo(job string, n int, of int64) journal.Entry {
	e := bare(job, n, journal.Photo)
	e.Photo, e.Of = strings.Repeat("7a1d", 16), of
	return e
}

// Purge returns the n-th entry of a job: sounds of notes are gone.
func Purge(job string, n int, of ...int64) journal.Entry {
	e := bare(job, n, journal.Purged)
	e.Purge = &journal.Purge{Rule: "older than 90 days", Before: journal.InstantOf(Start)}
	for _, seq := range of {
		e.Purge.Items = append(e.Purge.Items, journal.PurgedItem{Seq: seq, Hash: strings.Repeat("5f2c", 16)})
	}
	return e
}

// Heeding returns the n-th entry of a job: somebody sees to a stop that the note with a seq raised.
func Heeding(job string, n int, of int64) journal.Entry {
	e := bare(job, n, journal.Heeded)
	e.Of, e.Answer = of, json.RawMessage(`{"finding":{"rule":"stack_order","callout":"impeller","at":{"stage":"1"},"severity":"stop","text":"Stop"}}`)
	return e
}

// Disposition returns the n-th entry of a job: a reading of the note with a seq is used as it is.
func Disposition(job string, n int, reading int64) journal.Entry {
	e := bare(job, n, journal.Disposed)
	e.Disposition = &journal.Disposition{
		Rule: "limit", Callout: "collar_nut_torque", At: parse.At(parse.Index{Axis: "stage", Value: "3"}),
		Finding: "Collar nut three: 51 N·m, out: 46.08 to 49.92 N·m", Reading: reading, Is: "use as is", Reason: "Asked the designer; <51> & below will do.",
	}
	return e
}

// bare is an entry in which nothing was said.
func bare(job string, n int, kind journal.Kind) journal.Entry {
	e := Note(job, n)
	return journal.Entry{Job: job, ID: e.ID, Kind: kind, At: e.At, Person: e.Person, Program: e.Program}
}

// add appends the batch and fails the test if the store is in trouble.
func add(t *testing.T, s journal.Store, batch ...journal.Entry) []journal.Result {
	t.Helper()
	results, err := s.Append(t.Context(), batch)
	if err != nil {
		t.Fatalf("append: %v", err)
	}
	if len(results) != len(batch) {
		t.Fatalf("append gave %d results for %d entries", len(results), len(batch))
	}
	return results
}

// keep appends the batch, each entry of which must be kept.
func keep(t *testing.T, s journal.Store, batch ...journal.Entry) []journal.Entry {
	t.Helper()
	kept := make([]journal.Entry, len(batch))
	for i, r := range add(t, s, batch...) {
		if r.Err != nil {
			t.Fatalf("entry %d of the batch: %v", i, r.Err)
		}
		kept[i] = r.Entry
	}
	return kept
}

// all returns every entry in the store.
func all(t *testing.T, s journal.Store) []journal.Entry {
	t.Helper()
	entries, err := s.After(t.Context(), 0, 1<<20)
	if err != nil {
		t.Fatalf("read all: %v", err)
	}
	return entries
}

func equal(t *testing.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b number.Value) bool { return a == b }), cmpopts.IgnoreFields(journal.Entry{}, "Uttered")); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}
