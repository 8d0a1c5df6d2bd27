// Package listen is the hearing of one bench: sound goes in, and what comes out is the answer to a
// note, a question about what was heard, a plea to say it again, or nothing.
//
// It joins what the packages beside it do: an ear hears, a judge decides, a seat on the floor takes
// the note, and the sound of a note that is taken is kept. Start reading at [Listener.End].
package listen

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"
	"time"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/wire"
	"readback/parse"
)

// MaxNote is the longest spoken note in samples; a longer one is ended.
const MaxNote = 12 * hear.Rate

// Seat is what a listener does at the floor: a [floor.Seat].
type Seat interface {
	SayHeard(ctx context.Context, note wire.Note, spoken floor.Spoken) (answer wire.Answer, sound string, err error)
	Read(ctx context.Context, text string) (parse.Utterance, error)
	Lacks(ctx context.Context, instrument string) (bool, error)
}

// Sounds keeps the sound of notes: a sound.Store.
type Sounds interface {
	Put(pcm []int16) (hash string, err error)
	Drop(hash string) error
}

// Outcome is what came of a note.
type Outcome struct {
	Verdict judge.Verdict
	Text    string        // the words that were heard; of a taken note those that are kept
	Say     string        // what is asked or said; "" where the answer says it, or nothing is to be said
	Answer  *wire.Answer  // of a note that was taken and kept
	Opening *wire.Opening // of a note at the desk that was taken
	Do      string        // what the page is to do, such as [wire.DoPhoto]; "" for nothing
	Person  string        // with [wire.DoHand]: to whom the bench is handed
	Leave   bool          // the sheet is to be left for the jobs
	Then    *wire.Heard   // is said behind that; nil for nothing
	Why     bool          // the reason is awaited of a disposition
	Fault   error         // what failed beside, for the log; nil for nothing

	waits bool // it asks for the reason of a disposition, or whether this was one
	other bool // it was refused, and was understood as something else than that reason
}

// Listener listens at one bench. One goroutine uses it.
type Listener struct {
	ears    func(ctx context.Context) (hear.Ear, error)
	ear     hear.Ear // of the note that is being spoken; nil between notes
	seat    Seat
	sounds  Sounds // nil: no sound is kept
	engine  string
	judge   *judge.Judge
	policy  judge.Policy
	desk    *desk        // where jobs are opened; nil at a bench
	guess   hear.Guesser // nil: nobody can guess at free speech
	people  []string     // to whom the bench may be handed by voice
	decider Decider      // nil: nothing is decided by voice
	lead    lead

	ctx      context.Context //nolint:containedctx // of the note that is being judged: Read needs one
	pcm      []int16
	live     hear.Live
	asked    *spoken         // the note that was asked about
	remark   *remark         // the note of which was asked whether it is one
	disposed *wire.Decidable // the finding of which was asked what becomes of it
	disposal *disposal       // what becomes of it, until its reason is said
	dropped  bool            // it was dropped, and nobody has said so yet
	open     bool            // the microphone of the note is; else a key was held or tapped to be heard
	cut      bool            // the end of the note may be missing
	unled    bool            // it has no lead-in, needs none by now, and is taken for an answer alone
	late     bool            // it was said while the line was down
	standby  bool
}

// spoken is a note with its sound, that waits for a yes.
type spoken struct {
	pcm   []int16
	heard hear.Heard
}

// New returns a listener. open gives it an ear for each note: a bench that says nothing keeps none
// from another.
func New(open func(ctx context.Context) (hear.Ear, error), engine string, seat Seat, sounds Sounds, p judge.Policy) *Listener {
	l := &Listener{ears: open, engine: engine, seat: seat, sounds: sounds, policy: p, lead: lead{now: time.Now}}
	l.judge = judge.New(p, l.kind)
	l.judge.Ask(l.question)
	return l
}

// Guess lets g guess at what is said in free words. Without it those are kept in sound alone.
func (l *Listener) Guess(g hear.Guesser) { l.guess = g }

// LeadIn sets the words that a note of an open microphone begins with; none if words is "".
func (l *Listener) LeadIn(words string) { l.lead.words = strings.Fields(words) }

// Open says whether the notes to come are from an open microphone, which hears all that is said.
func (l *Listener) Open(open bool) { l.open = open }

// Late says whether the notes to come were said while the line was down, to what was known then: they decide nothing.
func (l *Listener) Late(late bool) { l.late = late }

// StandBy says whether the bench stands by: nothing is heard then but "resume". A bench that lost its line
// says so when it comes back.
func (l *Listener) StandBy(by bool) { l.standby = by }

