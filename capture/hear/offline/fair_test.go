package offline

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/hear/speechtest"
)

// newHearing listens for the words of the tests, to sound as it comes.
func newHearing(t *testing.T) *hearing {
	t.Helper()
	speechtest.Need(t)
	h := &hearing{front: front{clean: plain{}, detect: func() (detector, error) { return new(pauses), nil }}}
	t.Cleanup(h.close)
	w := speechtest.Words(t)
	dictionary, err := grammar.Load(grammar.Path)
	if err != nil {
		t.Fatal(err)
	}
	for number := range strings.FieldsSeq("one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety zero") {
		w.Sounds[number] = dictionary.Sounds(number)[0]
	}
	if err := h.listen(request{Folder: t.TempDir(), Grammar: w.Grammar, Sounds: w.Sounds}); err != nil {
		t.Fatal(err)
	}
	return h
}

// slowly writes sound 20 ms at a time, as a decoder keeps up with it.
func slowly(t *testing.T, h *hearing, pcm []int16) {
	t.Helper()
	for piece := range slices.Chunk(pcm, 2*hear.Frame) {
		if _, err := h.write(piece); err != nil {
			t.Fatal(err)
		}
		for !h.clean.idle() || !h.raw.idle() || !h.loop.idle() {
			time.Sleep(time.Millisecond)
		}
	}
}

// In the silence behind a note it is held against its rivals, and asked for them it has the scores already.
// Somebody who speaks on makes them void.
func TestRivalsAreTriedAhead(t *testing.T) {
	h := newHearing(t)
	said := speechtest.Sentences[0]
	pcm := slices.Concat(speechtest.Hush(hear.Rate/2), speechtest.Say(t, "slt", said))
	for !slices.ContainsFunc(pcm[len(pcm)-hear.Frame:], func(x int16) bool { return x > 300 }) {
		pcm = pcm[:len(pcm)-hear.Frame]
	}
	if err := h.begin(); err != nil {
		t.Fatal(err)
	}
	slowly(t, h, pcm)
	if h.ahead != nil {
		t.Fatal("it was held against rivals while somebody spoke")
	}
	slowly(t, h, speechtest.Hush(hear.Rate/5))
	if h.ahead == nil || len(h.ahead.held) < 2 || h.ahead.held[0].sentence != said {
		t.Fatalf("in the silence behind it, held against %+v", h.ahead)
	}
	ahead := h.ahead
	heard, err := h.end()
	if err != nil || len(heard.Words) == 0 {
		t.Fatalf("%+v, %v", heard, err)
	}
	policy := judge.Usual()
	sentences := policy.Sentences(said, heard.Level, heard.Noise)
	fits, err := h.score(sentences)
	if err != nil || h.ahead != ahead || fits[0] != ahead.held[0].fit || fits[0].Text != said {
		t.Fatalf("scored anew: %v, %v", fits, err)
	}
	fresh, err := h.hold(sentences, h.last).fits(sentences)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(fits); i++ {
		if (fits[0].Score > fits[i].Score) != (fresh[0].Score > fresh[i].Score) {
			t.Errorf("ahead %v, over the whole note %v", fits, fresh)
		}
	}

	if err := h.begin(); err != nil || h.ahead != nil {
		t.Fatalf("the next note is held against %+v, %v", h.ahead, err)
	}
	slowly(t, h, slices.Concat(pcm, speechtest.Hush(hear.Rate/5), speechtest.Say(t, "slt", "no")[:hear.Rate/2]))
	if h.ahead != nil && len(h.ahead.held) > 0 && h.note.still == 0 {
		t.Error("somebody spoke on, and what was held before counts")
	}
}

// A lead-in is no part of a note, whatever number is in it: what it is held against ahead is what the judge of a bench
// asks for.
func TestLeadInHasNoRivals(t *testing.T) {
	for _, tt := range []struct{ note, lead, rest string }{
		{"bench seven tie rod one twenty newton metres", "bench seven", "tie rod one twenty newton metres"},
		{"tie rod one twenty newton metres", "bench seven", "tie rod one twenty newton metres"},
		{"bench seven", "", "bench seven"},
	} {
		h := &hearing{words: request{Lead: tt.lead}, note: &note{}}
		policy := judge.Usual()
		got, want := h.rivals(tt.note), policy.Sentences(tt.rest, h.note.levels.level(), h.note.levels.floor())
		if tt.note != tt.rest {
			for i := range want {
				want[i] = hear.Behind(tt.lead, want[i])
			}
		}
		if len(want) < 2 || !slices.Equal(got, want) {
			t.Errorf("%q with the lead-in %q is held against %q, not %q", tt.note, tt.lead, got, want)
		}
	}
	h := &hearing{words: request{Lead: "bench seven"}, note: &note{}}
	if got := h.rivals("bench seven"); got != nil {
		t.Errorf("a lead-in alone is held against %q", got)
	}
}

// A note gives the same path and scores in whatever pieces it comes.
func TestPiecesMakeNoDifference(t *testing.T) {
	h := newHearing(t)
	pcm := slices.Concat(speechtest.Hush(hear.Rate/2), speechtest.Say(t, "rms", speechtest.Sentences[3]), speechtest.Hush(hear.Rate/2))
	var first hear.Heard
	for i, piece := range []int{len(pcm), 333, 2 * hear.Frame, 1 << 13} {
		if err := h.begin(); err != nil {
			t.Fatal(err)
		}
		for some := range slices.Chunk(pcm, piece) {
			if _, err := h.write(some); err != nil {
				t.Fatal(err)
			}
		}
		got, err := h.end()
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first = got
		}
		if !slices.Equal(got.Words, first.Words) || !slices.Equal(got.Plain, first.Plain) || got.Gate != first.Gate || len(got.Words) < 5 {
			t.Errorf("in pieces of %d: %v %v %v, want %v %v %v", piece, got.Words, got.Plain, got.Gate, first.Words, first.Plain, first.Gate)
		}
	}
}

// TestTheBestOfMany holds a note against many sentences at once and one by one: the same one is the best, each less its
// handicap, and has the same score.
func TestTheBestOfMany(t *testing.T) {
	policy, h := judge.Usual(), newHearing(t)
	for said, noise := range map[string]float64{"collar nut two twenty two newton metres": -60, "tie rod one seven point six": -30} {
		sentences := policy.Sentences(said, -20, noise)
		all := append(hear.Alternatives(sentences[1]), said)
		if err := h.begin(); err != nil {
			t.Fatal(err)
		}
		if _, err := h.write(speechtest.Say(t, "slt", said)); err != nil {
			t.Fatal(err)
		}
		if _, err := h.end(); err != nil {
			t.Fatal(err)
		}
		fits, err := h.score([]string{hear.OneOf(all...)})
		if err != nil {
			t.Fatal(err)
		}
		merged, err := h.score(sentences)
		if err != nil {
			t.Fatal(err)
		}
		var best fit
		most := math.Inf(-1)
		for _, some := range all[:len(all)-1] {
			sentence, less := hear.Handicapped(some)
			one, err := h.score([]string{sentence})
			if err != nil {
				t.Fatal(err)
			}
			if x := float64(one[0].Score) - float64(less); x > most {
				most, best = x, one[0]
			}
		}
		if merged[1] != best {
			t.Errorf("%q: at once %v, one by one %v", said, merged[1], best)
		}
		if fits[0] != merged[0] {
			t.Errorf("%q: with all its rivals beside it %v, alone %v", said, fits[0], merged[0])
		}
	}
}
