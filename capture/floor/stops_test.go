package floor_test

import (
	"encoding/json"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// stopOf returns the only stop of a job as it is to be answered.
func stopOf(t *testing.T, f *floor.Floor, id int, person string) wire.Heed {
	t.Helper()
	stops := shown(t, f).Stops
	if len(stops) != 1 {
		t.Fatalf("the state has %d stops: %+v", len(stops), stops)
	}
	s := stops[0]
	return wire.Heed{ID: journaltest.ID(id), Rule: s.Rule, Callout: s.Callout, At: s.At, Since: s.Since, Person: person}
}

// A stop is answered once, by name; the answer is in the record and outlives a restart, and ends with the
// stop. What is raised anew is to be answered anew.
func TestAStopIsAnswered(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	var told [][]byte
	s, _, err := f.Sit(t.Context(), "MW-1041", floor.Speaker{Bench: "bench 1", Person: "Ines"}, func(entry []byte) { told = append(told, entry) })
	if err != nil {
		t.Fatal(err)
	}
	defer s.Leave()
	say(t, s, 1, "cut impeller stage one")
	heed := stopOf(t, f, 2, "Tom")
	for name, no := range map[string]wire.Heed{
		"nobody":    {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Since: heed.Since, Person: " "},
		"not so":    {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Since: heed.Since, Person: journal.NotStated},
		"elsewhere": {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: "stage=2", Since: heed.Since, Person: "Tom"},
		"an older":  {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Since: 1, Person: "Tom"},
		"a warning": {ID: journaltest.ID(3), Rule: "step_order", Callout: heed.Callout, At: heed.At, Since: heed.Since, Person: "Tom"},
	} {
		if _, _, err := f.Heed(t.Context(), "MW-1041", no); !errors.Is(err, floor.ErrNoStop) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, _, err := f.Heed(t.Context(), "MW-1099", heed); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("of a job that there is not: %v", err)
	}
	first, known, err := f.Heed(t.Context(), "MW-1041", heed)
	if known || err != nil {
		t.Fatal(known, err)
	}
	for _, id := range []int{2, 4} { // sent again, and by somebody else
		again := heed
		again.ID, again.Person = journaltest.ID(id), "Ruth"
		entry, known, err := f.Heed(t.Context(), "MW-1041", again)
		if !known || err != nil {
			t.Fatal(known, err)
		}
		if diff := cmp.Diff(first, entry); diff != "" {
			t.Errorf("answered again as %d (-first +again):\n%s", id, diff)
		}
	}
	used := heed
	used.ID = journaltest.ID(1)
	if _, _, err := f.Heed(t.Context(), "MW-1041", used); !errors.Is(err, floor.ErrID) {
		t.Errorf("with the id of a note: %v", err)
	}
	if len(told) != 1 {
		t.Fatalf("the bench is told %d times", len(told))
	}
	var entry struct {
		Entry, Person string
		Of            int64
		Finding       struct{ Rule, Text string }
	}
	if err := json.Unmarshal(told[0], &entry); err != nil {
		t.Fatal(err)
	}
	if entry.Entry != "heeded" || entry.Person != "Tom" || entry.Of != heed.Since || entry.Finding.Rule != heed.Rule || entry.Finding.Text == "" {
		t.Errorf("the bench is told %s", told[0])
	}
	for what, f := range map[string]*floor.Floor{"as it was answered": f, "after a restart": floorOn(t, d)} {
		if h := shown(t, f).Stops[0].Heeded; h == nil || h.Person != "Tom" || h.Seq != 3 {
			t.Errorf("%s the state says %+v", what, h)
		}
	}
	say(t, s, 5, "full impeller stage one")
	if stops := shown(t, f).Stops; len(stops) != 0 {
		t.Errorf("what is mended is still there: %+v", stops)
	}
	say(t, s, 6, "cut impeller stage one")
	for what, f := range map[string]*floor.Floor{"raised anew": f, "after a restart": floorOn(t, d)} {
		if s := shown(t, f).Stops; len(s) != 1 || s[0].Heeded != nil || s[0].Since != 5 {
			t.Errorf("%s it stands as %+v", what, s)
		}
	}
	if _, _, err := f.Heed(t.Context(), "MW-1041", wire.Heed{ID: journaltest.ID(7), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Since: heed.Since, Person: "Tom"}); !errors.Is(err, floor.ErrNoStop) {
		t.Errorf("an answer to what was mended: %v", err)
	}
}

// An answer that the disk does not take answers nothing.
func TestAnAnswerIsKeptOrNot(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, "cut impeller stage one")
	heed := stopOf(t, f, 2, "Tom")
	d.failWith(journal.ErrFull)
	if _, _, err := f.Heed(t.Context(), "MW-1041", heed); !errors.Is(err, journal.ErrFull) {
		t.Errorf("on a full disk: %v", err)
	}
	d.failWith(nil)
	if h := shown(t, f).Stops[0].Heeded; h != nil {
		t.Errorf("what was not kept is shown: %+v", h)
	}
	if _, known, err := f.Heed(t.Context(), "MW-1041", heed); known || err != nil {
		t.Error(known, err)
	}
}
