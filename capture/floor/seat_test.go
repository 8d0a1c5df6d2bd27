package floor_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
)

// What "same again" and "scratch that" refer to belongs to a bench and its person.
func TestContextBelongsToABenchAndItsPerson(t *testing.T) {
	type turn struct{ bench, person, text, want string }
	for _, tt := range []struct {
		name  string
		turns []turn
	}{
		{"another bench's last is not repeated", []turn{
			{"bench 1", "Ines", nutOne, "collar_nut_torque map[stage:1] 48 N.m in"},
			{"bench 2", "Tom", "shaft runout 0.03 mm", "shaft_runout map[] 0.03 mm in"},
			{"bench 1", "Ines", "stage two same again", "collar_nut_torque map[stage:2] 48 N.m in"},
		}},
		{"another bench has nothing to repeat", []turn{
			{"bench 1", "Ines", nutOne, "collar_nut_torque map[stage:1] 48 N.m in"},
			{"bench 2", "Tom", "stage two same again", "ask"},
		}},
		{"nor has another person at the bench", []turn{
			{"bench 1", "Ines", nutOne, "collar_nut_torque map[stage:1] 48 N.m in"},
			{"bench 1", "Tom", "stage two same again", "ask"},
		}},
		{"the same person has, after others spoke", []turn{
			{"bench 1", "Ines", nutOne, "collar_nut_torque map[stage:1] 48 N.m in"},
			{"bench 1", "Tom", "shaft runout 0.03 mm", "shaft_runout map[] 0.03 mm in"},
			{"bench 2", "Ines", "shaft runout 0.04 mm", "shaft_runout map[] 0.04 mm in"},
			{"bench 1", "Ines", "stage two same again", "collar_nut_torque map[stage:2] 48 N.m in"},
		}},
		{"who handed the bench over has nothing to repeat, nor has who came", []turn{
			{"bench 1", "Ines", nutOne, "collar_nut_torque map[stage:1] 48 N.m in"},
			{"bench 1", "Ines", "handing over to Tom", ""},
			{"bench 1", "Tom", "stage two same again", "ask"},
			{"bench 1", "Ines", "stage two same again", "ask"},
		}},
		{"an ask waits for the one who was asked", []turn{
			{"bench 1", "Ines", "stage two, thirty five", "collar_nut_torque map[stage:2] 35 1 unclear; ask"},
			{"bench 2", "Tom", "foot pounds", ""},
			{"bench 1", "Ines", "foot pounds", "collar_nut_torque map[stage:2] 35 [ft_i].[lbf_av] in"},
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDisk()
			f := floorOn(t, d)
			openDemo(t, f, "MW-1041")
			for n, turn := range tt.turns {
				s := sit(t, f, "MW-1041", turn.bench, turn.person)
				if got := brief(t, say(t, s, n, turn.text)); got != turn.want {
					t.Errorf("%s at %s said %q and got %q, want %q", turn.person, turn.bench, turn.text, got, turn.want)
				}
				s.Leave()
			}
		})
	}
}

func TestScratchThatTakesBackOnesOwn(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	ines, tom := sit(t, f, "MW-1041", "bench 1", "Ines"), sit(t, f, "MW-1041", "bench 2", "Tom")
	say(t, ines, 1, nutOne)
	say(t, tom, 2, "shaft runout 0.03 mm")
	say(t, ines, 3, "scratch that")
	var standing []string
	s, err := f.State(t.Context(), "MW-1041")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range s.Callouts {
		for _, p := range c.Places {
			if p.Reading != nil {
				standing = append(standing, p.Where+" "+p.Reading.Value)
			}
		}
	}
	if diff := cmp.Diff([]string{"shaft runout 0.03"}, standing); diff != "" {
		t.Errorf("what stands (-want +got):\n%s", diff)
	}
}

// Benches without a name go on where the last one did while there is one at a time, and
// are kept apart from then on.
func TestUnnamedBenches(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	bench := func(s *floor.Seat, n int) string {
		say(t, s, n, "seat clean")
		entries, err := d.Store.Entries(t.Context(), "MW-1041", 0, 1000)
		if err != nil {
			t.Fatal(err)
		}
		last := entries[len(entries)-1]
		if last.Person != journal.NotStated {
			t.Errorf("the person of note %d is %q, want %q", n, last.Person, journal.NotStated)
		}
		return last.Bench
	}
	first := sit(t, f, "MW-1041", "", "")
	got := []string{bench(first, 1)}
	first.Leave()
	back := sit(t, f, "MW-1041", "", "")
	got = append(got, bench(back, 2))
	second := sit(t, f, "MW-1041", "", "")
	got = append(got, bench(second, 3))
	back.Leave()
	second.Leave()
	third := sit(t, floorOn(t, d), "MW-1041", "", "") // after a restart it is known that there were two
	got = append(got, bench(third, 4))
	if diff := cmp.Diff([]string{"", "", "unnamed bench 2", "unnamed bench 3"}, got); diff != "" {
		t.Errorf("benches (-want +got):\n%s", diff)
	}
}

func TestOthersAreTold(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	openDemo(t, f, "MW-1042")
	told := map[string][]string{}
	at := func(job, bench string) (*floor.Seat, int64) {
		s, since, err := f.Sit(t.Context(), job, floor.Speaker{Bench: bench}, func(e []byte) { told[bench] = append(told[bench], string(e)) })
		if err != nil {
			t.Fatal(err)
		}
		return s, since
	}
	one, since := at("MW-1041", "bench 1")
	if since != 1 {
		t.Errorf("bench 1 joined after seq %d, want 1", since)
	}
	two, _ := at("MW-1041", "bench 2")
	at("MW-1042", "bench 3")
	say(t, one, 1, nutOne)
	say(t, one, 1, nutOne) // a resend is no news
	two.Leave()
	say(t, one, 2, "seat clean")
	if len(told["bench 1"]) != 0 || len(told["bench 2"]) != 1 || len(told["bench 3"]) != 0 {
		t.Fatalf("told: %v", told)
	}
	if !strings.Contains(told["bench 2"][0], `"seq":2,"entry":"note"`) || !strings.Contains(told["bench 2"][0], `"bench":"bench 1"`) {
		t.Errorf("bench 2 was told %s", told["bench 2"][0])
	}
	if _, _, err := f.Sit(t.Context(), "MW-9999", floor.Speaker{}, nil); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a seat at no job: %v, want ErrNotFound", err)
	}
}

func TestPast(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "")
	for n := 1; n <= 5; n++ {
		say(t, s, n, "seat clean")
	}
	for _, tt := range []struct {
		name        string
		after, upTo int64
		n           int
		last        int64
	}{
		{"all, with the opening", 0, 6, 6, 6},
		{"what came while it joined is left to be told", 2, 4, 2, 4},
		{"nothing is left", 6, 6, 0, 0},
		{"a seq that is not there yet", 99, 6, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			messages, last, err := s.Past(t.Context(), tt.after, tt.upTo)
			if err != nil || len(messages) != tt.n || last != tt.last {
				t.Errorf("%d messages up to %d, error %v; want %d up to %d", len(messages), last, err, tt.n, tt.last)
			}
		})
	}
}
