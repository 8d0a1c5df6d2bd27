package journal_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

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
		if diff := cmp.Diff(e, got, cmp.Comparer(func(a, b number.Value) bool { return a == b }), cmpopts.IgnoreFields(e, "Uttered")); diff != "" {
			t.Errorf("%s (-want +got):\n%s", text, diff)
		}
	}
}

// What was sealed stays the same text when a newer program understands utterances otherwise.
func TestUtteranceIsWrittenAsItIsKept(t *testing.T) {
	e, err := journal.Prepare(journaltest.Note("MW-1041", 1))
	if err != nil {
		t.Fatal(err)
	}
	e.Uttered = json.RawMessage(`{"kind":"reading","of_an_older_program":"<kept>"}`)
	text, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Utterance map[string]string `json:"utterance"`
	}
	if err := json.Unmarshal(text, &got); err != nil || got.Utterance["of_an_older_program"] != "<kept>" || len(got.Utterance) != 2 {
		t.Errorf("the utterance is written as %v, error %v: %s", got.Utterance, err, text)
	}
}

// A number beyond 2^53 is not the same number to every reader of JSON.
func TestFarInstantIsWrittenAsText(t *testing.T) {
	for i, want := range map[journal.Instant]string{
		1: "1", -1: "-1", 1<<53 - 1: "9007199254740991", -(1<<53 - 1): "-9007199254740991",
		1 << 53: `"9007199254740992"`, -(1 << 53): `"-9007199254740992"`, 1<<63 - 1: `"9223372036854775807"`, -1 << 63: `"-9223372036854775808"`,
	} {
		text, err := json.Marshal(i)
		var got journal.Instant
		if err != nil || string(text) != want || json.Unmarshal(text, &got) != nil || got != i {
			t.Errorf("%d is written as %s (%v) and read as %d, want %s", int64(i), text, err, got, want)
		}
	}
	for _, wrong := range []string{`"1x"`, `1.5`, `"`, `""`, `"9223372036854775808"`, `true`, `"\"1\""`} {
		var got journal.Instant
		if err := json.Unmarshal([]byte(wrong), &got); err == nil {
			t.Errorf("%s is read as %d", wrong, got)
		}
	}
}
