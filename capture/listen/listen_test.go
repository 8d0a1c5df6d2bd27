package listen_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/journal"
	"readback/capture/listen"
	"readback/capture/wire"
	"readback/parse"
)

// ear hears what it is told to.
type ear struct {
	next   hear.Heard
	live   hear.Live
	err    error
	closed bool
	scored []string
}

func (e *ear) Listen(context.Context, hear.Words) error { return nil }
func (e *ear) Begin(context.Context) error              { return e.err }
func (e *ear) Write(_ context.Context, _ []int16) (hear.Live, error) {
	return e.live, e.err
}
func (e *ear) End(context.Context) (hear.Heard, error) { return e.next, e.err }
func (e *ear) Close() error                            { e.closed = true; return nil }

func (e *ear) Score(_ context.Context, sentences ...string) ([]hear.Fit, error) {
	e.scored = append(e.scored, sentences...)
	out := make([]hear.Fit, len(sentences))
	for i := 1; i < len(out); i++ {
		out[i].Score = -1000
	}
	return out, e.err
}

func heard(text string) hear.Heard {
	var words []hear.Word
	for w := range strings.FieldsSeq(text) {
		words = append(words, hear.Word{Text: w})
	}
	return hear.Heard{Words: words, Plain: words, Gate: -8, Level: -20, Noise: math.Inf(-1)}
}

// seat understands by a small vocabulary and keeps what is said.
type seat struct {
	words *parse.Vocabulary
	said  []wire.Note
	kept  []floor.Spoken
	err   error
	known string // the sound that the record had before
	body  string // of its answers
	ctx   parse.Context
	lacks string // an instrument that the shop does not have
}

// asked makes the seat one that has asked about the words of a note that it did not understand.
func (s *seat) asked(note string) {
	u := parse.Text(note, s.words, parse.Context{})
	for i := range u.Claims {
		u.Claims[i].Doubts = []parse.Doubt{parse.Unknown}
	}
	s.ctx = s.ctx.After(u, parse.Heard{Asked: u.Claims})
}

func newSeat() *seat {
	return &seat{words: parse.NewVocabulary(parse.Words{Names: []parse.Name{
		{Callout: "spacer", Kind: parse.Reading, Say: []string{"build spacer"}, Unit: "mm"},
		{Callout: "seat", Kind: parse.Confirm, Say: []string{"seat clean"}},
	}})}
}

func (s *seat) Read(_ context.Context, text string) (parse.Utterance, error) {
	return parse.Text(text, s.words, s.ctx), nil
}

func (s *seat) Lacks(_ context.Context, instrument string) (bool, error) {
	return instrument == s.lacks, nil
}

func (s *seat) SayHeard(_ context.Context, note wire.Note, spoken floor.Spoken) (wire.Answer, string, error) {
	if s.err != nil {
		return wire.Answer{}, "", s.err
	}
	s.said, s.kept = append(s.said, note), append(s.kept, spoken)
	if s.known != "" {
		return wire.Answer{ID: note.ID, Seq: 2}, s.known, nil
	}
	return wire.Answer{ID: note.ID, Seq: 2, Body: json.RawMessage(s.body)}, spoken.Sound, nil
}

// sounds is a store that counts.
type sounds struct {
	put, dropped []string
	lengths      []int
	err          error
}

func (s *sounds) Put(pcm []int16) (string, error) {
	if s.err != nil {
		return "", s.err
	}
	s.put, s.lengths = append(s.put, "sound"), append(s.lengths, len(pcm))
	return "sound", nil
}

func (s *sounds) Drop(hash string) error {
	s.dropped = append(s.dropped, hash)
	return nil
}

type rig struct {
	t      *testing.T
	ear    *ear
	seat   *seat
	sounds *sounds
	l      *listen.Listener
}

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{t: t, ear: &ear{}, seat: newSeat(), sounds: &sounds{}}
	r.l = listen.New(func(context.Context) (hear.Ear, error) { return r.ear, nil }, "offline", r.seat, r.sounds, judge.Usual())
	return r
}

// note speaks so many samples, which are heard as h.
func (r *rig) note(h hear.Heard, samples int) listen.Outcome {
	r.t.Helper()
	r.ear.next = h
	if err := r.l.Begin(r.t.Context()); err != nil {
		r.t.Fatal(err)
	}
	if _, _, err := r.l.Write(r.t.Context(), make([]int16, samples)); err != nil {
		r.t.Fatal(err)
	}
	out, err := r.l.End(r.t.Context(), wire.Note{ID: "id"})
	if err != nil && r.seat.err == nil && r.sounds.err == nil {
		r.t.Fatal(err)
	}
	return out
}

