package floor_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"readback/capture/floor"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// kept is what the tests read of an answer.
type kept struct {
	Kind, Say string
	Readings  []any
	Marks     []any
	Guess     bool
	Of        int64
}

func bodyOf(t *testing.T, a wire.Answer) (k kept) {
	t.Helper()
	if err := json.Unmarshal(a.Body, &k); err != nil {
		t.Fatal(err)
	}
	return k
}

// A remark is never read, whatever its words are guessed to be, and neither is what they are put right
// to; both are kept, also over a restart.
func TestARemarkIsNeverRead(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	empty := stateOf(t, f, "MW-1041")
	spoken := floor.Spoken{Sound: strings.Repeat("a", 64), Heard: []byte(`{"guess":"offline"}`), Guess: true}
	a, sound, err := s.SayHeard(t.Context(), wire.Note{ID: journaltest.ID(1), Text: nutOne}, spoken)
	if err != nil || sound != spoken.Sound {
		t.Fatalf("sound %q, error %v", sound, err)
	}
	if k := bodyOf(t, a); !k.Guess || k.Kind != "remark" || len(k.Readings)+len(k.Marks) != 0 || k.Say != floor.GuessSay {
		t.Errorf("a remark: %+v", k)
	}
	right, err := s.Say(t.Context(), wire.Note{ID: journaltest.ID(2), Text: "seat clean, " + nutOne, Of: a.Seq})
	if err != nil {
		t.Fatal(err)
	}
	if k := bodyOf(t, right); k.Guess || k.Of != a.Seq || k.Kind != "correction" || len(k.Readings)+len(k.Marks) != 0 || !strings.Contains(k.Say, "note 2 are put right") {
		t.Errorf("put right: %+v", k)
	}
	first, err := d.ByID(t.Context(), "MW-1041", journaltest.ID(1))
	if err != nil || first.Text != nutOne || first.Sound != spoken.Sound {
		t.Errorf("the first is kept as %+v, error %v", first, err)
	}
	again := floorOn(t, d)
	for _, at := range []*floor.Floor{f, again} {
		st, err := at.State(t.Context(), "MW-1041")
		if err != nil || st.Entries != 3 || len(st.Findings) != 0 {
			t.Errorf("%d entries, findings %v, error %v", st.Entries, st.Findings, err)
		}
		for _, c := range st.Callouts {
			for _, p := range c.Places {
				if p.Reading != nil || p.Mark != "" {
					t.Errorf("%s holds %+v %q", c.ID, p.Reading, p.Mark)
				}
			}
		}
	}
	if !strings.Contains(empty, `"entries": 1`) {
		t.Errorf("before: %s", empty)
	}
	for _, seq := range []int64{2, 3} {
		if _, err := f.Explain(t.Context(), "MW-1041", seq); err == nil || !strings.Contains(err.Error(), "remark in free words") {
			t.Errorf("how note %d was read: %v", seq, err)
		}
	}
	// The next reading is one.
	if k := bodyOf(t, say(t, s, 3, nutOne)); len(k.Readings) != 1 {
		t.Errorf("a reading behind it: %+v", k)
	}
}

func TestOnlyAGuessIsPutRight(t *testing.T) {
	f := floorOn(t, newDisk())
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	defer s.Leave()
	say(t, s, 1, nutOne)
	for _, of := range []int64{1, 2, 3, 1 << 60} {
		a, err := s.Say(t.Context(), wire.Note{ID: journaltest.ID(9), Text: "it rattles", Of: of})
		if !errors.Is(err, floor.ErrNoGuess) || a.Body != nil {
			t.Errorf("of entry %d: %s, error %v", of, a.Body, err)
		}
	}
	if st, err := f.State(t.Context(), "MW-1041"); err != nil || st.Entries != 2 {
		t.Errorf("%d entries, error %v", st.Entries, err)
	}
}
