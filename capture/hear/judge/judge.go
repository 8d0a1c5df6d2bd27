// Package judge decides what becomes of a note that was heard: taken, asked about, or not
// taken at all. Limits have no say in it: a number that would be in is as doubtful as one
// that would be out.
//
// Two things must hold for words to be taken. The decodes of the cleaned and of the plain
// sound agree, which keeps misheard numbers out; and the words fit the sound nearly as well
// as any sounds would (the gate), which keeps talk out. Then each number in them is tried
// against all that it might have been instead: where a rival fits nearly as well, it is asked.
// A note whose end may be missing is asked, too: "forty" may be all that is there of "forty-eight".
// Of what was found there are thousands of ways to say it and nothing to try it against ("housing closed"
// was heard as "binds in bowls" by either decode): in noise it is asked. So is a note that mends itself ("twenty
// nine, no, ninety one"): the second half may be of somebody else who talks.
//
// Start reading at [Judge.Hear].
package judge

import (
	"context"
	"math"
	"slices"
	"strings"

	"readback/capture/hear"
)

// Policy is the bar that a note has to pass.
type Policy struct {
	Gate   float64 // the least [hear.Heard].Gate; below it nobody spoke to us
	Quiet  Bars    // of a number, where the speech stands clear of its noise
	Noisy  Bars    // of a number elsewhere
	Clear  float64 // by how many dB the speech stands above its noise where it stands clear
	Spoken bool    // an engine that gives neither a gate nor two decodes is believed after a yes
}

// Bars are how much better a note has to fit than with another number in it, summed over its sound.
type Bars struct {
	Twin  float64 // than with a number that begins alike
	Rival float64 // than with any other
}

// Usual is the policy of the shop: the operating point was measured on synthesised speech in
// noise (the README's table of hearing says how it fares).
//
// Noise covers the end of a number, and what is taken out of it is made up of what is likely: sixteen was heard as
// sixty by either decode, and by 342 and 401 better, in a pump 10 dB below. In quiet no twin was off by more than 75.
func Usual() Policy {
	return Policy{Gate: -30, Quiet: Bars{Twin: 300, Rival: 150}, Noisy: Bars{Twin: 550, Rival: 200}, Clear: 35, Spoken: true}
}

// bars are those for a note.
func (p *Policy) bars(h *hear.Heard) Bars {
	if p.StandsClear(h) {
		return p.Quiet
	}
	return p.Noisy
}

// StandsClear reports whether the speech stands clear of its noise. An engine that tells no levels is taken at its word.
func (p *Policy) StandsClear(h *hear.Heard) bool {
	return h.Level == 0 && h.Noise == 0 || !(h.Level-h.Noise < p.Clear)
}

// Verdict is what becomes of a note.
type Verdict string

// The verdicts, surest first.
const (
	Taken   Verdict = "taken"   // Text is the note
	Asked   Verdict = "asked"   // Say asks for yes or no, or which number
	Refused Verdict = "refused" // Say asks to say it again
	Silent  Verdict = "silent"  // nothing was said to us: no answer at all
)

// Decision is the verdict on one note, with what it rests on.
type Decision struct {
	Verdict Verdict
	Text    string // the words, as they are parsed
	Say     string // what is asked; "" where the note is taken or nothing was said

	Plain  string  // what the plain sound was heard as
	Gate   float64 // as heard; NaN for none
	Margin float64 // of the rival that stands furthest under its bar, or least over it; +Inf where none was tried
	Rival  string  // the text with that rival in it, "" for none
	Said   string  // of a note that was asked about: the reply by which it was confirmed, or asked about in other words
}

// Scorer tells how well the sound of the last note fits sentences: a [hear.Ear].
type Scorer interface {
	Score(ctx context.Context, sentences ...string) ([]hear.Fit, error)
}

// Kind says how much harm a note can do if it was misheard.
type Kind uint8

// The kinds.
const (
	Record   Kind = iota // it records something, or may
	Harmless             // a question, a yes or no, a command: it changes nothing
	Nothing              // the words mean nothing
	Loose                // little in the words bears them out, as where they tell of what was found: asked about in noise
	Always               // no limit and no other decode would show that it was misheard: it is asked about whatever the sound
)

// Judge decides at one bench. The zero Judge is not usable; use [New].
type Judge struct {
	policy  Policy
	kind    func(text string) Kind
	asks    func(text string) string // what is asked about words that are [Always] asked; nil or "": whether they were said
	pending *pending
}

// pending is a note that was asked about.
type pending struct {
	decision Decision
	choices  []choice // of numbers; nil where it was yes or no
	instead  string   // is asked after a no; "" for nothing
}

// New returns a judge. kind says what words would do, without doing it.
func New(p Policy, kind func(text string) Kind) *Judge { return &Judge{policy: p, kind: kind} }

// Ask sets what is asked about words that are [Always] asked about, as a question of yes or no; "" asks whether
// they were said.
func (j *Judge) Ask(question func(text string) string) { j.asks = question }

// Forget drops what was asked: something else was typed meanwhile.
func (j *Judge) Forget() { j.pending = nil }

// Instead has other words asked about after a no to what was asked last: those of a second engine.
func (j *Judge) Instead(text string) {
	if j.pending != nil && j.pending.choices == nil && text != "" {
		j.pending.instead = text
	}
}

// Waits reports whether an answer is awaited.
func (j *Judge) Waits() bool { return j.pending != nil }