// StandsBy reports whether it does.
func (l *Listener) StandsBy() bool { return l.standby }

// Close gives the ear of a note back that was not ended. It may be called at any time.
func (l *Listener) Close() error {
	if l.ear == nil {
		return nil
	}
	ear := l.ear
	l.ear = nil
	return ear.Close()
}

// Cut says that the note was ended while somebody may have been speaking still, as by a microphone that was
// unplugged: nothing of it is recorded before a yes. The next Begin forgets it.
func (l *Listener) Cut() { l.cut = true }

// Typed says that a note was typed meanwhile: a question about a spoken one is over.
func (l *Listener) Typed() {
	l.answered()
	l.drop()
}

// answered drops what was asked of a note.
func (l *Listener) answered() {
	l.judge.Forget()
	l.asked, l.remark = nil, nil
}

// Begin starts a note. One that was not ended is dropped. It waits for an ear until ctx ends.
func (l *Listener) Begin(ctx context.Context) error {
	l.pcm, l.live, l.cut = nil, hear.Live{}, false
	err := l.Close()
	if err == nil {
		l.ear, err = l.ears(ctx)
	}
	if err == nil {
		err = l.ear.Begin(ctx)
	}
	if err != nil {
		return fmt.Errorf("begin a spoken note: %w", errors.Join(err, l.Close()))
	}
	return nil
}

// Write hands over more of the sound. ended is true where the note is over by what was heard: long
// silence, silence behind words that are whole, or too long a note. That one counts as cut off, but
// behind a long silence.
func (l *Listener) Write(ctx context.Context, pcm []int16) (live hear.Live, ended bool, err error) {
	if l.ear == nil {
		return hear.Live{}, false, errNotBegun
	}
	room := MaxNote - len(l.pcm)
	pcm = pcm[:min(len(pcm), room)]
	l.pcm = append(l.pcm, pcm...)
	before := l.live
	if l.live, err = l.ear.Write(ctx, pcm); err != nil {
		return hear.Live{}, false, fmt.Errorf("hear a spoken note: %w", err)
	}
	said := l.live.Words
	said = said[l.lead.begins(wordsOf(strings.Join(said, " "))):]
	free := opens(wordsOf(strings.Join(said, " ")))
	if free {
		l.live.Words = append(slices.Clone(said[:1]), "…") // what the grammar makes of the rest means nothing
	}
	switch {
	case len(l.pcm) == MaxNote:
		silent := l.live.State == hear.Ended && (before.State == hear.MayEnd || before.State == hear.Ended) // else an ear's own bound may have ended it
		l.cut = l.cut || !silent
		return l.live, true, nil
	case l.live.State == hear.Ended:
		return l.live, true, nil
	case l.live.State == hear.MayEnd && (before.State != hear.MayEnd || !slices.Equal(before.Words, l.live.Words)): // words may come after the silence
		return l.live, !free && l.whole(ctx, strings.Join(said, " ")), nil
	}
	return l.live, false, nil
}

// Samples is how much of the note's sound was heard so far.
func (l *Listener) Samples() int { return len(l.pcm) }

// Full reports whether the note is as long as one may be.
func (l *Listener) Full() bool { return len(l.pcm) == MaxNote }

var errNotBegun = errors.New("no spoken note was begun")

// whole reports whether words are a note that nobody is in the middle of: every reading has its unit
// and its place, or it is a question, a mark, or the yes that is awaited. Of what was found more may be told, behind a
// bare number another, and behind a no what it is instead.
func (l *Listener) whole(ctx context.Context, text string) bool {
	if l.desk != nil {
		return l.desk.talk.Whole(text)
	}
	switch {
	case l.waits() && judge.Affirms(text):
		return true
	case judge.Negates(text):
		return false // of what was recorded before it, which it takes back
	}
	u, err := l.seat.Read(ctx, text)
	if err != nil || text == "" || len(u.Asks) > 0 {
		return false
	}
	for i := range u.Claims {
		if c := &u.Claims[i]; len(c.Doubts) > 0 || c.Unit == "" {
			return false
		}
	}
	return len(u.Claims)+len(u.Marks)+len(u.Withdrawn)+len(u.Untold) > 0 || u.Question != nil
}

