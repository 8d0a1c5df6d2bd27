package offline_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/hear/offline"
	"readback/capture/hear/speechtest"
)

// TestMain makes the test's own program a worker, as the real one is.
func TestMain(m *testing.M) {
	if len(os.Args) > 1 && os.Args[1] == offline.Subcommand {
		err := work(os.Args[2:])
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(2) //nolint:forbidigo // a worker ends as main would
		}
		return
	}
	os.Exit(m.Run()) //nolint:forbidigo // a test's main
}

func work(args []string) error {
	if len(args) == 2 {
		return offline.Misbehave(args[0], args[1], os.Stdin, os.Stdout)
	}
	return offline.Work(context.Background(), os.Stdin, os.Stdout)
}

// newEngine is an engine that leaves nothing behind.
func newEngine(t testing.TB, c offline.Config) *offline.Engine {
	t.Helper()
	speechtest.Need(t)
	if c.Workers == 0 {
		c.Workers = 2
	}
	e, err := offline.New(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := e.Close(); err != nil {
			t.Error(err)
		}
	})
	return e
}

func open(t testing.TB, e hear.Engine, w hear.Words) hear.Ear {
	t.Helper()
	ear, err := e.Open(t.Context(), w)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = ear.Close() })
	return ear
}

// say speaks a note into an ear, 20 ms at a time, and returns what was heard of it.
func say(ctx context.Context, ear hear.Ear, pcm []int16) (hear.Heard, []hear.Live, error) {
	if err := ear.Begin(ctx); err != nil {
		return hear.Heard{}, nil, err
	}
	var seen []hear.Live
	for piece := range slices.Chunk(pcm, 2*hear.Frame) {
		live, err := ear.Write(ctx, piece)
		if err != nil {
			return hear.Heard{}, seen, err
		}
		seen = append(seen, live)
	}
	heard, err := ear.End(ctx)
	return heard, seen, err
}

func text(words []hear.Word) string {
	var out []string
	for _, w := range words {
		out = append(out, w.Text)
	}
	return strings.Join(out, " ")
}

func mustHear(t testing.TB, ear hear.Ear, voice, sentence string) hear.Heard {
	t.Helper()
	heard, _, err := say(t.Context(), ear, speechtest.Say(t, voice, sentence))
	if err != nil || text(heard.Words) != sentence || text(heard.Plain) != sentence {
		t.Errorf("%s said %q, heard %q and %q, %v", voice, sentence, text(heard.Words), text(heard.Plain), err)
	}
	return heard
}

// leastGate is the gate of the shop's usual policy, judge.Usual.
var leastGate = judge.Usual().Gate

func TestSentencesAreHeard(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	for _, voice := range speechtest.Voices {
		for _, sentence := range speechtest.Sentences {
			heard := mustHear(t, ear, voice, sentence)
			if !(heard.Gate <= 0 && heard.Gate > leastGate) {
				t.Errorf("%s said %q: the gate is %.1f", voice, sentence, heard.Gate)
			}
			if heard.Level < heard.Noise+20 || heard.Level > 0 || heard.Noise > -50 {
				t.Errorf("%s said %q: %.1f dB over noise of %.1f dB", voice, sentence, heard.Level, heard.Noise)
			}
		}
	}
}

func TestOtherTalkDoesNotPassTheGate(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	for _, talk := range []string{"put the pallet over by the door and ask the office", "he phoned about the invoice again this morning"} {
		heard, _, err := say(t.Context(), ear, speechtest.Say(t, "slt", talk))
		if err != nil || heard.Gate > leastGate {
			t.Errorf("%q passes for %q at %.1f, %v", talk, text(heard.Words), heard.Gate, err)
		}
	}
}

func TestSameSoundSameScores(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	first := mustHear(t, ear, "slt", speechtest.Sentences[0])
	mustHear(t, ear, "kal16", speechtest.Sentences[5])
	if diff := cmp.Diff(first, mustHear(t, ear, "slt", speechtest.Sentences[0])); diff != "" {
		t.Errorf("the same sound was heard otherwise:\n%s", diff)
	}
	other := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	if diff := cmp.Diff(first, mustHear(t, other, "slt", speechtest.Sentences[0])); diff != "" {
		t.Errorf("another worker heard the same sound otherwise:\n%s", diff)
	}
}

