package listen

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/say"
)

// Decider decides at a bench what becomes of what is out: a floor.Seat.
type Decider interface {
	// ToDecide returns the finding that is meant where none is named, and says it.
	ToDecide(ctx context.Context, is rules.Disposition) (d wire.Decidable, aloud string, ok bool, err error)
	Dispose(ctx context.Context, of wire.Decidable, is rules.Disposition, reason string) error
}

// disposal is a disposition that somebody has said yes to. It is none before its reason was said, as a remark.
type disposal struct {
	is    rules.Disposition
	of    wire.Decidable
	aloud string    // the finding
	until time.Time // a remark that is said after that is no reason
}

// reasonWithin is how long after the yes a remark is taken for the reason: what is asked is spoken first.
const reasonWithin = 2 * time.Minute

const (
	whyDecided   = "Say note, and then why."
	nothingOut   = "Nothing is out that takes that."
	notDecided   = "Nothing was decided."
	takenAnew    = "It is not as it was when you were asked. Nothing was decided."
	reasonUnsaid = "No words of the reason were made out. Nothing was decided."
	saidLate     = "That was said a while ago, and was not done. Say it again."
	notKept      = "Not decided: that failed on the server, and its log says why. The reason was kept as a remark. Decide on the sheet."
)

// sureOf is what is asked before each disposition.
var sureOf = map[rules.Disposition]string{rules.Rework: "Rework it?", rules.UseAsIs: "Use it as is?", rules.Scrap: "Scrap the part?"}

// Decide sets who decides at the bench. Without it nothing is decided by voice.
func (l *Listener) Decide(d Decider) { l.decider = d }

// disposes returns which disposition words give, "" for none, and what they are about. wrong says why nothing can be
// decided by them.
func (l *Listener) disposes(ctx context.Context, text string) (is rules.Disposition, of wire.Decidable, aloud, wrong string) {
	said, ok := parse.Disposition(text)
	if !ok || l.desk != nil || l.decider == nil {
		return "", of, "", ""
	}
	is = rules.Disposition(said)
	if l.late {
		return is, of, "", saidLate
	}
	of, aloud, ok, err := l.decider.ToDecide(ctx, is)
	switch {
	case err != nil:
		wrong, do := floor.Explain(err)
		return is, of, "", say.Cap(wrong) + ": " + do + "."
	case !ok:
		return is, of, "", nothingOut
	}
	return is, of, aloud, ""
}

// asksWhat asks before something is decided, and keeps of what.
func (l *Listener) asksWhat(is rules.Disposition, of wire.Decidable, aloud string) string {
	l.disposed = &of
	if of.Decided != 0 {
		aloud += " " + say.Cap(of.Due) + "."
	}
	return aloud + " " + sureOf[is] + " Yes or no."
}

// dispose asks for the reason, after a yes. The finding is to be the one that was asked about, and nothing decided of it since.
func (l *Listener) dispose(d judge.Decision, is rules.Disposition, of wire.Decidable, aloud, wrong string) Outcome {
	before := l.disposed
	l.asked, l.disposed = nil, nil
	switch {
	case wrong != "":
		return Outcome{Verdict: judge.Refused, Text: d.Text, Say: wrong, other: true}
	case before == nil || of.ID() != before.ID() || of.Reading != before.Reading || of.Decided != before.Decided:
		return Outcome{Verdict: judge.Refused, Text: d.Text, Say: takenAnew}
	}
	l.disposal = &disposal{is: is, of: of, aloud: aloud, until: l.lead.now().Add(reasonWithin)}
	return l.askWhy(d.Text)
}

func (l *Listener) askWhy(text string) Outcome {
	return Outcome{Verdict: judge.Asked, Text: text, Say: whyDecided, waits: true}
}

// reasonReply takes what is said while the reason is awaited, and is none; ok is false where it is for others to hear. One more yes
// says nothing new, and what would scratch a reading at another time drops the disposition.
func (l *Listener) reasonReply(h *hear.Heard) (out Outcome, ok bool) {
	text := textOf(h.Words)
	drops := judge.Denies(text)
	switch {
	case h.Gate < l.policy.Gate, !drops && !judge.Repeats(text) && !judge.Affirms(text):
		return Outcome{}, false
	case drops && l.sure(h):
		l.disposal = nil
		return Outcome{Verdict: judge.Refused, Text: text, Say: notDecided}, true
	}
	return l.askWhy(text), true
}

// drop drops a disposition that waits for its reason, if there is one. It is still to be said.
func (l *Listener) drop() {
	if l.disposal != nil {
		l.disposal, l.dropped = nil, true
	}
}

// awaits drops a disposition whose reason did not come next, and says so. What was not understood, and a question whether it was a
// remark, leave it waiting.
func (l *Listener) awaits(before *disposal, out Outcome) Outcome {
	understood := out.other || out.Verdict != judge.Silent && out.Verdict != judge.Refused
	if before == l.disposal && understood && !out.waits {
		l.drop()
	}
	out.Why = l.disposal != nil
	if !l.dropped || !understood {
		return out
	}
	if out.Answer != nil || out.Do != "" {
		out.Then = l.Dropped()
		return out
	}
	l.dropped = false
	out.Say = strings.TrimSpace(notDecided + " " + out.Say)
	return out
}

// Dropped says that a disposition was dropped since nobody gave its reason; nil where none was, or it was said already.
func (l *Listener) Dropped() *wire.Heard {
	if !l.dropped {
		return nil
	}
	l.dropped = false
	return undecided(notDecided)
}

// undecided says behind an answer that a disposition was not given.
func undecided(why string) *wire.Heard {
	return &wire.Heard{Verdict: string(judge.Refused), Say: why}
}

// decided gives the disposition of which a remark is the reason, and says what came of it. The remark was kept. fault is what
// failed here, if that is why nothing was decided.
func (l *Listener) decided(ctx context.Context, r *remark, kept *wire.Answer) (then *wire.Heard, fault error) {
	d := l.disposal
	l.disposal = nil
	reason := reasonOf(r)
	if reason == "" {
		return undecided(reasonUnsaid), nil
	}
	err := l.decider.Dispose(ctx, d.of, d.is, grounds(reason, kept.Seq))
	if refused, ok := errors.AsType[*floor.RefusalError](err); ok {
		return undecided(fmt.Sprintf("Not decided: %s; %s.", refused.Wrong, refused.Do)), nil
	}
	if err != nil {
		return undecided(notKept), fmt.Errorf("decide by voice: %w", err)
	}
	return &wire.Heard{Verdict: string(judge.Taken), Say: "Decided: " + string(d.is) + ". " + d.aloud}, nil
}

// reasonOf is the guess at the words behind the opener; "" for none.
func reasonOf(r *remark) string {
	if r.words == soundAlone {
		return ""
	}
	words := wordsOf(r.words)
	return textOf(words[opener(words):])
}

// mostReason bounds the words of a reason, in characters: the whole is as long as one that is typed, at most.
const mostReason = 900

// grounds is the reason as the record has it: words that were guessed are no more than that, and are beside the sound in the remark.
func grounds(reason string, seq int64) string {
	if long := []rune(reason); len(long) > mostReason {
		reason = string(long[:mostReason]) + "…"
	}
	return fmt.Sprintf("as said in number %d (a guess at the words): %s", seq, reason)
}
