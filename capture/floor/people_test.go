package floor_test

import (
	"errors"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/rules"
)

// TestPeople: the shop knows who said notes on any of its jobs; a name in other capitals is the same person's,
// as it was written last.
func TestPeople(t *testing.T) {
	f := floorOn(t, newDisk())
	if people, err := f.People(t.Context()); err != nil || people != nil {
		t.Errorf("at first it knows %q, error %v", people, err)
	}
	openDemo(t, f, "MW-1041")
	openDemo(t, f, "MW-1042")
	for n, by := range [][2]string{{"MW-1041", "martin hale"}, {"MW-1042", "Ruth"}, {"MW-1042", ""}, {"MW-1041", "Martin Hale"}} {
		seat := sit(t, f, by[0], "", by[1])
		say(t, seat, n+10, "seat clean")
		people, err := seat.People(t.Context())
		if err != nil || (by[1] != "") != slices.Contains(people, by[1]) {
			t.Errorf("at the bench it knows %q, error %v", people, err)
		}
		seat.Leave()
	}
	people, err := f.People(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"Martin Hale", "Ruth"}, people); diff != "" {
		t.Errorf("it knows (-want +got):\n%s", diff)
	}
	if err := f.Job(t.Context(), "MW-9999", func(*rules.Job) error { return nil }); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("an unknown job gives %v", err)
	}
}