func TestLiveFollowsTheNote(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	sentence := speechtest.Sentences[3]
	pcm := append(speechtest.Hush(hear.Rate), speechtest.Say(t, "rms", sentence)...)
	heard, seen, err := say(t.Context(), ear, append(pcm, speechtest.Hush(hear.Rate)...))
	if err != nil || text(heard.Words) != sentence {
		t.Fatalf("heard %q, %v", text(heard.Words), err)
	}
	var states []hear.State
	for _, live := range seen {
		if len(states) == 0 || states[len(states)-1] != live.State {
			states = append(states, live.State)
		}
	}
	if want := []hear.State{hear.Waiting, hear.Speaking, hear.MayEnd, hear.Ended}; !cmp.Equal(states, want) {
		t.Errorf("the states were %v, want %v", states, want)
	}
	if at := heard.Words[0].From; at < hear.Rate+hear.Rate/5 || at > hear.Rate*3/2 {
		t.Errorf("the first word lies at %d, after a second and a third of a hush", at)
	}
	if last := heard.Words[len(heard.Words)-1]; last.To > len(pcm) {
		t.Errorf("the last word ends at %d, the voice before %d", last.To, len(pcm))
	}
}

func TestWordsAreShownMeanwhile(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	sentence := speechtest.Sentences[3]
	pcm := append(slices.Clone(speechtest.Say(t, "rms", sentence)), speechtest.Hush(hear.Rate/2)...)
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	showsIn(t, ear, pcm[:len(pcm)/2], func(words string) bool { return strings.HasPrefix(words, "build spacer") && words != sentence })
	// The note may be over: now they are those that its end will give.
	showsIn(t, ear, pcm[len(pcm)/2:], func(words string) bool { return words == sentence })
	if heard, err := ear.End(t.Context()); err != nil || text(heard.Words) != sentence {
		t.Errorf("heard %q, %v", text(heard.Words), err)
	}
}