// Hear decides about a note. The error is that of the scorer; then nothing is taken.
func (j *Judge) Hear(ctx context.Context, h hear.Heard, s Scorer) (Decision, error) {
	d := Decision{Text: textOf(h.Words), Plain: textOf(h.Plain), Gate: h.Gate, Margin: math.Inf(1)}
	asked := j.pending
	j.pending = nil
	if d.Text == "" {
		d.Verdict = Silent
		j.pending = asked // a cough answers nothing
		return d, nil
	}
	if !math.IsNaN(h.Gate) && h.Gate < j.policy.Gate {
		d.Verdict, j.pending = Silent, asked
		if asked != nil || agree(d.Text, d.Plain) && h.Plain != nil && !math.IsInf(h.Gate, -1) {
			d.Verdict, d.Say = Refused, again
		}
		return d, nil
	}
	if asked != nil {
		if reply, ok, err := j.reply(ctx, asked, d, &h, s); ok || err != nil {
			return reply, err
		}
	}
	switch kind := j.kind(d.Text); {
	case kind == Nothing:
		d.Verdict, d.Say = Refused, again
		return d, nil
	case kind == Harmless:
		d.Verdict = Taken
		return d, nil
	case kind == Always, (kind == Loose || mends(d.Text)) && !j.policy.StandsClear(&h):
		return j.ask(d, nil), nil
	case h.Cut, h.Plain == nil && j.policy.Spoken, h.Plain != nil && !agree(d.Text, d.Plain), d.Text == bang:
		return j.ask(d, nil), nil
	}
	return j.rivals(ctx, d, j.policy.bars(&h), s)
}

const again = "Say again."

// bang is what a bang is heard as in one of twenty. It would take a reading back, so it is asked about.
const bang = "no"

// ask puts a note back for a yes or no, or for the number that was meant.
func (j *Judge) ask(d Decision, choices []choice) Decision {
	d.Verdict = Asked
	d.Say = ""
	switch {
	case choices != nil:
		d.Say = question(choices)
	case j.asks != nil && j.kind(d.Text) == Always:
		d.Say = j.asks(d.Text)
	}
	if d.Say == "" {
		d.Say = "Did you say " + d.Text + "? Yes or no."
	}
	j.pending = &pending{decision: d, choices: choices}
	return d
}

// rivals tries the note against all that its numbers might have been instead. Twins have a bar of their
// own: "thirty newton metres" and "thirteen newton metres" differ in little else than how long a vowel is.
func (j *Judge) rivals(ctx context.Context, d Decision, bars Bars, s Scorer) (Decision, error) {
	d.Verdict = Taken
	all := rivalsOf(strings.Fields(d.Text))
	switch {
	case len(all) == 0:
		return d, nil
	case len(all) > mostRivals:
		return j.ask(d, nil), nil
	}
	closest, err := closest(ctx, &d, all, bars, s)
	switch {
	case err != nil:
		d.Verdict, d.Say = Refused, again
		return d, err
	case math.IsNaN(d.Margin):
		return j.ask(d, nil), nil
	case closest == nil:
		return d, nil
	case closest.word == "": // a number that is not there, or one too many
		d = j.ask(d, nil)
		j.pending.instead = closest.text
		return d, nil
	}
	return j.ask(d, []choice{{closest.heard, d.Text}, {closest.word, closest.text}}), nil
}

// closest returns the rival that fits the sound nearly as well as the note does, nil where none does.
// Margin becomes that of the one which stands furthest under its bar, or least over it; NaN where it is not known.
func closest(ctx context.Context, d *Decision, all []rival, bars Bars, s Scorer) (*rival, error) {
	fits, err := s.Score(ctx, bars.sentences(d.Text, all)...)
	if err != nil {
		return nil, err
	}
	d.Margin = fits[0].Score - fits[1].Score
	if math.IsInf(fits[1].Score, -1) || math.IsNaN(d.Margin) {
		return nil, nil //nolint:nilnil // there is none to be found
	}
	d.Rival = fits[1].Text
	found := rival{text: d.Rival, twin: true} // if the engine names none of them
	if at := slices.IndexFunc(all, func(r rival) bool { return r.text == d.Rival }); at >= 0 {
		found = all[at]
	}
	if d.Margin >= bars.of(found) {
		return nil, nil //nolint:nilnil // the same
	}
	return &found, nil
}

// textOf joins the words.
func textOf(words []hear.Word) string {
	parts := make([]string, 0, len(words))
	for _, w := range words {
		parts = append(parts, w.Text)
	}
	return strings.Join(parts, " ")
}

// agree reports whether two decodes say the same: small words that change nothing, plurals
// and the names of nought are not compared.
func agree(a, b string) bool { return slices.Equal(bare(a), bare(b)) }

func bare(text string) (words []string) {
	for w := range strings.FieldsSeq(text) {
		switch w {
		case "the", "is", "at", "on", "of", "and", "a", "an":
			continue
		case "oh", "nought", "zero":
			w = "zero"
		}
		switch {
		case len(w) > 4 && strings.HasSuffix(w, "ies"): // duties
			w = strings.TrimSuffix(w, "ies") + "y"
		case len(w) > 3 && !strings.HasSuffix(w, "ss"):
			w = strings.TrimSuffix(w, "s")
		}
		words = append(words, w)
	}
	return words
}
