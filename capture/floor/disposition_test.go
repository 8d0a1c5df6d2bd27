package floor_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
	"readback/rules"
)

// nutOut is out of its limits.
const nutOut = "collar nut stage one fifty one newton metres"

// decision is one of the first finding of the job that takes any, as a page sends it.
func decision(t testing.TB, f *floor.Floor, n int, is rules.Disposition) wire.Dispose {
	t.Helper()
	s, err := f.State(t.Context(), "MW-1041")
	if err != nil || len(s.Decidable) == 0 {
		t.Fatalf("nothing takes a disposition: %v", err)
	}
	of := s.Decidable[0]
	return wire.Dispose{ID: journaltest.ID(n), Finding: of.ID(), Reading: of.Reading, Is: string(is), Reason: "The designer was asked.", Person: "Martin Hale"}
}

func dispose(t testing.TB, f *floor.Floor, d wire.Dispose) wire.Entry {
	t.Helper()
	e, known, err := f.Dispose(t.Context(), "MW-1041", d)
	if err != nil || known {
		t.Fatalf("known %t, error %v", known, err)
	}
	return e
}

// What is decided stands in the record and in the state, also after a start, and other benches are told.
func TestDisposition(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	var told []string
	s, _, err := f.Sit(t.Context(), "MW-1041", floor.Speaker{Bench: "bench 1", Person: "Ines"}, func(m []byte) { told = append(told, string(m)) })
	if err != nil {
		t.Fatal(err)
	}
	defer s.Leave()
	say(t, s, 1, nutOut)
	first := decision(t, f, 2, rules.Rework)
	if e := dispose(t, f, first); e.Seq != 3 || e.Person != "Martin Hale" || e.Disposition == nil || e.Disposition.Reading != 2 {
		t.Errorf("the entry is %+v", e)
	}
	if len(told) != 1 || !strings.Contains(told[0], `"entry":"disposition"`) || !strings.Contains(told[0], `"is":"rework","reason":"The designer was asked."`) {
		t.Errorf("the bench is told %q", told)
	}
	if e, known, err := f.Dispose(t.Context(), "MW-1041", first); err != nil || !known || e.Seq != 3 {
		t.Errorf("sent again: known %t, seq %d, error %v", known, e.Seq, err)
	}
	dispose(t, f, decision(t, f, 3, rules.UseAsIs))
	for name, f := range map[string]*floor.Floor{"live": f, "after a start": floorOn(t, d)} {
		s := shown(t, f)
		if len(s.Findings) != 0 || s.Open != 0 {
			t.Errorf("%s: open are %+v", name, s.Findings)
		}
		if len(s.Dispositions) != 2 || s.Dispositions[0].State != rules.Replaced || s.Dispositions[0].By != 4 || s.Dispositions[1].State != rules.Stands ||
			s.Dispositions[1].Person != "Martin Hale" || s.Dispositions[1].Where != "collar nut one" || s.Dispositions[1].Reading != 2 {
			t.Errorf("%s: dispositions are %+v", name, s.Dispositions)
		}
		if len(s.Decidable) != 1 || s.Decidable[0].Decided != 4 || s.Decidable[0].Holds || s.Decidable[0].Due != "" {
			t.Errorf("%s: what can be decided is %+v", name, s.Decidable)
		}
		text, err := json.Marshal(s)
		if err != nil || !strings.Contains(string(text), `"verdict":"out"},"owed":false,"disposition":"use as is"}`) {
			t.Errorf("%s: the reading is not shown as used as it is: %v", name, err)
		}
	}
}

