package listen

import (
	"context"
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
	until time.Time // a remark after that is no reason
}

// reasonWithin is how long after the question a remark is taken for the reason.
const reasonWithin = time.Minute

const (
	whyDecided   = "Say note, and then why."
	nothingOut   = "Nothing is out that takes that."
	notDecided   = "Nothing was decided."
	takenAnew    = "It is not as it was when you were asked. Nothing was decided."
	reasonUnsaid = "No words of the reason were made out, and its sound is not kept. Nothing was decided."
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

// dispose asks for the reason, after a yes. The finding is to be the one that was asked about.
func (l *Listener) dispose(d judge.Decision, is rules.Disposition, of wire.Decidable, wrong string) Outcome {
	switch {
	case wrong != "":
		return Outcome{Verdict: judge.Refused, Text: d.Text, Say: wrong}
	case l.disposed == nil || of.ID() != l.disposed.ID() || of.Reading != l.disposed.Reading:
		return Outcome{Verdict: judge.Refused, Text: d.Text, Say: takenAnew}
	}
	l.disposal = &disposal{is: is, of: of, until: l.lead.now().Add(reasonWithin)}
	return l.askWhy(d.Text)
}

func (l *Listener) askWhy(text string) Outcome {
	return Outcome{Verdict: judge.Asked, Text: text, Say: whyDecided}
}

// reasonReply takes what is said instead of a reason; ok is false where it is for others to hear. What would scratch a
// reading at another time drops the disposition.
func (l *Listener) reasonReply(h *hear.Heard) (out Outcome, ok bool) {
	text := textOf(h.Words)
	switch drops := judge.Denies(text); {
	case l.lead.now().After(l.disposal.until):
		l.disposal = nil
		return Outcome{}, false
	case !drops && !judge.Repeats(text):
		return Outcome{}, false
	case drops && l.sure(h):
		l.disposal = nil
		return Outcome{Verdict: judge.Refused, Text: text, Say: notDecided}, true
	}
	return l.askWhy(text), true
}

// decided gives the disposition of which a remark is the reason, and says what came of it. The remark was kept.
func (l *Listener) decided(ctx context.Context, r *remark, kept *wire.Answer) *wire.Heard {
	d := l.disposal
	l.disposal = nil
	out := &wire.Heard{ID: kept.ID, Verdict: string(judge.Refused), Then: true}
	reason := reasonOf(r)
	if reason == "" && l.sounds == nil {
		out.Say = reasonUnsaid
		return out
	}
	if err := l.decider.Dispose(ctx, d.of, d.is, grounds(reason, kept.Seq)); err != nil {
		wrong, do := floor.Explain(err)
		out.Say = fmt.Sprintf("Not decided: %s; %s.", wrong, do)
		return out
	}
	out.Verdict, out.Say = string(judge.Taken), "Decided: "+string(d.is)+"."
	return out
}

// reasonOf is the guess at the words behind the opener; "" for none.
func reasonOf(r *remark) string {
	words := strings.Fields(r.words)
	for _, o := range openers {
		if startsWith(wordsOf(r.words), o) {
			words = words[len(o):]
			break
		}
	}
	if r.words == soundAlone {
		return ""
	}
	return strings.Join(words, " ")
}

// grounds is the reason as the record has it: words that were guessed are no more than that, and the sound is with the
// remark.
func grounds(reason string, seq int64) string {
	if reason == "" {
		return fmt.Sprintf("as said in number %d (in sound alone)", seq)
	}
	return fmt.Sprintf("as said in number %d (a guess at the words): %s", seq, reason)
}