func TestATakenNoteIsKeptWithItsSound(t *testing.T) {
	r := newRig(t)
	out := r.note(heard("build spacer sixty four millimetres"), 8000)
	if out.Verdict != judge.Taken || out.Answer == nil || len(r.seat.said) != 1 || r.seat.said[0].Text != "build spacer sixty four millimetres" {
		t.Fatalf("%+v, said %+v", out, r.seat.said)
	}
	if r.seat.kept[0].Sound != "sound" || r.sounds.lengths[0] != 8000 || len(r.sounds.dropped) != 0 {
		t.Errorf("kept %+v, sounds of %v samples, dropped %v", r.seat.kept[0], r.sounds.lengths, r.sounds.dropped)
	}
	var record listen.Record
	if err := json.Unmarshal(r.seat.kept[0].Heard, &record); err != nil || record.Engine != "offline" || record.Gate == nil || *record.Gate != -8 || record.Noise != -100 {
		t.Errorf("the record is %s, error %v", r.seat.kept[0].Heard, err)
	}
}

// A note that was asked about is kept with its own sound, not with that of the yes.
func TestAConfirmedNoteKeepsItsOwnSound(t *testing.T) {
	r := newRig(t)
	unsure := heard("build spacer sixty four millimetres")
	unsure.Plain = heard("build spacer sixty five millimetres").Words
	if out := r.note(unsure, 8000); out.Verdict != judge.Asked || out.Say != "Did you say build spacer sixty four millimetres? Yes or no." {
		t.Fatalf("%+v", out)
	}
	if len(r.sounds.put) != 0 || len(r.seat.said) != 0 {
		t.Fatal("a note that is asked about was kept")
	}
	out := r.note(heard("yes"), 3000)
	if out.Verdict != judge.Taken || out.Text != "build spacer sixty four millimetres" || r.sounds.lengths[0] != 8000 {
		t.Errorf("%+v, sound of %v samples", out, r.sounds.lengths)
	}
	if !strings.Contains(string(r.seat.kept[0].Heard), `"reply":"yes"`) {
		t.Errorf("the record does not tell of the reply: %s", r.seat.kept[0].Heard)
	}
}

// A note that is typed in between ends the question.
func TestTypingEndsTheQuestion(t *testing.T) {
	r := newRig(t)
	unsure := heard("build spacer sixty four millimetres")
	unsure.Plain = nil
	r.note(unsure, 8000)
	r.l.Typed()
	if out := r.note(heard("yes"), 3000); out.Text != "yes" {
		t.Errorf("a yes after something else takes %q", out.Text)
	}
}

func TestNothingIsKeptOfWhatIsNotTaken(t *testing.T) {
	r := newRig(t)
	talk := heard("build spacer")
	talk.Gate = -50
	for _, h := range []hear.Heard{talk, {Gate: math.NaN()}, heard("well the weather")} {
		if out := r.note(h, 8000); out.Verdict == judge.Taken {
			t.Errorf("%+v is taken", h)
		}
	}
	if len(r.seat.said) != 0 || len(r.sounds.put) != 0 {
		t.Errorf("said %v, sounds %v", r.seat.said, r.sounds.put)
	}
}

func TestASoundWithoutItsNoteIsDropped(t *testing.T) {
	r := newRig(t)
	r.seat.err = journal.ErrFull
	if out := r.note(heard("seat clean"), 8000); out.Verdict != judge.Refused || !strings.Contains(out.Say, "disk is full") || len(r.sounds.dropped) != 1 {
		t.Errorf("%+v, dropped %v", out, r.sounds.dropped)
	}
	r = newRig(t)
	r.seat.known = "another"
	if out := r.note(heard("seat clean"), 8000); out.Verdict != judge.Taken || len(r.sounds.dropped) != 1 {
		t.Errorf("a note that was there before: %+v, dropped %v", out, r.sounds.dropped)
	}
	r = newRig(t)
	r.sounds.err = errors.New("no room")
	if out := r.note(heard("seat clean"), 8000); out.Verdict != judge.Refused || len(r.seat.said) != 0 {
		t.Errorf("without its sound: %+v, said %v", out, r.seat.said)
	}
}

// "Photo" has the page take a picture. It is no note, is asked about where the decodes differ, and a
// yes to that takes it.
func TestPhoto(t *testing.T) {
	r := newRig(t)
	if out := r.note(heard("take a photo"), 4000); out.Verdict != judge.Taken || out.Do != wire.DoPhoto || out.Answer != nil {
		t.Errorf("take a photo: %+v", out)
	}
	unsure := heard("photo")
	unsure.Plain = heard("seat clean").Words
	if out := r.note(unsure, 4000); out.Verdict != judge.Asked || out.Do != "" {
		t.Errorf("heard in two ways: %+v", out)
	}
	if out := r.note(heard("yes"), 4000); out.Verdict != judge.Taken || out.Do != wire.DoPhoto {
		t.Errorf("yes to that: %+v", out)
	}
	noise := heard("photo")
	noise.Gate = -50
	if out := r.note(noise, 4000); out.Do != "" {
		t.Errorf("a noise: %+v", out)
	}
	if len(r.seat.said) != 0 || len(r.sounds.put) != 0 {
		t.Errorf("said %v, sounds %v", r.seat.said, r.sounds.put)
	}
}

