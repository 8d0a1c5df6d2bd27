// Package hear turns the sound of a note into words, with what is known of how sure they are.
//
// An [Engine] does the hearing: the offline recogniser in a worker process (package
// offline), a transcription service of the shop's own (package service). What is made of the
// words, taken, asked or refused, is for package judge. Nothing here knows what a note means.
//
// Sound is mono, 16 bit, at [Rate], everywhere below the page.
package hear

import (
	"context"
	"errors"
	"strconv"
	"strings"
)

// Rate is how many samples a second of sound has.
const Rate = 16000

// Frame is the number of samples that are looked at together: 10 ms.
const Frame = Rate / 100

// Errors that an engine's own wrap.
var (
	ErrMissing = errors.New("hear: what the engine needs is not installed")
	ErrBusy    = errors.New("hear: every recogniser is in use")
	ErrLost    = errors.New("hear: the recogniser died in the middle of the note")
	ErrGrammar = errors.New("hear: the words of the job cannot be heard")
	ErrAway    = errors.New("hear: the transcription service did not answer")
)

// Word is a recognised word with its place in the sound, in samples from the start of the note.
type Word struct {
	Text     string
	From, To int
}

// Heard is what an engine made of the sound of one note.
type Heard struct {
	Words []Word // best words, of the cleaned sound where the engine cleans
	Plain []Word // of the sound as it came; nil where the engine decodes once
	Gate  float64
	// Gate says how much better the words fit than any sequence of sounds would: log
	// likelihood of their path less that of a free phone loop, a frame. It is 0 or below; the
	// higher the surer. NaN where the engine has none, -Inf where nothing speaks for the words.
	Level    float64 // of the speech, dB below full scale
	Noise    float64 // of what is around it, dB below full scale
	Unvoiced bool    // too little of the sound passed for a voice: no words were looked for
	Other    *Other  // what another engine made of the note; nil where there is none, or it did not answer
	Cut      bool    // the end of what was said may be missing: said by whoever ended the note, not by its engine
}

// Other is a second opinion on a note: the words of an engine that knows nothing of the job.
type Other struct {
	Engine string
	Text   string // "" where it heard nothing
}

// Guess is the best words for sound that no grammar holds. It is never more than that.
type Guess struct {
	Text string
	By   string // the engine
}

// Guesser is an [Engine] that can guess at speech which is free of any grammar.
type Guesser interface { //nolint:iface // beside the engine that it belongs to
	Guess(ctx context.Context, pcm []int16) (Guess, error)
}

// Live is what can be shown while a note is spoken. Its words change and mean nothing yet.
type Live struct {
	Words []string
	Voice float64 // how likely somebody speaks, 0 to 1
	Level float64 // dB below full scale
	State State
}

// State is where a note is in its sound.
type State uint8

// The states.
const (
	Waiting  State = iota // nobody has spoken yet
	Speaking              // somebody speaks
	MayEnd                // silence, long enough where the words are whole
	Ended                 // silence, long enough whatever was said; or too long a note
)

// Fit is how well sound fits a sentence.
type Fit struct {
	Score float64 // the sum of the acoustic scores: higher is better; -Inf where it cannot be it at all, NaN where the engine does not know
	Text  string  // the sentence, with the best of its alternatives; "" where there is none
}

// Words is what an engine listens for: all that may be said in a job.
type Words struct {
	Grammar string            // JSGF, as package grammar writes it
	Sounds  map[string]string // pronunciations, ARPAbet by word; variants as word(2)
	Lead    string            // the words that a note may begin with, and that are no part of it; "" for none
}

// Engine hears. It is safe for concurrent use.
type Engine interface { //nolint:iface // what each engine does, in one place
	Name() string // as the page shows it
	// Open returns an ear for one bench. It waits for a free recogniser until ctx ends; then
	// the error wraps [ErrBusy].
	Open(ctx context.Context, w Words) (Ear, error)
	Close() error
}

// Ear hears one note after another at one bench. One goroutine uses it.
type Ear interface {
	// Listen changes the words, between notes: a job's options became known.
	Listen(ctx context.Context, w Words) error
	// Begin starts a note.
	Begin(ctx context.Context) error
	// Write hands over more of the note's sound and returns what can be shown now.
	Write(ctx context.Context, pcm []int16) (Live, error)
	// End says that the note is over and returns what was heard. The note's sound is kept for
	// [Ear.Score] until the next Begin.
	End(ctx context.Context) (Heard, error)
	// Score returns how well the sound of the last note fits each of the sentences, when nothing but
	// that sentence may be heard. Of several that [OneOf] has put together the best counts, each less its
	// [Handicap]; the score that is returned is without that. Scores compare from one sentence to the next,
	// not from one call to another. A note that was [Heard].Unvoiced has none: to ask for one is an error.
	Score(ctx context.Context, sentences ...string) ([]Fit, error)
	Close() error
}

// OneOf writes sentences as alternatives, as [Ear.Score] takes them.
func OneOf(sentences ...string) string {
	if len(sentences) == 1 {
		return sentences[0]
	}
	return "( " + strings.Join(sentences, " | ") + " )"
}

// Behind puts words before a sentence, before each of it if it is several.
func Behind(words, sentence string) string {
	each := Alternatives(sentence)
	for i := range each {
		rest, less := Handicapped(each[i])
		each[i] = Handicap(words+" "+rest, less)
	}
	return OneOf(each...)
}

// Handicap writes a sentence with what is taken off its score while the best of several is looked for: 0, for nothing, to
// 600 of a score.
func Handicap(sentence string, less int) string {
	if less == 0 {
		return sentence
	}
	return strconv.Itoa(-less) + " " + sentence
}

// Handicapped takes apart what [Handicap] has written.
func Handicapped(alternative string) (sentence string, less int) {
	first, rest, _ := strings.Cut(alternative, " ")
	if n, err := strconv.Atoi(first); err == nil {
		return rest, -n
	}
	return alternative, 0
}

// Alternatives takes apart what [OneOf] has written.
func Alternatives(sentence string) []string {
	return strings.Split(strings.TrimSuffix(strings.TrimPrefix(sentence, "( "), " )"), " | ")
}
