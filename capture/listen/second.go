package listen

import (
	"context"
	"encoding/json"
	"math"
	"slices"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/parse"
)

// second brings the words of another engine into what is judged, where there are any. What both engines
// are read as alike needs no second decode of the first: the other's is worth more. Where they differ
// the note is asked about, with the words of the first; instead is what the other heard, to be asked
// after a no. Gate and rivals stay as they are.
//
// Where the first engine's words do not fit the sound, or it has none, and the other has heard
// something that records, that is asked about.
func (l *Listener) second(ctx context.Context, h hear.Heard) (out hear.Heard, instead string) {
	if h.Other == nil {
		return h, ""
	}
	first, other := textOf(h.Words), h.Other.Text
	fits := first != "" && (math.IsNaN(h.Gate) || h.Gate >= l.policy.Gate)
	kind := l.kind(other)
	switch records := other != "" && (kind == judge.Record || kind == judge.Loose || kind == judge.Always); {
	case !fits && records:
		h.Words, h.Plain, h.Gate = wordsOf(other), nil, math.NaN()
		return h, ""
	case !fits:
		return h, ""
	case l.readAlike(ctx, first, other):
		h.Plain = h.Words
		return h, ""
	case records:
		instead = other
	}
	h.Plain = wordsOf(other)
	return h, instead
}

// readAlike reports whether two texts are the same note: the same words, or words that say something
// and are understood as the same. "48" is "forty eight".
func (l *Listener) readAlike(ctx context.Context, a, b string) bool {
	if a == b || parse.IsPhoto(a) && parse.IsPhoto(b) {
		return true
	}
	if is, ok := parse.Disposition(a); ok {
		other, _ := parse.Disposition(b)
		return is == other
	}
	if l.desk != nil {
		return l.desk.talk.Alike(a, b)
	}
	x, err := l.seat.Read(ctx, a)
	if err != nil {
		return false
	}
	y, err := l.seat.Read(ctx, b)
	if err != nil {
		return false
	}
	says := len(x.Claims)+len(x.Marks)+len(x.Withdrawn)+len(x.Untold)+len(x.Symptoms) > 0 || x.Question != nil || x.Over || x.Dropped || x.Instrument != "" || x.Gauge != nil && x.Gauge.Do != ""
	return says && understood(&x) == understood(&y)
}

// understood is what a note means, without where in the note it was said, and in which words.
func understood(u *parse.Utterance) string {
	c := *u
	c.Text, c.Mentions = "", false
	c.Claims, c.Marks = slices.Clone(u.Claims), slices.Clone(u.Marks)
	c.Asks, c.Symptoms = slices.Clone(u.Asks), slices.Clone(u.Symptoms)
	for i := range c.Claims {
		c.Claims[i].Span, c.Claims[i].Words = parse.Span{}, ""
	}
	for i := range c.Marks {
		c.Marks[i].Span = parse.Span{}
	}
	for i := range c.Asks {
		c.Asks[i].Words = ""
		if m := c.Asks[i].Mark; m != nil {
			of := *m
			of.Span = parse.Span{}
			c.Asks[i].Mark = &of
		}
	}
	for i := range c.Symptoms {
		c.Symptoms[i].Span = parse.Span{}
	}
	text, err := json.Marshal(&c)
	if err != nil {
		return u.Text // it is like nothing but itself
	}
	return string(text) // with its capitals: a megohm is no milliohm
}