func TestStandBy(t *testing.T) {
	r := newRig(t)
	if out := r.note(heard("stand by"), 4000); out.Say == "" {
		t.Errorf("stand by: %+v", out)
	}
	if out := r.note(heard("seat clean"), 4000); out.Verdict != judge.Silent || len(r.seat.said) != 0 {
		t.Errorf("while it stands by: %+v", out)
	}
	if out := r.note(heard("resume"), 4000); out.Say != "Listening." {
		t.Errorf("resume: %+v", out)
	}
	if out := r.note(heard("seat clean"), 4000); out.Verdict != judge.Taken {
		t.Errorf("after it: %+v", out)
	}
}

// A note ends early where its words are whole, and not in the middle of one.
func TestAnEarlyEnd(t *testing.T) {
	for text, want := range map[string]bool{
		"build spacer sixty four millimetres": true,
		"build spacer sixty four":             false,
		"build spacer":                        false,
		"sixty four millimetres":              false,
		"seat clean":                          true,
		"what is left":                        true,
		"on wrench four":                      false,
		"put the gauge on":                    false,
		"":                                    false,
	} {
		newRig(t).endsEarly(text, want)
	}
}

// endsEarly begins a note of these words, and fails where a short silence ends it though it should not, or does not.
func (r *rig) endsEarly(text string, want bool) {
	r.t.Helper()
	if err := r.l.Begin(r.t.Context()); err != nil {
		r.t.Fatal(err)
	}
	r.ear.live = hear.Live{State: hear.MayEnd, Words: strings.Fields(text)}
	if _, ended, err := r.l.Write(r.t.Context(), make([]int16, 160)); err != nil || ended != want {
		r.t.Errorf("%q ends early: %t, error %v; want %t", text, ended, err, want)
	}
}

// A yes is whole where it is awaited; behind a no may come what it is instead.
func TestAnAwaitedYesEndsEarly(t *testing.T) {
	r := newRig(t)
	r.endsEarly("yes", false)
	unsure := heard("seat clean")
	unsure.Plain = heard("cable clear").Words
	if out := r.note(unsure, 4000); out.Verdict != judge.Asked {
		t.Fatalf("heard in two ways: %+v", out)
	}
	r.endsEarly("yes", true)
	r.endsEarly("that's right", true)
	r.endsEarly("no", false)
	r.l.Typed()
	r.seat.ctx.Undo = []parse.Target{{Callout: "spacer"}}
	r.endsEarly("scratch that", true) // of what was just recorded
	r.endsEarly("no", false)
}

// The words may come after the silence: a note that has become whole is over then, and one that has not goes on.
func TestAnEarlyEndWhoseWordsComeLate(t *testing.T) {
	r := newRig(t)
	if err := r.l.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, at := range []struct {
		words string
		ended bool
	}{{"build spacer", false}, {"build spacer sixty four", false}, {"build spacer sixty four millimetres", true}} {
		r.ear.live = hear.Live{State: hear.MayEnd, Words: strings.Fields(at.words)}
		if _, ended, err := r.l.Write(t.Context(), make([]int16, 160)); err != nil || ended != at.ended {
			t.Errorf("%q ends early: %t, error %v; want %t", at.words, ended, err, at.ended)
		}
	}
}

func TestALongNoteIsEnded(t *testing.T) {
	r := newRig(t)
	if err := r.l.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	for range 11 {
		if _, ended, err := r.l.Write(t.Context(), make([]int16, hear.Rate)); ended || err != nil {
			t.Fatalf("ended %t, error %v", ended, err)
		}
	}
	if _, ended, err := r.l.Write(t.Context(), make([]int16, 2*hear.Rate)); !ended || err != nil {
		t.Errorf("after 13 s: ended %t, error %v", ended, err)
	}
}

func TestALostEarTakesNothing(t *testing.T) {
	r := newRig(t)
	r.ear.err = hear.ErrLost
	if err := r.l.Begin(t.Context()); !errors.Is(err, hear.ErrLost) {
		t.Errorf("begin: %v", err)
	}
	r.ear.err = nil
	if err := r.l.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.ear.err = hear.ErrLost
	if out, err := r.l.End(t.Context(), wire.Note{}); !errors.Is(err, hear.ErrLost) || out.Verdict != judge.Refused || len(r.seat.said) != 0 {
		t.Errorf("%+v, error %v", out, err)
	}
}