// A short note is heard in the silence behind it, before anybody has said that it is over.
func TestShortNoteIsHeardBeforeItsEnd(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	for _, voice := range speechtest.Voices {
		for _, sentence := range []string{"yes", "no", "scratch that"} {
			pcm := slices.Concat(speechtest.Hush(hear.Rate/3), loudPart(speechtest.Say(t, voice, sentence)), speechtest.Hush(3*hear.Rate/10))
			if err := ear.Begin(t.Context()); err != nil {
				t.Fatal(err)
			}
			showsIn(t, ear, pcm, func(words string) bool { return words == sentence })
			heard, err := ear.End(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(hearAll(t, ear, pcm), heard); diff != "" {
				t.Errorf("%s said %q: heard before its end it is another:\n%s", voice, sentence, diff)
			}
		}
	}
}

// What was heard in a silence is taken back where somebody speaks on: it leaves no trace.
func TestShortBeginIsTakenBack(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	words := hear.Words{Grammar: speechtest.Grammar("yes", "yes scratch that"), Sounds: speechtest.Sounds(t, "yes scratch that")}
	if err := ear.Listen(t.Context(), words); err != nil {
		t.Fatal(err)
	}
	yes, scratch := loudPart(speechtest.Say(t, "slt", "yes")), loudPart(speechtest.Say(t, "slt", "scratch that"))
	begin := slices.Concat(speechtest.Hush(hear.Rate/3), yes, speechtest.Hush(3*hear.Rate/10))
	rest := slices.Concat(scratch, speechtest.Hush(3*hear.Rate/10))
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	showsIn(t, ear, begin, func(words string) bool { return words == "yes" })
	showsIn(t, ear, rest, func(words string) bool { return words == "yes scratch that" })
	heard, err := ear.End(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	whole := hearAll(t, ear, slices.Concat(begin, rest))
	if diff := cmp.Diff(whole, heard); diff != "" || text(heard.Words) != "yes scratch that" {
		t.Errorf("heard %q; all at once otherwise:\n%s", text(heard.Words), diff)
	}
	// Its end is said in the middle of the word that follows.
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	showsIn(t, ear, begin, func(words string) bool { return words == "yes" })
	if _, err := ear.Write(t.Context(), scratch[:len(scratch)/3]); err != nil {
		t.Fatal(err)
	}
	heard, err = ear.End(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(hearAll(t, ear, slices.Concat(begin, scratch[:len(scratch)/3])), heard); diff != "" {
		t.Errorf("ended in a word, all at once otherwise:\n%s", diff)
	}
}

// hearAll hands over a note at once.
func hearAll(t *testing.T, ear hear.Ear, pcm []int16) hear.Heard {
	t.Helper()
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := ear.Write(t.Context(), pcm); err != nil {
		t.Fatal(err)
	}
	heard, err := ear.End(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return heard
}

// showsIn writes sound, and then waits until the ear shows what is wanted of it.
func showsIn(t *testing.T, ear hear.Ear, pcm []int16, wanted func(words string) bool) {
	t.Helper()
	live, err := ear.Write(t.Context(), pcm)
	for end := time.Now().Add(time.Minute); err == nil && !wanted(strings.Join(live.Words, " ")); {
		if time.Now().After(end) {
			t.Fatalf("it shows %v", live.Words)
		}
		live, err = ear.Write(t.Context(), nil)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestPauseDoesNotCutANote(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	if err := ear.Listen(t.Context(), hear.Words{Grammar: speechtest.Grammar("yes scratch that", "yes"), Sounds: speechtest.Sounds(t, "yes scratch that")}); err != nil {
		t.Fatal(err)
	}
	yes, scratch := loudPart(speechtest.Say(t, "slt", "yes")), loudPart(speechtest.Say(t, "slt", "scratch that"))
	for pause, want := range map[int]string{100: "yes scratch that", 230: "yes scratch that", 400: "yes scratch that", 900: "yes scratch that"} {
		pcm := slices.Concat(speechtest.Hush(hear.Rate/3), yes, speechtest.Hush(pause*hear.Rate/1000), scratch, speechtest.Hush(hear.Rate))
		heard, _, err := say(t.Context(), ear, pcm)
		if err != nil || text(heard.Words) != want {
			t.Errorf("over a pause of %d ms it heard %q, %v", pause, text(heard.Words), err)
		}
	}
}

// loudPart cuts off what is quiet before and after.
func loudPart(pcm []int16) []int16 {
	loud := func(s int16) bool { return s > 400 || s < -400 }
	from := slices.IndexFunc(pcm, loud)
	to := len(pcm)
	for to > from && !loud(pcm[to-1]) {
		to--
	}
	return pcm[from:to]
}

func TestScoreTellsSentencesApart(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	said, twin := speechtest.Sentences[1], speechtest.Sentences[2]
	for _, voice := range speechtest.Voices {
		mustHear(t, ear, voice, said)
		scores, err := ear.Score(t.Context(), said, twin, speechtest.Sentences[3], "yes")
		if err != nil || len(scores) != 4 || scores[0].Score <= scores[1].Score || scores[1].Score <= scores[2].Score+1000 || scores[0].Text != said {
			t.Fatalf("%s said %q: it, its twin, another and yes score %v, %v", voice, said, scores, err)
		}
		again, err := ear.Score(t.Context(), "yes", speechtest.Sentences[3], twin, said)
		if slices.Reverse(again); err != nil || !slices.Equal(scores, again) {
			t.Errorf("asked again it scores %v, not %v, %v", again, scores, err)
		}
	}
	mustHear(t, ear, "slt", "read that back") // all words are still in force
}

func TestScoreAnswersOddSentences(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	if _, err := ear.Score(t.Context(), "yes"); err == nil {
		t.Error("a note that was never spoken has a score")
	}
	mustHear(t, ear, "slt", "yes")
	if scores, err := ear.Score(t.Context()); err != nil || len(scores) != 0 {
		t.Errorf("no sentence scores %v, %v", scores, err)
	}
	for _, sentence := range []string{"", "perhaps", "Yes", "<NULL>", "yes;\npublic <x> = no"} {
		if scores, err := ear.Score(t.Context(), sentence); !errors.Is(err, hear.ErrGrammar) {
			t.Errorf("%q scores %v, %v: want an error of the grammar", sentence, scores, err)
		}
	}
	long := strings.Repeat("insulation five hundred megs ", 30)
	scores, err := ear.Score(t.Context(), append(slices.Repeat([]string{"yes", "no"}, 20), long)...)
	if err != nil || len(scores) != 41 || scores[0].Score <= scores[1].Score || scores[38] != scores[0] || !math.IsInf(scores[40].Score, -1) {
		t.Errorf("many sentences score %v, %v", scores, err)
	}
}

func TestWordsChangeBetweenNotes(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	mustHear(t, ear, "slt", "yes")
	few := hear.Words{Grammar: speechtest.Grammar("no", "scratch that"), Sounds: speechtest.Words(t).Sounds}
	if err := ear.Listen(t.Context(), few); err != nil {
		t.Fatal(err)
	}
	if heard, _, err := say(t.Context(), ear, speechtest.Say(t, "slt", "yes")); err != nil || text(heard.Words) == "yes" {
		t.Errorf("a word that is no more is heard: %q, %v", text(heard.Words), err)
	}
	mustHear(t, ear, "slt", "scratch that")
	for name, bad := range map[string]hear.Words{
		"no grammar":   {Sounds: few.Sounds},
		"unknown word": {Grammar: speechtest.Grammar("perhaps"), Sounds: few.Sounds},
		"bad sound":    {Grammar: few.Grammar, Sounds: map[string]string{"no": "N OH", "scratch": "S", "that": "T"}},
	} {
		if err := ear.Listen(t.Context(), bad); !errors.Is(err, hear.ErrGrammar) {
			t.Errorf("%s: %v, want an error of the grammar", name, err)
		}
		mustHear(t, ear, "slt", "scratch that")
	}
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := ear.Listen(t.Context(), few); err == nil {
		t.Error("the words change in the middle of a note")
	}
}

func TestOddSound(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	random := rand.New(rand.NewPCG(1, 2))
	garbage := make([]int16, 13*hear.Rate)
	for i := range garbage {
		garbage[i] = int16(random.IntN(1 << 16))
	}
	for name, pcm := range map[string][]int16{
		"one sample": {9}, "13 s of hush": speechtest.Hush(13 * hear.Rate), "a minute of hush": speechtest.Hush(60 * hear.Rate),
		"13 s of noise": garbage, "full scale": slices.Repeat([]int16{-32768, 32767}, hear.Rate/4),
	} {
		if err := ear.Begin(t.Context()); err != nil {
			t.Fatal(err)
		}
		if _, err := ear.Write(t.Context(), pcm); err != nil { // all at once
			t.Errorf("%s: %v", name, err)
		}
		heard, err := ear.End(t.Context())
		if err != nil || heard.Gate > leastGate || heard.Words == nil || heard.Plain == nil {
			t.Errorf("%s: heard %+v, %v", name, heard, err)
		}
	}
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	if heard, err := ear.End(t.Context()); err != nil || len(heard.Words) > 0 || !math.IsInf(heard.Gate, -1) {
		t.Errorf("nothing at all: heard %+v, %v", heard, err)
	}
	mustHear(t, ear, "slt", "yes")
}

func TestOrderOfCalls(t *testing.T) {
	e := newEngine(t, offline.Config{Workers: 1})
	ear := open(t, e, speechtest.Words(t))
	if _, err := ear.Write(t.Context(), []int16{1}); err == nil || errors.Is(err, hear.ErrLost) {
		t.Errorf("sound before a note: %v", err)
	}
	if _, err := ear.End(t.Context()); err == nil || errors.Is(err, hear.ErrLost) {
		t.Errorf("an end before a note: %v", err)
	}
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := ear.Write(t.Context(), speechtest.Say(t, "slt", "no")); err != nil {
		t.Fatal(err)
	}
	mustHear(t, ear, "slt", "yes") // the note before is dropped
	if err := errors.Join(ear.Close(), ear.Close()); err != nil {
		t.Fatal(err)
	}
	if err := ear.Begin(t.Context()); err == nil {
		t.Error("a closed ear hears")
	}
	mustHear(t, open(t, e, speechtest.Words(t)), "slt", "yes")
}
