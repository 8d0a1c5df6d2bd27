package listen

import (
	"context"
	"math"
	"regexp"
	"strings"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/wire"
	"readback/parse"
)

// Reader returns a listener that is given words and no sound: what a browser has heard by itself. There
// is no gate and no second decode, so that all that would record something is asked about. Use
// [Listener.Words] of it alone, and what sets how it listens.
func Reader(seat Seat) *Listener {
	p := judge.Usual()
	p.Spoken = true
	return New(nil, wire.FromBrowser, seat, nil, p)
}

// Words takes a note as the browser has written it, with its capitals, stops and digits.
func (l *Listener) Words(ctx context.Context, note wire.Note) (Outcome, error) {
	h := hear.Heard{Words: wordsOf(plainly(note.Text)), Gate: math.NaN(), Level: math.NaN(), Noise: math.NaN()}
	l.Open(note.Open)
	l.Late(note.Late)
	return l.make(ctx, note, h, hear.Unscored{})
}

// unheard reports whether words of a question's answer record nothing. A yes does, where the floor has
// asked: it is held to the bar of a reading.
func unheard(text string, u *parse.Utterance) bool {
	return judge.Replies(text) && len(u.Claims)+len(u.Marks)+len(u.Withdrawn)+len(u.Untold) == 0
}

// plainly takes the stops off that a browser sets, and the capitals of words, but none that may belong to a
// unit: a megohm and a milliohm differ by it.
func plainly(text string) string {
	words := strings.Fields(strings.ReplaceAll(text, "’", "'"))
	for i, w := range words {
		w = strings.TrimRight(w, ".,;:!?")
		if capital.MatchString(w) && (i == 0 || len(w) > 3) {
			w = strings.ToLower(w)
		}
		words[i] = w
	}
	return strings.TrimSpace(strings.Join(words, " "))
}

// capital is a word with a capital before letters.
var capital = regexp.MustCompile(`^[A-Z][a-z']*$`)
