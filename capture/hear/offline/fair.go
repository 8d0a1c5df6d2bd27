package offline

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/hear/sphinx"
)

// mostSentences bounds one score.
const mostSentences = 32

// ahead is a note, or the begin of one, that is held against sentences.
type ahead struct {
	to   int // place up to which it is held against them
	held []held
	wait []<-chan struct{} // for all of them
}

type held struct {
	sentence string
	fit      fit
	err      error
}

// holds reports whether all these sentences are among those that it is held against.
func (a *ahead) holds(sentences []string) bool {
	for _, s := range sentences {
		if a.of(s) == nil {
			return false
		}
	}
	return true
}

func (a *ahead) of(sentence string) *held {
	for i := range a.held {
		if a.held[i].sentence == sentence {
			return &a.held[i]
		}
	}
	return nil
}

// fits waits, and returns how well each of the sentences fits.
func (a *ahead) fits(sentences []string) (fits []fit, err error) {
	for _, done := range a.wait {
		<-done
	}
	for _, s := range sentences {
		x := a.of(s)
		fits, err = append(fits, x.fit), errors.Join(err, x.err)
	}
	return fits, err
}

// hold holds what sound came to against sentences, in the background.
func (h *hearing) hold(sentences []string, rows [][]float32) *ahead {
	a := &ahead{held: make([]held, len(sentences))}
	for i, s := range sentences {
		if h.held++; h.held%lightly == 0 {
			h.worn++
		}
		x := &a.held[i]
		x.sentence = s
		a.wait = append(a.wait, h.fair[i%len(h.fair)].do(func(d *sphinx.Decoder) {
			x.fit, x.err = scoreOne(d, s, rows)
		}))
	}
	return a
}

// lightly is how many sentences wear a worker as much as the words of a job do.
const lightly = 10

// soon is after how many frames without voice a note is held against what its numbers may have been
// instead: where no more of its sound is decoded, the scores are there when they are asked for.
const soon = 8

// lookAhead holds the note against its rivals while it may be ending.
func (h *hearing) lookAhead() {
	n := h.note
	if h.ahead != nil && h.ahead.to != h.fed {
		h.ahead = nil // somebody spoke on
	}
	if n.still < soon || h.ahead != nil || !h.clean.idle() || slices.ContainsFunc(h.fair, func(l *lane) bool { return !l.idle() }) {
		return
	}
	h.ahead = &ahead{} // once in a pause
	if sentences := h.rivals(h.clean.showing()); len(sentences) > 0 {
		h.ahead = h.hold(sentences, slices.Clone(h.cleaned.out))
	}
	h.ahead.to = h.fed
}

// rivals is what a note is going to be held against. A lead-in is no part of it, whatever number is in that.
func (h *hearing) rivals(note string) []string {
	lead, levels, policy := h.words.Lead, &h.note.levels, judge.Usual()
	rest, led := strings.CutPrefix(note, lead)
	if lead == "" || !led {
		return policy.Sentences(note, levels.level(), levels.floor())
	}
	sentences := policy.Sentences(strings.TrimSpace(rest), levels.level(), levels.floor())
	for i := range sentences {
		sentences[i] = hear.Behind(lead, sentences[i])
	}
	return sentences
}

// score decodes the note that has ended with each sentence as all that may be heard.
func (h *hearing) score(sentences []string) ([]fit, error) {
	if h.last == nil {
		return nil, errors.New("there is no note to score: end one first")
	}
	if len(sentences) > mostSentences {
		return nil, fmt.Errorf("%d sentences are too many to score: %d at most", len(sentences), mostSentences)
	}
	if a := h.ahead; a != nil && a.holds(sentences) {
		return a.fits(sentences)
	}
	return h.hold(sentences, h.last).fits(sentences)
}

func scoreOne(d *sphinx.Decoder, sentence string, rows [][]float32) (fit, error) {
	none := fit{Score: number(math.Inf(-1))}
	if err := d.SetOnly(hear.Alternatives(sentence)...); err != nil {
		return none, err
	}
	if err := d.Begin(); err != nil {
		return none, err
	}
	err := d.Feed(rows)
	p, ended := d.End()
	if err = errors.Join(err, ended); err != nil || len(p.Words) == 0 {
		return none, err
	}
	return fit{number(p.Acoustic), p.Text()}, nil
}
