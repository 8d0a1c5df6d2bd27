package listen

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/rules/say"
)

// answerWithin is how long after a question an open microphone takes an answer without the lead-in:
// the question is spoken first, which takes some seconds.
const answerWithin = 20 * time.Second

// lead is the lead-in of an open microphone.
type lead struct {
	words []string  // none: everything that is said is taken for a note
	until time.Time // what is said up to then needs none
	wants wants     // what was asked for last
	now   func() time.Time
}

// wants is what an open microphone takes without the lead-in while it may. What else would be recorded is
// asked about.
type wants uint8

const (
	reply  wants = iota // a yes, a no, or which number: what the judge takes for one
	answer              // what completes that which the floor has asked about
	anyOf               // a note, once: the lead-in alone was said, or what was said behind it is to be said again
)

// begins returns how many of the words are the lead-in, 0 where they do not begin with it. "Bench 7" is
// bench seven.
func (l *lead) begins(words []hear.Word) int {
	var said []string
	for i, w := range words {
		said = append(said, strings.Fields(strings.ToLower(say.Aloud(w.Text)))...)
		if len(said) < len(l.words) {
			continue
		}
		if slices.Equal(said, l.words) {
			return i + 1
		}
		return 0
	}
	return 0
}

// listening is said to the lead-in alone.
const listening = "Listening."

// of takes the lead-in off a note. ok is false where an open microphone heard none: nobody spoke to
// us. Only where both decodes have heard it is it sure; where the first alone has, the note is asked
// about.
func (l *lead) of(h hear.Heard, open bool) (out hear.Heard, ok bool) {
	clean, plain := l.begins(h.Words), l.begins(h.Plain)
	if h.Other != nil {
		words := wordsOf(h.Other.Text)
		h.Other = &hear.Other{Engine: h.Other.Engine, Text: textOf(words[l.begins(words):])}
	}
	needed := open && len(l.words) > 0 && l.now().After(l.until)
	switch {
	case needed && clean == 0:
		return h, false
	case needed && h.Plain != nil && plain == 0:
		h.Plain, plain = []hear.Word{}, 0 // it agrees with nothing
	}
	h.Words = h.Words[clean:]
	if h.Plain != nil {
		h.Plain = h.Plain[plain:]
	}
	return h, true
}

// asked lets answers come without a lead-in for a while, where out is a question; waits says whether it is one of
// the judge's. Unless the note was said to us, with the lead-in or as a reply, that while gets no longer: talk would
// hold it open for as long as it lasts.
func (l *lead) asked(out *Outcome, toUs, waits bool) {
	switch {
	case out.Verdict == judge.Silent:
		return // a cough ends no question
	case out.Verdict == judge.Refused && !toUs:
		return
	case out.Verdict == judge.Asked && !toUs && l.wants == reply:
		return
	}
	l.until = l.now().Add(answerWithin)
	switch {
	case out.Verdict == judge.Asked, out.Verdict == judge.Refused && waits:
		l.wants = reply
	case out.Answer != nil && asks(out.Answer.Body), out.Opening != nil && out.Opening.Go == "":
		l.wants = answer
	case out.Verdict == judge.Refused, strings.HasSuffix(out.Say, listening):
		l.wants = anyOf
	default:
		l.until = time.Time{}
	}
}

// behind holds sentences against sound that begins with words which were taken off.
type behind struct {
	judge.Scorer
	words string
}

// Score puts the words before each sentence, and takes them off again.
func (b behind) Score(ctx context.Context, sentences ...string) ([]hear.Fit, error) {
	whole := make([]string, len(sentences))
	for i, s := range sentences {
		whole[i] = hear.Behind(b.words, s)
	}
	fits, err := b.Scorer.Score(ctx, whole...)
	for i := range fits {
		fits[i].Text = strings.TrimPrefix(fits[i].Text, b.words+" ")
	}
	return fits, err
}

// asks reports whether an answer asks something back.
func asks(body json.RawMessage) bool {
	var a struct {
		Findings []struct {
			Rule string `json:"rule"`
		} `json:"findings"`
	}
	if json.Unmarshal(body, &a) != nil {
		return false
	}
	for _, f := range a.Findings {
		if f.Rule == "ask" {
			return true
		}
	}
	return false
}

func startsWith(words []hear.Word, with []string) bool {
	if len(words) < len(with) {
		return false
	}
	for i, w := range with {
		if words[i].Text != w {
			return false
		}
	}
	return true
}

func wordsOf(text string) []hear.Word {
	out := []hear.Word{}
	for w := range strings.FieldsSeq(text) {
		out = append(out, hear.Word{Text: w})
	}
	return out
}
