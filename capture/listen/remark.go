package listen

import (
	"context"
	"math"
	"slices"
	"strings"
	"time"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/wire"
)

// guessWithin is how long the best words of a remark are waited for. Without them it is kept in sound
// alone.
const guessWithin = 8 * time.Second

// leastRemark is how long sound is at least in which a remark is looked for that the grammar has not
// heard, in samples.
const leastRemark = hear.Rate

// soundAlone are the words of a remark of which nobody could guess any.
const soundAlone = "note (sound alone)"

// remark is a note in free words: kept as sound, with a guess at the words, and never read.
type remark struct {
	spoken

	words string
	by    string // the engine that guessed
	reply string // the answer, of one that was asked about
}

// openers are the words that open a remark.
var openers = func() (out [][]string) {
	for _, o := range grammar.Openers() {
		out = append(out, strings.Fields(o))
	}
	return out
}()

func opens(words []hear.Word) bool { return opener(words) > 0 }

// opener returns how many of the words open a remark, 0 where they do not begin as one.
func opener(words []hear.Word) int {
	if i := slices.IndexFunc(openers, func(o []string) bool { return startsWith(words, o) }); i >= 0 {
		return len(openers[i])
	}
	return 0
}

// remarkOf looks whether the note is a remark. Nothing that any decode has heard begin as one is taken
// for anything else without being asked about; and as one it is taken
//
//   - where both decodes and the guess begin as one,
//   - where both decodes do, the words behind fit no grammar, and the guess begins with what sounds like
//     one, in quiet, from somebody who is known to speak to us: by a key, a tap or the lead-in. In a hiss a
//     reading was heard as "note nineteen and five eighths", between blows "preload nut" as "note nut", and
//     a no among others who talk as "note aye",
//
// but for one that was cut off.
//
// sure is false where it is to be asked about; the remark is nil where it is none.
func (l *Listener) remarkOf(ctx context.Context, h hear.Heard, known bool) (r *remark, sure bool) {
	if l.desk != nil {
		return nil, false // no job is open that could keep it
	}
	clean, plain := opens(h.Words), opens(h.Plain)
	other := h.Other != nil && opens(wordsOf(h.Other.Text))
	fits := len(h.Words) > 0 && (math.IsNaN(h.Gate) || h.Gate >= l.policy.Gate)
	missed := known && len(h.Words) == 0 && !h.Unvoiced && h.Level > silence && len(l.pcm) >= leastRemark && !l.judge.Waits() // somebody spoke, and no path was found
	if !clean && !plain && !other && !missed {
		return nil, false
	}
	g := l.guessAt(ctx, &h)
	guess, near := opens(wordsOf(g.Text)), l.policy.StandsClear(&h) && nearlyOpens(g.Text)
	both := clean && plain
	switch {
	case missed && !guess && !other, !fits && !known && (!both || !guess && !other):
		return nil, false // talk: it goes the way of other talk
	case len(strings.Fields(g.Text)) < 2:
		g.Text = soundAlone
	}
	r = &remark{spoken: spoken{slices.Clone(l.pcm), h}, words: g.Text, by: g.By}
	return r, both && !h.Cut && !l.unled && (guess || other || !fits && known && near)
}

// nearly are words as which the first of an opener may be guessed.
var nearly = []string{"no", "know", "knows", "not", "nod", "notes", "make", "for"}

// nearlyOpens reports whether a guess begins with what an opener may have been guessed as, and with no number behind it
// ("for forty eight"). Where there is no guess that cannot be told, and it does.
func nearlyOpens(guess string) bool {
	words := strings.Fields(guess)
	return len(words) == 0 || slices.Contains(nearly, words[0]) && (len(words) == 1 || !judge.Number(words[1]))
}

// guessAt returns the best words for the note, none where nobody can guess.
func (l *Listener) guessAt(ctx context.Context, h *hear.Heard) hear.Guess {
	switch {
	case h.Other != nil && h.Other.Text != "":
		return hear.Guess{Text: h.Other.Text, By: h.Other.Engine}
	case h.Plain == nil: // an engine that writes whatever it hears
		return hear.Guess{Text: textOf(h.Words), By: l.engine}
	case l.guess == nil:
		return hear.Guess{}
	}
	ctx, stop := context.WithTimeout(ctx, guessWithin)
	defer stop()
	g, err := l.guess.Guess(ctx, l.pcm)
	if err != nil {
		return hear.Guess{}
	}
	words := wordsOf(g.Text)
	g.Text = textOf(words[l.lead.begins(words):])
	return g
}

// askRemark asks whether a note was a remark.
func (l *Listener) askRemark(r *remark) Outcome {
	l.judge.Forget()
	l.asked, l.remark = nil, r
	question := "Was that a remark, to be kept as sound? Yes or no."
	if l.sounds == nil {
		question = "Was that a remark, to be kept in these words: " + r.words + "? Yes or no."
	}
	return Outcome{Verdict: judge.Asked, Text: r.words, Say: question, waits: true}
}

// remarkReply understands the answer to [Listener.askRemark]; ok is false where it is none, and the
// question is over.
func (l *Listener) remarkReply(ctx context.Context, note wire.Note, h hear.Heard) (out Outcome, ok bool, err error) {
	r := l.remark
	text := textOf(h.Words)
	yes, no := judge.Affirms(text), judge.Denies(text)
	fits := math.IsNaN(h.Gate) || h.Gate >= l.policy.Gate
	sure := !h.Cut && (h.Plain == nil || textOf(h.Plain) == text)
	switch {
	case text == "" || !fits:
		return Outcome{}, false, nil // a cough answers nothing
	case (yes || no) && !sure, judge.Repeats(text):
		return l.askRemark(r), true, nil
	case yes:
		l.remark = nil
		r.reply = text
		out, err = l.keepRemark(ctx, note, r)
		return out, true, err
	case no:
		l.remark = nil
		return Outcome{Verdict: judge.Refused, Text: text, Say: "Say again."}, true, nil
	}
	l.remark = nil
	return Outcome{}, false, nil
}

// keepRemark commits a remark with its sound. It may be the reason of a disposition.
func (l *Listener) keepRemark(ctx context.Context, note wire.Note, r *remark) (Outcome, error) {
	note.Text = r.words
	d := judge.Decision{Text: r.words, Plain: textOf(r.heard.Plain), Gate: r.heard.Gate, Margin: math.Inf(1), Said: r.reply}
	out, err := l.commit(ctx, note, d, r.spoken, floor.Spoken{Guess: true}, r.by)
	if err == nil && l.disposal != nil && out.Answer != nil {
		out.Then, out.Fault = l.decided(ctx, r, out.Answer)
	}
	return out, err
}
