package floor_test

import (
	"errors"
	"strings"
	"sync"
	"testing"
	"testing/synctest"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

const nutOne = "collar nut stage one forty eight newton metres"

func TestAnswerComesAfterTheCommit(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDisk()
		f := floorOn(t, d)
		openDemo(t, f, "MW-1041")
		told := make(chan string, 1)
		other, _, err := f.Sit(t.Context(), "MW-1041", floor.Speaker{Bench: "bench 2"}, func(e []byte) { told <- string(e) })
		if err != nil {
			t.Fatal(err)
		}
		defer other.Leave()
		d.gate = make(chan struct{})
		answered := make(chan wire.Answer, 1)
		go func() { answered <- say(t, sit(t, f, "MW-1041", "bench 1", "Ines"), 1, nutOne) }()
		synctest.Wait() // the commit waits
		select {
		case a := <-answered:
			t.Fatalf("answered before the commit: %+v", a)
		case e := <-told:
			t.Fatalf("told another bench before the commit: %s", e)
		default:
		}
		close(d.gate)
		if a := <-answered; a.Seq != 2 || a.ID != journaltest.ID(1) {
			t.Errorf("answered %+v, want seq 2 and the note's id", a)
		}
		if e := <-told; !strings.Contains(e, nutOne) {
			t.Errorf("the other bench was told %s", e)
		}
	})
}

func TestFailedCommitLeavesNoTrace(t *testing.T) {
	for _, tt := range []struct {
		name  string
		cause error
		say   string
	}{
		{"a full disk", journal.ErrFull, "the disk is full and nothing was kept"},
		{"a disk that cannot be written", journal.ErrReadOnly, "cannot be written and nothing was kept"},
		{"a server that stops", journal.ErrClosed, "the server is stopping and nothing was kept"},
		{"any other trouble", errors.New("the disk burns"), "this failed here and nothing was kept"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDisk()
			f := floorOn(t, d)
			openDemo(t, f, "MW-1041")
			s := sit(t, f, "MW-1041", "bench 1", "Ines")
			defer s.Leave()
			told := 0
			other, _, err := f.Sit(t.Context(), "MW-1041", floor.Speaker{}, func([]byte) { told++ })
			if err != nil {
				t.Fatal(err)
			}
			defer other.Leave()
			say(t, s, 1, nutOne)
			before := stateOf(t, f, "MW-1041")
			d.failWith(tt.cause)
			a, err := s.Say(t.Context(), wire.Note{ID: journaltest.ID(2), Text: "collar nut stage two fifty one newton metres"})
			if !errors.Is(err, tt.cause) || a.ID != "" || a.Body != nil {
				t.Fatalf("answered %+v, error %v, want %v", a, err, tt.cause)
			}
			if wrong, do := floor.Explain(err); !strings.Contains(wrong, tt.say) || do == "" {
				t.Errorf("explained as %q, %q; want %q", wrong, do, tt.say)
			}
			if diff := cmp.Diff(before, stateOf(t, f, "MW-1041")); diff != "" {
				t.Errorf("what was not kept shows in the state (-want +got):\n%s", diff)
			}
			d.failWith(nil)
			if told != 1 {
				t.Errorf("the other bench was told %d times, want once", told)
			}
			// "same again" refers to what was kept, and the id is free.
			if got := brief(t, say(t, s, 2, "stage two same again")); got != "collar_nut_torque map[stage:2] 48 N.m in" {
				t.Errorf("afterwards the bench got %q", got)
			}
		})
	}
}

func TestSameIDGetsTheFirstAnswer(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	first := say(t, s, 1, nutOne)
	say(t, s, 2, "collar nut stage two forty eight newton metres")
	before := stateOf(t, f, "MW-1041")
	for _, tt := range []struct {
		name string
		on   *floor.Floor
		who  string
		text string
	}{
		{"the same text", f, "bench 1", nutOne},
		{"another text", f, "bench 1", "collar nut stage one thirty newton metres"},
		{"from another bench", f, "bench 2", nutOne},
		{"after a restart", floorOn(t, d), "bench 1", "scratch that"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			again := sit(t, tt.on, "MW-1041", tt.who, "Ines")
			defer again.Leave()
			if diff := cmp.Diff(first, say(t, again, 1, tt.text)); diff != "" {
				t.Errorf("the answer changed (-first +now):\n%s", diff)
			}
			if diff := cmp.Diff(before, stateOf(t, tt.on, "MW-1041")); diff != "" {
				t.Errorf("the state changed (-before +now):\n%s", diff)
			}
		})
	}
}

func TestIDThatIsNoNotesIsRefused(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	openDemo(t, f, "MW-1042")
	first, second := sit(t, f, "MW-1041", "", ""), sit(t, f, "MW-1042", "", "")
	say(t, first, 1, nutOne)
	opening, err := d.Store.Entries(t.Context(), "MW-1042", 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	before := stateOf(t, f, "MW-1042")
	for _, tt := range []struct {
		name, id, say string
		cause         error
	}{
		{"a note of another job", journaltest.ID(1), "used on another job", journal.ErrOtherJob},
		{"the entry that opened this job", opening[0].ID, "an entry which is no note", floor.ErrID},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := second.Say(t.Context(), wire.Note{ID: tt.id, Text: nutOne})
			if wrong, do := floor.Explain(err); !errors.Is(err, tt.cause) || !strings.Contains(wrong, tt.say) || do == "" {
				t.Errorf("%v, explained as %q, %q", err, wrong, do)
			}
			if diff := cmp.Diff(before, stateOf(t, f, "MW-1042")); diff != "" {
				t.Errorf("the state changed (-before +now):\n%s", diff)
			}
		})
	}
}

// Two servers on one journal: each finds the seq taken again and again, and folds what the
// other has entered before it tries once more.
func TestTwoFloorsOnOneJournal(t *testing.T) {
	d := newDisk()
	floors := []*floor.Floor{floorOn(t, d), floorOn(t, d)}
	openDemo(t, floors[0], "MW-1041")
	if _, opened, err := floors[1].OpenJob(t.Context(), wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: demoOptions}); err != nil || opened {
		t.Fatalf("the other floor opened it %t, error %v", opened, err)
	}
	const each = 40
	notes := []string{"rod %d", nutOne, "same again", "scratch that", "collar nut stage two forty seven newton metres"}
	var wait sync.WaitGroup
	for i, f := range floors {
		s := sit(t, f, "MW-1041", []string{"bench 1", "bench 2"}[i], "")
		wait.Go(func() {
			for n := range each {
				if _, err := s.Say(t.Context(), wire.Note{ID: journaltest.ID(i*each + n), Text: notes[n%len(notes)]}); err != nil {
					t.Errorf("floor %d, note %d: %v", i, n, err)
				}
			}
		})
	}
	wait.Wait()
	for i, f := range floors { // a note more makes each see all
		say(t, sit(t, f, "MW-1041", "bench 3", ""), 900+i, "seat clean")
	}
	want := stateOf(t, floorOn(t, d), "MW-1041")
	entries, err := d.Store.Entries(t.Context(), "MW-1041", 0, 1000)
	if err != nil || len(entries) != 1+2*each+2 {
		t.Fatalf("%d entries, error %v", len(entries), err)
	}
	if diff := cmp.Diff(want, stateOf(t, floors[1], "MW-1041")); diff != "" {
		t.Errorf("the state is not what the journal folds to (-journal +floor):\n%s", diff)
	}
}
