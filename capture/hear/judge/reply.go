package judge

import (
	"context"
	"slices"
	"strings"

	"readback/capture/hear"
)

// What answers a yes or no question. The grammar holds the same, or an answer would be heard that
// answers nothing, and would pass for a note.
var (
	Yes     = []string{"yes", "yeah", "yep", "aye", "affirm", "affirmative", "correct", "confirmed", "that's right", "that's correct", "yes that's right", "yes it is", "yes correct", "yes affirmative"}
	No      = []string{"no", "negative", "wrong", "no negative", "no wrong", "no that's wrong", "no it isn't"}
	Scratch = []string{
		"scratch that", "strike that", "forget that", "delete that", "scratch that last one", "scratch the last one", "cancel that", "undo that",
		"disregard", "disregard that", "take that back", "never mind", "that was wrong", "that's wrong", "it slipped", "wrench slipped",
	}
	Repeat = []string{"say again", "say that again", "repeat", "repeat that", "read back", "read that back", "read it back"}
)

// Affirms reports whether words say yes to a question.
func Affirms(said string) bool { return is(said, Yes) }

// Negates reports whether words are a no, and nothing else: what it is instead may follow.
func Negates(said string) bool { return is(said, No) }

// Denies reports whether words say no to a question, or take back what it asks about: that is not there
// to be scratched.
func Denies(said string) bool { return is(said, No) || is(said, Scratch) }

// Repeats reports whether words want the question, or what was said last, once more.
func Repeats(said string) bool { return is(said, Repeat) }

// Replies reports whether words are a yes, a no or a wish to hear it again, and nothing else: they mean
// nothing where nothing was asked.
func Replies(said string) bool { return Affirms(said) || is(said, No) || Repeats(said) }

// is reports whether a reply is one of a list.
func is(said string, list []string) bool {
	return slices.ContainsFunc(list, func(x string) bool { return agree(said, x) })
}

// reply understands what answers a question; ok is false where the note is none. A reply is
// held to the same bar: it is whole, both decodes agree on it, and a number is said digit by digit and has no
// near rival. Where it fails that, the question stands and is asked again.
func (j *Judge) reply(ctx context.Context, p *pending, d Decision, h *hear.Heard, s Scorer) (out Decision, ok bool, err error) {
	said := strings.Join(bare(d.Text), " ")
	chosen := p.chosen(said)
	affirms := p.choices == nil && Affirms(said)
	denies := Denies(said)
	if chosen == "" && !affirms && !denies && !p.names(said) && !Repeats(said) {
		return Decision{}, false, nil
	}
	sure := !h.Cut && (h.Plain == nil || agree(d.Text, d.Plain))
	if sure && chosen != "" {
		if sure, err = noRival(ctx, said, j.policy.bars(h).Rival, s); err != nil {
			j.pending = p
			return refused(d, p.decision.Say), true, err
		}
	}
	switch {
	case sure && denies && p.instead != "":
		out = p.decision
		out.Text, out.Said = p.instead, d.Text
		return j.ask(out, nil), true, nil
	case sure && denies:
		return refused(d, again), true, nil
	case sure && (affirms || chosen != ""):
		out = p.decision
		out.Verdict, out.Say, out.Said = Taken, "", d.Text
		if chosen != "" {
			out.Text = chosen
		}
		return out, true, nil
	}
	j.pending = p
	return refused(d, p.decision.Say), true, nil
}

func refused(d Decision, say string) Decision {
	return Decision{Verdict: Refused, Say: say, Plain: d.Plain, Gate: d.Gate, Margin: d.Margin}
}

// chosen returns the note with the number that was said digit by digit, "" for none.
func (p *pending) chosen(said string) string {
	for _, c := range p.choices {
		if said == bareSpelt(c.word) || said == c.word+" "+bareSpelt(c.word) {
			return c.text
		}
	}
	return ""
}

// names reports whether one of the numbers was said, but not digit by digit, which is what was
// misheard in the first place; or a yes, which says neither.
func (p *pending) names(said string) bool {
	return p.choices != nil && Affirms(said) || slices.ContainsFunc(p.choices, func(c choice) bool { return said == c.word })
}

func bareSpelt(word string) string { return strings.Join(bare(spelt(word)), " ") }

// noRival reports whether nothing else fits the sound of a reply nearly as well.
func noRival(ctx context.Context, said string, bar float64, s Scorer) (bool, error) {
	sentences := Bars{bar, bar}.sentences(said, rivalsOf(strings.Fields(said)))
	if sentences == nil {
		return true, nil
	}
	fits, err := s.Score(ctx, sentences...)
	if err != nil {
		return false, err
	}
	return !slices.ContainsFunc(fits[1:], func(f hear.Fit) bool { return !(fits[0].Score-f.Score >= bar) }), nil
}