// What is decided at a seat is of the worst that is out, under the name of who sits there.
func TestDispositionAtASeat(t *testing.T) {
	f := floorOn(t, newDisk())
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	if _, _, ok, err := s.ToDecide(t.Context(), rules.UseAsIs); ok || err != nil {
		t.Errorf("before anything is out: %t, %v", ok, err)
	}
	say(t, s, 1, nutOut)
	of, aloud, ok, err := s.ToDecide(t.Context(), rules.UseAsIs)
	if err != nil || !ok || of.Reading != 2 || of.Callout != "collar_nut_torque" || !strings.HasPrefix(aloud, "Collar nut one, fifty-one newton metres, out. ") {
		t.Fatalf("%+v, %q, %t, %v", of, aloud, ok, err)
	}
	nobody := sit(t, f, "MW-1041", "bench 2", "")
	defer nobody.Leave()
	if _, _, _, err := nobody.ToDecide(t.Context(), rules.UseAsIs); !errors.Is(err, floor.ErrUnnamed) {
		t.Errorf("without a name: %v", err)
	}
	dispose(t, f, decision(t, f, 3, rules.Scrap)) // on the sheet, meanwhile
	if err := s.Dispose(t.Context(), of, rules.UseAsIs, "too late"); !errors.Is(err, floor.ErrAnew) {
		t.Errorf("of what was decided meanwhile: %v", err)
	}
	if of, _, ok, err = s.ToDecide(t.Context(), rules.UseAsIs); err != nil || !ok || of.Decided != 3 {
		t.Fatalf("decided to be scrapped: %+v, %t, %v", of, ok, err)
	}
	if err := s.Dispose(t.Context(), of, rules.UseAsIs, "as said in number 3: accepted"); err != nil {
		t.Fatal(err)
	}
	got := shown(t, f).Dispositions[1:]
	if len(got) != 1 || got[0].Person != "Ines" || got[0].Bench != "bench 1" || got[0].Is != rules.UseAsIs || got[0].Reason != "as said in number 3: accepted" || got[0].Reading != 2 {
		t.Errorf("the record has %+v", got)
	}
	if _, _, ok, err := s.ToDecide(t.Context(), rules.UseAsIs); ok || err != nil {
		t.Errorf("once it is settled: %t, %v", ok, err)
	}
	say(t, s, 4, "collar nut stage one fifty two newton metres")
	if err := s.Dispose(t.Context(), of, rules.UseAsIs, "once more"); !errors.Is(err, floor.ErrAnew) {
		t.Errorf("of what was measured anew: %v", err)
	}
}

func TestDispositionIsRefused(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, nutOut)
	stale := decision(t, f, 2, rules.UseAsIs)
	again := stale
	say(t, s, 3, "collar nut stage one fifty two newton metres")
	other := decision(t, f, 2, rules.UseAsIs)
	other.Finding.Callout = "shaft_runout"
	taken := decision(t, f, 1, rules.UseAsIs)
	for name, x := range map[string]struct {
		d    wire.Dispose
		why  error
		says string
	}{
		"of a value that was measured anew": {stale, floor.ErrAnew, "Collar nut one: 52 N·m"},
		"of nothing that is open":           {other, floor.ErrNoFinding, "no such finding"},
		"with the id of a note":             {taken, floor.ErrID, "no disposition"},
	} {
		_, _, err := f.Dispose(t.Context(), "MW-1041", x.d)
		if wrong, do := floor.Explain(err); !errors.Is(err, x.why) || !strings.Contains(wrong, x.says) || do == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	say(t, s, 4, nutOut) // the same words, of another reading
	if _, _, err := f.Dispose(t.Context(), "MW-1041", again); !errors.Is(err, floor.ErrAnew) {
		t.Errorf("given for the note before: %v", err)
	}
	say(t, s, 5, "collar nut stage one forty eight newton metres")
	say(t, s, 6, "impeller stage one cut")
	part := decision(t, f, 7, rules.UseAsIs)
	for _, one := range shown(t, f).Decidable {
		if one.Rule == rules.RuleStackOrder {
			part.Finding, part.Reading = one.ID(), one.Reading
		}
	}
	if _, _, err := f.Dispose(t.Context(), "MW-1041", part); !errors.Is(err, floor.ErrNotTaken) {
		t.Errorf("a wrong part used as it is: %v", err)
	}
	if _, _, err := f.Dispose(t.Context(), "MW-9", stale); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("on a job that is not: %v", err)
	}
	if n := len(shown(t, f).Dispositions); n != 0 {
		t.Errorf("%d were kept", n)
	}
	d.failWith(journal.ErrFull)
	part.Is = string(rules.Scrap)
	if _, _, err := f.Dispose(t.Context(), "MW-1041", part); !errors.Is(err, journal.ErrFull) {
		t.Errorf("on a full disk: %v", err)
	}
	d.failWith(nil)
	if n := len(shown(t, f).Dispositions); n != 0 {
		t.Errorf("%d stand that were not kept", n)
	}
}

