package floor_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// sayings are what lives of context, and what it refers to.
var sayings = []string{
	nutOne, "stage two same again", "same again", "scratch that", "stage three, thirty five", "foot pounds",
	"correction forty seven", "collar nut stage four fifty one newton metres", "make that forty eight",
	"full impeller stage one", "seat is clean", "rod one first pass eight newton metres", "rod two loosened",
	"end play down eighty two point six up eighty one point two millimetres", "read that back", "what's left",
	"on wrench seven", "gauge on collar nuts", "gauge on rods from rod two", "gauge off", "gauge back", "gauge next", "gauge: 48.0", "gauge: 47,5 Nm", "gauge: 8.1", "gauge: junk", "insulation two oh five megohms at thirty degrees", "tea is ready",
}

// shift is a day at two benches, as the property test drives it.
type shift struct {
	d     *disk
	f     *floor.Floor
	seats map[string]*floor.Seat
	kept  map[string]wire.Answer // by id, as first answered
	order []string               // ids as they were kept
	next  int
}

func (s *shift) restart(t *testing.T) {
	s.f = floorOn(t, s.d)
	s.seats = map[string]*floor.Seat{}
	for _, who := range []floor.Speaker{{Bench: "bench 1", Person: "Ines"}, {Bench: "bench 2", Person: "Tom"}} {
		s.seats[who.Bench] = sit(t, s.f, "MW-1041", who.Bench, who.Person)
	}
}

// noteOf makes a note; "gauge: 48.0" is one that a gauge sends. Each is said a second after the one before,
// so that the same number again is now asked about and now not.
func noteOf(id, text string) wire.Note {
	sent, ok := strings.CutPrefix(text, "gauge: ")
	n := wire.Note{ID: id, Text: sent}
	if ok {
		n.From = wire.FromGauge
	}
	return n
}

// note says something new, on a disk that may fail.
func (s *shift) note(t *rapid.T, bench, text string, fails bool) {
	if fails {
		s.d.failWith(journal.ErrFull)
		defer s.d.failWith(nil)
	}
	id := journaltest.ID(s.next)
	n := noteOf(id, text)
	n.At = time.Unix(1_900_000_000+int64(s.next), 0).UTC().Format(time.RFC3339)
	a, err := s.seats[bench].Say(t.Context(), n)
	if fails {
		if !errors.Is(err, journal.ErrFull) {
			t.Fatalf("%q on a full disk: %v", text, err)
		}
		return // the id is said again by the next note
	}
	if err != nil || a.ID != id || a.Seq != int64(len(s.order)+2) {
		t.Fatalf("%q got %s seq %d, error %v; want seq %d", text, a.ID, a.Seq, err, len(s.order)+2)
	}
	s.next++
	s.kept[id], s.order = a, append(s.order, id)
}

func (s *shift) resend(t *rapid.T, bench, id, text string) {
	a, err := s.seats[bench].Say(t.Context(), noteOf(id, text))
	if first := s.kept[id]; err != nil || a.Seq != first.Seq || string(a.Body) != string(first.Body) {
		t.Fatalf("%s again got seq %d %s, error %v; first seq %d %s", id, a.Seq, a.Body, err, first.Seq, first.Body)
	}
}

// TestAnyDayFoldsToItsJournal: whatever two benches say, resend and lose, through restarts and full disks: the
// state is what the journal folds to, and each note is there once, in the order of its answers.
func TestAnyDayFoldsToItsJournal(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := &shift{d: newDisk(), kept: map[string]wire.Answer{}}
		openDemo(t, floorOn(t, s.d), "MW-1041")
		s.restart(t)
		for range rapid.IntRange(1, 30).Draw(rt, "turns") {
			bench := rapid.SampledFrom([]string{"bench 1", "bench 2"}).Draw(rt, "bench")
			text := rapid.SampledFrom(sayings).Draw(rt, "text")
			switch rapid.SampledFrom([]string{"note", "note", "note", "note", "resend", "full disk", "restart"}).Draw(rt, "turn") {
			case "note":
				s.note(rt, bench, text, false)
			case "full disk":
				s.note(rt, bench, text, true)
			case "restart":
				s.restart(t)
			case "resend":
				if len(s.order) > 0 {
					s.resend(rt, bench, rapid.SampledFrom(s.order).Draw(rt, "id"), text)
				}
			}
		}
		if live, again := stateOf(t, s.f, "MW-1041"), stateOf(t, floorOn(t, s.d), "MW-1041"); live != again {
			rt.Fatalf("live:\n%s\nfolded again:\n%s", live, again)
		}
		entries, err := s.d.Store.Entries(t.Context(), "MW-1041", 1, 1000)
		if err != nil || len(entries) != len(s.order) {
			rt.Fatalf("%d entries for %d notes, error %v", len(entries), len(s.order), err)
		}
		for i, e := range entries {
			if e.ID != s.order[i] || string(e.Answer) != string(s.kept[e.ID].Body) {
				rt.Fatalf("entry %d is %s %s, answered %s %s", e.Seq, e.ID, e.Answer, s.order[i], s.kept[s.order[i]].Body)
			}
		}
		s.undisturbed(t, rt, entries)
	})
}

// undisturbed says the notes that were kept once more, on a day without failures, resends
// and restarts, and gets the same answers.
func (s *shift) undisturbed(t *testing.T, rt *rapid.T, entries []journal.Entry) {
	calm := &shift{d: newDisk()}
	openDemo(t, floorOn(t, calm.d), "MW-1041")
	calm.restart(t)
	for _, e := range entries {
		again := wire.Note{ID: e.ID, Text: e.Text, From: wire.FromOf(e), At: e.ClientAt.Time().Format(time.RFC3339Nano)}
		a, err := calm.seats[e.Bench].Say(t.Context(), again)
		if err != nil || string(a.Body) != string(e.Answer) {
			rt.Fatalf("entry %d %q was answered\n%s\nand on a calm day, error %v,\n%s", e.Seq, e.Text, e.Answer, err, a.Body)
		}
	}
	if disturbed, quiet := stateOf(t, s.f, "MW-1041"), stateOf(t, calm.f, "MW-1041"); disturbed != quiet {
		rt.Fatalf("the state:\n%s\non a calm day:\n%s", disturbed, quiet)
	}
}
