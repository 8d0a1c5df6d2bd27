package floor_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
)

// What no longer stands is told with the note that ended it, and what stands with the note that made it.
func TestToldIsWhatEndedAndWhatStands(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	for i, note := range []string{
		"collar nut stage one forty eight newton metres", // 2
		"collar nut stage one forty nine newton metres",  // 3
		"scratch that",  // 4
		"seat is clean", // 5
		"pass one all four rods eight newton metres",     // 6
		"rod two loosened to seat the cable",             // 7
		"collar nut stage two fifty one newton metres",   // 8
		"pass one rod one eight point one newton metres", // 9
	} {
		say(t, s, i+1, note)
	}
	s.Leave()
	told := tell(t, f, d)
	var ended []string
	for _, e := range told.Ended {
		ended = append(ended, fmt.Sprintf("%s of %d: %s by %d", e.Where, e.Of, e.How, e.By))
	}
	want := []string{
		"collar nut one of 2: superseded by 3", "collar nut one of 3: taken back by 4",
		"tie rod one, pass one of 6: void by 7", "tie rod two, pass one of 6: void by 7", "tie rod three, pass one of 6: void by 7", "tie rod four, pass one of 6: void by 7",
	}
	slices.Sort(ended)
	slices.Sort(want)
	if diff := cmp.Diff(want, ended); diff != "" {
		t.Errorf("ended (-want +got):\n%s", diff)
	}
	var made []string
	for at, seq := range told.Made {
		made = append(made, fmt.Sprintf("%s by %d", told.Where(at), seq))
	}
	slices.Sort(made)
	if diff := cmp.Diff([]string{"collar nut two by 8", "rod two rods loosened by 7", "seat clean by 5", "tie rod one, pass one by 9"}, made); diff != "" {
		t.Errorf("stands (-want +got):\n%s", diff)
	}
	history, err := f.History(t.Context(), "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range told.Happened {
		if fmt.Sprint(h.Opened, h.Closed) != fmt.Sprint(history[i].Opened, history[i].Closed) {
			t.Errorf("entry %d opened and closed %v %v, and the history says %v %v", h.Seq, h.Opened, h.Closed, history[i].Opened, history[i].Closed)
		}
	}
}

// Two people at one job are asked at a time: the question of one is not taken for that of the other.
func TestEachQuestionIsToldByItself(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	ines, ruth := sit(t, f, "MW-1041", "bench 1", "Ines"), sit(t, f, "MW-1041", "bench 2", "Ruth")
	say(t, ines, 1, "forty eight")          // 2
	say(t, ruth, 2, "thirty five")          // 3
	say(t, ines, 3, "collar nut stage one") // 4: a value with its place ends what had none
	ines.Leave()
	ruth.Leave()
	told := tell(t, f, d)
	for i, want := range []struct{ opened, closed int }{{0, 0}, {1, 0}, {1, 0}, {0, 2}} {
		if h := told.Happened[i]; len(h.Opened) != want.opened || len(h.Closed) != want.closed {
			t.Errorf("entry %d opened %v and closed %v", h.Seq, h.Opened, h.Closed)
		}
	}
}

// A job is not folded on for somebody who has left.
func TestNothingIsToldToWhoHasLeft(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	entries, err := d.Entries(t.Context(), "MW-1041", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	ctx, leave := context.WithCancel(t.Context())
	leave()
	if _, err := f.Tell(ctx, entries); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestNothingAndWhatOpensNothingIsNotTold(t *testing.T) {
	f := floorOn(t, newDisk())
	if _, err := f.Tell(t.Context(), nil); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("of no entries: %v", err)
	}
	if _, err := f.Tell(t.Context(), []journal.Entry{{Job: "MW-1041", Seq: 1, Kind: journal.Note}}); !errors.Is(err, floor.ErrBroken) {
		t.Errorf("of a note that no opening precedes: %v", err)
	}
}

// tell folds the entries of MW-1041 as its journal has them.
func tell(t *testing.T, f *floor.Floor, d *disk) floor.Told {
	t.Helper()
	entries, err := d.Entries(t.Context(), "MW-1041", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	told, err := f.Tell(t.Context(), entries)
	if err != nil {
		t.Fatal(err)
	}
	return told
}