// End says that the note is over. Where the engine fails, nothing is taken and the error says why.
func (l *Listener) End(ctx context.Context, note wire.Note) (out Outcome, err error) {
	if l.ear == nil {
		return Outcome{Verdict: judge.Refused, Say: "Say again."}, errNotBegun
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	h, err := l.ear.End(ctx)
	if err != nil {
		return Outcome{Verdict: judge.Refused, Say: "Say again."}, fmt.Errorf("hear a spoken note: %w", err)
	}
	h.Cut = l.cut
	return l.make(ctx, note, h, l.ear)
}

// make makes of what was heard what it is. Rivals are held against the sound by scorer.
func (l *Listener) make(ctx context.Context, note wire.Note, h hear.Heard, scorer judge.Scorer) (Outcome, error) {
	led := l.lead.begins(h.Words)
	if led > 0 {
		scorer = behind{scorer, textOf(h.Words[:led])}
	}
	h, ok := l.lead.of(h, l.open)
	if !ok {
		return Outcome{Verdict: judge.Silent}, nil
	}
	unled := l.open && len(l.lead.words) > 0 && led == 0
	l.unled = unled && l.lead.wants != anyOf
	text := textOf(h.Words)
	toUs := !unled || l.waits() && l.sure(&h) && (judge.Replies(text) || judge.Denies(text))
	var out Outcome
	var err error
	if led > 0 && len(h.Words) == 0 && l.open && !l.standby && !(h.Gate < l.policy.Gate) {
		out = Outcome{Verdict: judge.Taken, Text: strings.Join(l.lead.words, " "), Say: listening}
	} else {
		out, err = l.made(ctx, note, h, scorer)
	}
	l.lead.asked(&out, toUs, l.waits())
	return out, err
}

// waits reports whether a yes or no, or which number, is awaited.
func (l *Listener) waits() bool { return l.judge.Waits() || l.remark != nil }

// made is what a note is, without its lead-in.
func (l *Listener) made(ctx context.Context, note wire.Note, h hear.Heard, scorer judge.Scorer) (Outcome, error) {
	if l.disposal != nil && (l.late || l.lead.now().After(l.disposal.until)) {
		l.drop()
	}
	before := l.disposal
	out, err := l.taken(ctx, note, h, scorer)
	if err != nil {
		l.drop()
		return out, err
	}
	return l.awaits(before, out), nil
}

// taken is what a note is, whatever was awaited.
func (l *Listener) taken(ctx context.Context, note wire.Note, h hear.Heard, scorer judge.Scorer) (Outcome, error) {
	if l.command(&h) {
		return l.standing(&h), nil
	}
	l.ctx = ctx
	if l.disposal != nil && !l.waits() { // else it answers another question
		if out, ok := l.reasonReply(&h); ok {
			return out, nil
		}
	}
	if l.remark != nil {
		if out, ok, err := l.remarkReply(ctx, note, h); ok || err != nil {
			return out, err
		}
	}
	if r, sure := l.remarkOf(ctx, h, !l.unled && (!l.open || len(l.lead.words) > 0)); sure {
		l.answered() // by something else
		return l.keepRemark(ctx, note, r)
	} else if r != nil {
		return l.askRemark(r), nil
	}
	judged, instead := l.second(ctx, h)
	waited := l.judge.Waits()
	d, err := l.judge.Hear(ctx, judged, scorer)
	if err != nil {
		return Outcome{Verdict: judge.Refused, Say: d.Say}, fmt.Errorf("judge a spoken note: %w", err)
	}
	switch d.Verdict {
	case judge.Taken:
		if is, of, aloud, wrong := l.disposes(ctx, d.Text); is != "" {
			return l.dispose(d, is, of, aloud, wrong), nil
		}
		if parse.IsPhoto(d.Text) {
			return l.photo(d), nil
		}
		if name := l.handedTo(d.Text); name != "" {
			return l.hand(d, name), nil
		}
		return l.take(ctx, note, d, h, waited)
	case judge.Asked:
		l.remark = nil    // that question is over
		if d.Said == "" { // else it is the note before, in other words
			l.asked = &spoken{slices.Clone(l.pcm), h}
			l.judge.Instead(instead)
		}
	case judge.Refused:
		if wrong := l.cannot(ctx, d.Text); wrong != "" {
			return Outcome{Verdict: d.Verdict, Text: d.Text, Say: wrong, other: true}, nil
		}
	case judge.Silent:
		if !l.open && (d.Text != "" && !math.IsInf(d.Gate, -1) || l.spoken(&h)) { // a key is held to be heard: who spoke is not left to wait
			d.Verdict, d.Say = judge.Refused, "Say again."
		}
	}
	return Outcome{Verdict: d.Verdict, Text: d.Text, Say: d.Say}, nil
}

// leastSaid is how long sound is at least in which somebody may have said something, in samples: a key that is let go
// at once wants no answer.
const leastSaid = hear.Rate / 2

// silence is the level of sound in which nobody spoke, in dB.
const silence = -100

// spoken reports whether somebody spoke, whatever was said.
func (l *Listener) spoken(h *hear.Heard) bool { return len(l.pcm) >= leastSaid && h.Level > silence }

// photo has the page take one: nothing is kept of the words.
func (l *Listener) photo(d judge.Decision) Outcome {
	l.asked = nil
	return Outcome{Verdict: d.Verdict, Text: d.Text, Do: wire.DoPhoto}
}

// take commits a note with its sound: that of the note itself where it was asked about and confirmed.
func (l *Listener) take(ctx context.Context, note wire.Note, d judge.Decision, h hear.Heard, waited bool) (Outcome, error) {
	if l.desk != nil {
		return l.desk.take(ctx, note, d)
	}
	of := spoken{l.pcm, h}
	if waited && d.Said != "" && l.asked != nil {
		of = *l.asked
	}
	l.asked = nil
	note.Text = d.Text
	return l.commit(ctx, note, d, of, floor.Spoken{}, "")
}

// commit keeps a note with its sound; by is the engine that guessed its words, "" where they are no
// guess.
func (l *Listener) commit(ctx context.Context, note wire.Note, d judge.Decision, of spoken, kept floor.Spoken, by string) (Outcome, error) {
	var err error
	if kept.Heard, err = l.record(d, of.heard, by); err != nil {
		return Outcome{Verdict: judge.Refused, Say: "Say again."}, err
	}
	if l.sounds != nil {
		if kept.Sound, err = l.sounds.Put(of.pcm); err != nil {
			return Outcome{Verdict: judge.Refused, Say: "The sound cannot be kept. Nothing was recorded."}, err
		}
	}
	answer, sound, err := l.seat.SayHeard(ctx, note, kept)
	if kept.Sound != "" && sound != kept.Sound { // nothing was kept, or the note was there before
		err = errors.Join(err, l.sounds.Drop(kept.Sound))
	}
	if err != nil {
		wrong, do := floor.Explain(err)
		return Outcome{Verdict: judge.Refused, Text: note.Text, Say: wrong + "; " + do}, err
	}
	return Outcome{Verdict: judge.Taken, Text: note.Text, Answer: &answer}, nil
}

// Record is what the journal keeps of how a note was heard. Its JSON is [journal.Entry].Heard.
type Record struct {
	Engine string   `json:"engine"`
	Plain  string   `json:"plain,omitempty"`  // the words of the sound as it came
	Gate   *float64 `json:"gate,omitempty"`   // how well the words fit
	Margin *float64 `json:"margin,omitempty"` // by how much the rival fits worse that is nearest to being taken for it
	Rival  string   `json:"rival,omitempty"`  // the note with that rival
	Reply  string   `json:"reply,omitempty"`  // the answer to that
	Other  string   `json:"other,omitempty"`  // the words of a second engine
	Guess  string   `json:"guess,omitempty"`  // the engine that guessed at the words, "" where they are no guess
	Cut    bool     `json:"cut,omitempty"`    // its end may be missing
	Level  float64  `json:"level"`            // of the speech, dB below full scale
	Noise  float64  `json:"noise"`            // of what was around it
}

func (l *Listener) record(d judge.Decision, h hear.Heard, by string) (json.RawMessage, error) {
	finite := func(x float64) *float64 {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil
		}
		x = math.Round(x*100) / 100
		return &x
	}
	other := ""
	if h.Other != nil {
		other = h.Other.Text
	}
	text, err := json.Marshal(Record{
		Engine: l.engine, Plain: textOf(h.Plain), Other: other, Guess: by, Gate: finite(d.Gate), Margin: finite(d.Margin), Rival: d.Rival, Reply: d.Said,
		Cut: h.Cut, Level: decibels(h.Level), Noise: decibels(h.Noise),
	})
	if err != nil {
		return nil, fmt.Errorf("record how a note was heard: %w", err)
	}
	return text, nil
}