// A live job is not handed over with something out and unsettled; one that was, before this was known,
// stays so.
func TestALiveJobIsNotHandedOverUnsettled(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, nutOut)
	if text := spokenOf(t, say(t, s, 2, "handed over")); !strings.HasPrefix(text, "Stop: not handed over. One finding is open: Collar nut one, fifty-one newton metres, out.") {
		t.Errorf("it is answered %q", text)
	}
	if shown(t, f).Over != nil || shown(t, floorOn(t, d)).Over != nil {
		t.Fatal("it was handed over")
	}
	dispose(t, f, decision(t, f, 3, rules.Rework))
	if text := spokenOf(t, say(t, s, 4, "handed over")); !strings.Contains(text, "To be reworked and taken again.") {
		t.Errorf("with rework to be done it is answered %q", text)
	}
	dispose(t, f, decision(t, f, 5, rules.UseAsIs))
	say(t, s, 6, "handed over")
	for name, f := range map[string]*floor.Floor{"live": f, "after a start": floorOn(t, d)} {
		if over := shown(t, f).Over; over == nil || over.Person != "Ines" {
			t.Errorf("%s: used as it is, it stands so: %+v", name, over)
		}
	}

	entries, err := d.Store.Entries(t.Context(), "MW-1041", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	old := newDisk()
	for i := range entries[:3] { // as it was kept before there were dispositions
		e := entries[i]
		if e.Utterance != nil {
			e.Utterance.Guarded = false
		}
		if r, err := old.Append(t.Context(), []journal.Entry{e}); err != nil || r[0].Err != nil {
			t.Fatal(err, r)
		}
	}
	if over := shown(t, floorOn(t, old)).Over; over == nil || len(over.Findings) == 0 {
		t.Errorf("an old record stands so: %+v", over)
	}
}

// TestAnyDecisionsFoldToTheJournal: whatever is said and decided, through restarts and full disks, the
// state is what the journal folds to.
func TestAnyDecisionsFoldToTheJournal(t *testing.T) {
	notes := []string{
		nutOut, nutOne, "shaft runout 0.08 mm", "shaft runout 0.03 mm", "impeller stage one cut", "impeller stage one full",
		"end play down 85 up 82 mm", "end play up 83.5 mm", "scratch that", "handed over", "correction forty seven",
	}
	rapid.Check(t, func(rt *rapid.T) {
		d := newDisk()
		f := floorOn(t, d)
		openDemo(t, f, "MW-1041")
		s := sit(t, f, "MW-1041", "bench 1", "Ines")
		for n := range rapid.IntRange(1, 25).Draw(rt, "turns") {
			all := shown(t, f).Decidable
			switch turn := rapid.SampledFrom([]string{"note", "decide", "decide", "full disk", "restart"}).Draw(rt, "turn"); {
			case turn == "restart":
				f = floorOn(t, d)
				s = sit(t, f, "MW-1041", "bench 1", "Ines")
			case turn == "note" || len(all) == 0:
				say(t, s, n+1, rapid.SampledFrom(notes).Draw(rt, "note"))
			default:
				of := rapid.SampledFrom(all).Draw(rt, "finding")
				one := wire.Dispose{
					ID: journaltest.ID(n + 1), Finding: of.ID(), Reading: of.Reading, Reason: "So.", Person: "Martin Hale",
					Is: string(rapid.SampledFrom(of.Takes).Draw(rt, "is")),
				}
				if turn == "full disk" {
					d.failWith(journal.ErrFull)
				}
				_, _, err := f.Dispose(t.Context(), "MW-1041", one)
				d.failWith(nil)
				if errors.Is(err, journal.ErrFull) != (turn == "full disk") || turn == "decide" && err != nil {
					rt.Fatalf("%s of %q: %v", turn, of.Text, err)
				}
			}
			if live, again := stateOf(t, f, "MW-1041"), stateOf(t, floorOn(t, d), "MW-1041"); live != again {
				rt.Fatalf("live:\n%s\nfolded again:\n%s", live, again)
			}
		}
	})
}
