package journal_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/parse/number"
)

func TestInstant(t *testing.T) {
	zone := time.FixedZone("", 2*3600)
	at := time.Date(2031, 3, 4, 10, 0, 0, 123456789, zone)
	got := journal.InstantOf(at)
	// 2031-03-04T08:00:00Z is 22342 days and 8 hours after 1970-01-01, counted by hand:
	// 61 years of 365 days, 15 leap days (1972 to 2028), 31 + 28 + 3 days.
	days := int64(61*365 + 15 + 31 + 28 + 3)
	if want := journal.Instant((days*86400+8*3600)*1_000_000 + 123456); got != want {
		t.Errorf("InstantOf(%s) = %d, want %d", at, got, want)
	}
	if want := time.Date(2031, 3, 4, 8, 0, 0, 123456000, time.UTC); got.Time() != want {
		t.Errorf("Time() = %s, want %s", got.Time(), want)
	}
	if zero := journal.InstantOf(time.Time{}); zero != 0 || !zero.Time().IsZero() {
		t.Errorf("no time became %d and then %s", zero, zero.Time())
	}
}

// An exported entry is read again on any machine: its JSON says all but the position.
func TestEntryJSON(t *testing.T) {
	for _, e := range []journal.Entry{journaltest.Opening("MW-1041", 1), journaltest.Note("MW-1041", 2), journaltest.Disposition("MW-1041", 3, 2)} {
		e, err := journal.Prepare(e)
		if err != nil {
			t.Fatal(err)
		}
		e.Answer = json.RawMessage(`{"kind":"reading"}`)
		text, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var got journal.Entry
		if err := json.Unmarshal(text, &got); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(e, got, cmp.Comparer(func(a, b number.Value) bool { return a == b })); diff != "" {
			t.Errorf("%s (-want +got):\n%s", text, diff)
		}
	}
}