// decibels is a level as it is told, to a tenth; [silence] where it is not known.
func decibels(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return silence
	}
	return math.Round(x*10) / 10
}

// kind says how much harm words can do.
func (l *Listener) kind(text string) judge.Kind {
	if l.desk != nil {
		return l.desk.kind(text)
	}
	if _, hands := parse.HandsBench(text); hands {
		if l.handedTo(text) == "" {
			return judge.Nothing
		}
		return judge.Always
	}
	if is, _, _, wrong := l.disposes(l.ctx, text); is != "" {
		if wrong != "" {
			return judge.Nothing
		}
		return judge.Always
	}
	u, err := l.seat.Read(l.ctx, text)
	switch {
	case err != nil:
		return judge.Nothing
	case u.Question != nil, unheard(text, &u), u.Gauge.Rests():
		return judge.Harmless
	case !parse.IsPhoto(text) && u.Kind == parse.Remark && !u.Over && len(u.Marks) == 0:
		return judge.Nothing
	case l.unled && (l.lead.wants != answer || !completes(&u)):
		return judge.Always // who says it may not speak to us
	case len(u.Symptoms) > 0, headless(text, &u), u.Instrument != "" && l.lacks(u.Instrument):
		return judge.Loose
	}
	return judge.Record
}

// cannot says why what words want to be done is not done by voice, "" where that is not it.
func (l *Listener) cannot(ctx context.Context, text string) string {
	if _, hands := parse.HandsBench(text); hands && l.handedTo(text) == "" {
		return notByVoice
	}
	_, _, _, wrong := l.disposes(ctx, text)
	return wrong
}

