package floor_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
	"readback/testdata"
)

// stopOf returns the only stop of a job as it is to be answered.
func stopOf(t *testing.T, f *floor.Floor, id int, person string) wire.Heed {
	t.Helper()
	stops := shown(t, f).Stops
	if len(stops) != 1 {
		t.Fatalf("the state has %d stops: %+v", len(stops), stops)
	}
	s := stops[0]
	return wire.Heed{ID: journaltest.ID(id), Rule: s.Rule, Callout: s.Callout, At: s.At, Text: s.Text, Since: s.Since, Person: person}
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
		"nobody":    {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Text: heed.Text, Since: heed.Since, Person: " "},
		"not so":    {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Text: heed.Text, Since: heed.Since, Person: journal.NotStated},
		"elsewhere": {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: "stage=2", Text: heed.Text, Since: heed.Since, Person: "Tom"},
		"an older":  {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Text: heed.Text, Since: 1, Person: "Tom"},
		"in words":  {ID: journaltest.ID(3), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Text: heed.Text + ".", Since: heed.Since, Person: "Tom"},
		"a warning": {ID: journaltest.ID(3), Rule: "step_order", Callout: heed.Callout, At: heed.At, Text: heed.Text, Since: heed.Since, Person: "Tom"},
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
	if _, _, err := f.Heed(t.Context(), "MW-1041", wire.Heed{ID: journaltest.ID(7), Rule: heed.Rule, Callout: heed.Callout, At: heed.At, Text: heed.Text, Since: heed.Since, Person: "Tom"}); !errors.Is(err, floor.ErrNoStop) {
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

// Who answers a stop has seen its words: while it says something else the answer is refused, and once it
// does nobody's name stands with it. The words may count, and count others in the same number.
func TestAnAnswerIsOfTheWordsThatWereSeen(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, "stage one seated")
	say(t, s, 2, "cover on")
	seen := stopOf(t, f, 3, "Tom")
	say(t, s, 4, "valve fitted")
	var refused *floor.RefusalError
	_, _, err := f.Heed(t.Context(), "MW-1041", seen)
	now := stopOf(t, f, 5, "Tom")
	if !errors.Is(err, floor.ErrNoStop) || !errors.As(err, &refused) || !strings.Contains(refused.Wrong, now.Text) {
		t.Errorf("an answer to what it said before: %v", err)
	}
	if now.Text == seen.Text || now.Since != 4 {
		t.Errorf("it says %q since %d", now.Text, now.Since)
	}
	for n, note := range []string{"stage two seated", "stage two not seated, stage three seated"} {
		heed := stopOf(t, f, 10+n, "Tom")
		if _, known, err := f.Heed(t.Context(), "MW-1041", heed); known || err != nil {
			t.Fatal(known, err)
		}
		for what, f := range map[string]*floor.Floor{"answered": f, "after a restart": floorOn(t, d)} {
			if h := shown(t, f).Stops[0].Heeded; h == nil || h.Person != "Tom" {
				t.Errorf("%s it stands as %+v", what, shown(t, f).Stops)
			}
		}
		a := say(t, s, 20+n, note)
		for what, f := range map[string]*floor.Floor{"changed": f, "after a restart": floorOn(t, d)} {
			if stop := shown(t, f).Stops[0]; stop.Heeded != nil || stop.Since != a.Seq || (stop.Text == heed.Text) != (n == 1) {
				t.Errorf("after %q, %s, it stands as %+v", note, what, stop)
			}
		}
	}
}

// A journal in which an answer names the note that first raised the stop, in whatever words, is read by
// the words that the answer holds.
func TestAnAnswerOfBefore(t *testing.T) {
	for text, answered := range map[string]bool{"as it stands": true, "Stop: cover on with checks open: valve fitted": false} {
		d := newDisk()
		f := floorOn(t, d)
		openDemo(t, f, "MW-1041")
		s := sit(t, f, "MW-1041", "bench 1", "Ines")
		say(t, s, 1, "cover on")
		raised := stopOf(t, f, 2, "Tom")
		say(t, s, 3, "valve fitted")
		s.Leave()
		finding := shown(t, f).Stops[0].Finding
		if answered {
			text = finding.Text
		}
		finding.Text = text
		body, err := json.Marshal(map[string]any{"finding": finding})
		if err != nil {
			t.Fatal(err)
		}
		e := journaltest.Heeding("MW-1041", 4, raised.Since)
		e.Seq, e.Person, e.Answer = 0, "Tom", body
		if _, err := d.Append(t.Context(), []journal.Entry{e}); err != nil {
			t.Fatal(err)
		}
		if stop := shown(t, floorOn(t, d)).Stops[0]; (stop.Heeded != nil) != answered || stop.Since == raised.Since {
			t.Errorf("answered as %q it stands as %+v", text, stop)
		}
	}
}

// Two stops of one rule at one place are answered each for itself.
func TestTwoStopsAtOnePlace(t *testing.T) {
	src, err := testdata.Files.ReadFile("specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(src), "\nrules:\n", "\nrules:\n  - {rule: hold_point, past: cover_on, needs: [seat_clean]}\n", 1)
	d := newDisk()
	f := floorWith(t, d, fstest.MapFS{"mr5.yaml": {Data: []byte(text)}})
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, "cover on")
	stops := shown(t, f).Stops
	if len(stops) != 2 || stops[0].Text == stops[1].Text {
		t.Fatalf("the stops are %+v", stops)
	}
	one := stops[1]
	heed := wire.Heed{ID: journaltest.ID(2), Rule: one.Rule, Callout: one.Callout, At: one.At, Text: one.Text, Since: one.Since, Person: "Tom"}
	if _, known, err := f.Heed(t.Context(), "MW-1041", heed); known || err != nil {
		t.Fatal(known, err)
	}
	for what, f := range map[string]*floor.Floor{"answered": f, "after a restart": floorOn(t, d)} {
		for _, stop := range shown(t, f).Stops {
			if (stop.Heeded != nil) != (stop.Text == one.Text) {
				t.Errorf("%s: %q has the answer %+v", what, stop.Text, stop.Heeded)
			}
		}
	}
}

// A wall that looks at many jobs leaves those in memory that are worked on, and none of its own; it shows
// the same of a job that is there and of one that is not.
func TestAWallPushesNoJobOut(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	var ids []string
	for n := range 70 {
		ids = append(ids, fmt.Sprintf("MW-%d", 1041+n))
		openDemo(t, f, ids[n])
	}
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	say(t, s, 1, "cut impeller stage one")
	say(t, s, 2, "shaft runout 0.08 mm")
	if _, known, err := f.Heed(t.Context(), "MW-1041", stopOf(t, f, 3, "Tom")); known || err != nil {
		t.Fatal(known, err)
	}
	s.Leave()
	again := floorOn(t, d)
	apart, err := again.Bench(t.Context(), "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	shown(t, again) // now it is in memory
	before := d.readsOf("MW-1041")
	held, err := again.Bench(t.Context(), "MW-1041")
	if err != nil || d.readsOf("MW-1041") != before {
		t.Errorf("a job in memory was read %d times, error %v", d.readsOf("MW-1041")-before, err)
	}
	if diff := cmp.Diff(asJSON(t, held), asJSON(t, apart)); diff != "" {
		t.Errorf("the bench (-in memory +apart):\n%s", diff)
	}
	for _, id := range ids[1:] {
		if _, err := again.Bench(t.Context(), id); err != nil {
			t.Fatal(err)
		}
	}
	shown(t, again)
	if n := d.readsOf("MW-1041") - before; n != 0 {
		t.Errorf("after a look at all jobs the one in memory was read %d times", n)
	}
	if _, err := again.Bench(t.Context(), "MW-9999"); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a job that there is not: %v", err)
	}
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	text, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