// lacks reports whether an instrument that is named is none of the shop's, or that cannot be told: all that is measured
// from here on would stand as taken with it ("on wrench four" was heard as "on wrench forty" by either decode, in babble).
func (l *Listener) lacks(instrument string) bool {
	lacks, err := l.seat.Lacks(l.ctx, instrument)
	return lacks || err != nil
}

// headless reports whether a value stands behind the number of its place without its own whole part: "pass two eleven
// point three" was heard as "pass one point three" by either decode, in noise.
func headless(text string, u *parse.Utterance) bool {
	words := strings.Fields(text)
	small := func(c parse.Claim) bool {
		return c.At != "" && new(big.Rat).Abs(c.Value.Rat()).Cmp(big.NewRat(1, 1)) < 0
	}
	for i := 2; i < len(words); i++ {
		if words[i] == "point" && judge.Number(words[i-1]) && !judge.Number(words[i-2]) && slices.ContainsFunc(u.Claims, small) {
			return true
		}
	}
	return false
}

// completes reports whether a note is no more than an answer to what the floor has asked.
func completes(u *parse.Utterance) bool {
	for i := range u.Claims {
		if !u.Answers && !u.Claims[i].Adds {
			return false
		}
	}
	for i := range u.Marks {
		if !u.Marks[i].Reply {
			return false
		}
	}
	return len(u.Withdrawn)+len(u.Untold)+len(u.Symptoms) == 0 && !u.Over && (len(u.Claims)+len(u.Marks) > 0 || u.Dropped)
}

// The words that make a bench deaf and hear again.
var (
	standBys = []string{"stand by", "standby", "stop listening"}
	resumes  = []string{"resume", "go on", "carry on"}
)

// command reports whether the note steers the listening, or is not heard since it stands by.
func (l *Listener) command(h *hear.Heard) bool {
	text := textOf(h.Words)
	return l.standby || !l.unled && l.sure(h) && (slices.Contains(standBys, text) || slices.Contains(resumes, text) || l.leaves(text))
}

// sure reports whether words that steer the listening were said: both decodes say so, and they fit.
func (l *Listener) sure(h *hear.Heard) bool {
	return (h.Plain == nil || textOf(h.Plain) == textOf(h.Words)) && !(h.Gate < l.policy.Gate)
}

func (l *Listener) standing(h *hear.Heard) Outcome {
	switch text := textOf(h.Words); {
	case !l.sure(h): // it stands by
	case slices.Contains(resumes, text):
		l.standby = false
		return Outcome{Verdict: judge.Taken, Text: text, Say: listening}
	case slices.Contains(standBys, text):
		l.answered() // what is asked is not answered later
		l.standby = true
		return Outcome{Verdict: judge.Taken, Text: text, Say: "Standing by. Say " + l.resume() + " to go on."}
	case l.leaves(text) && !l.standby:
		return Outcome{Verdict: judge.Taken, Text: text, Leave: true}
	}
	return Outcome{Verdict: judge.Silent}
}

// resume is what has to be said to go on: behind the lead-in where the microphone is open.
func (l *Listener) resume() string {
	if l.open && len(l.lead.words) > 0 {
		return strings.Join(l.lead.words, " ") + " " + resumes[0]
	}
	return resumes[0]
}

func textOf(words []hear.Word) string {
	parts := make([]string, 0, len(words))
	for _, w := range words {
		parts = append(parts, w.Text)
	}
	return strings.Join(parts, " ")
}
