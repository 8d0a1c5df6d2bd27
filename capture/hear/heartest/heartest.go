// Package heartest is an engine for tests that hears what is written into the sound: each sample is
// a letter. It lets everything around an engine be tried without one. Only test files import it.
package heartest

import (
	"context"
	"math"
	"strings"
	"sync"

	"readback/capture/hear"
)

// Say returns the sound of a text, with a second of silence behind it. A text in two parts, "forty
// eight|forty five", is heard otherwise in the plain sound. One that begins with ~ passes no gate.
func Say(text string) []int16 {
	pcm := make([]int16, 0, len(text)+hear.Rate)
	for _, r := range text {
		pcm = append(pcm, int16(r))
	}
	return append(pcm, make([]int16, hear.Rate)...)
}

// Engine hears at most Ears notes at a time.
type Engine struct {
	Ears  int
	Rival map[string]float64 // how well sentences fit; what is not in it fits as well as nothing

	mu   sync.Mutex
	free chan struct{}
	Lost bool // every ear is lost in the middle of its note
}

// Name is what the page shows.
func (e *Engine) Name() string { return "test" }

// Close has nothing to close.
func (e *Engine) Close() error { return nil }

// InUse is how many notes are being heard.
func (e *Engine) InUse() int {
	e.mu.Lock()
	defer e.mu.Unlock()
	return len(e.free)
}

// Open waits for an ear.
func (e *Engine) Open(ctx context.Context, _ hear.Words) (hear.Ear, error) {
	e.mu.Lock()
	if e.free == nil {
		e.free = make(chan struct{}, max(e.Ears, 1))
	}
	e.mu.Unlock()
	select {
	case e.free <- struct{}{}:
		return &ear{engine: e}, nil
	case <-ctx.Done():
		return nil, hear.ErrBusy
	}
}

type ear struct {
	engine *Engine
	text   strings.Builder
	quiet  int
	once   sync.Once
}

// Listen is meant for a grammar, and needs none here.
func (e *ear) Listen(context.Context, hear.Words) error { return nil }

// Begin starts a note.
func (e *ear) Begin(context.Context) error {
	e.text.Reset()
	e.quiet = 0
	return nil
}

// Write takes letters.
func (e *ear) Write(_ context.Context, pcm []int16) (hear.Live, error) {
	e.engine.mu.Lock()
	lost := e.engine.Lost
	e.engine.mu.Unlock()
	if lost {
		return hear.Live{}, hear.ErrLost
	}
	for _, x := range pcm {
		if x == 0 {
			e.quiet++
			continue
		}
		e.quiet = 0
		e.text.WriteRune(rune(x))
	}
	clean, _, _ := strings.Cut(e.text.String(), "|")
	live := hear.Live{Words: strings.Fields(strings.TrimPrefix(clean, "~")), Level: -20}
	switch {
	case e.text.Len() == 0:
	case e.quiet < hear.Rate/4:
		live.State = hear.Speaking
	case e.quiet < hear.Rate*6/10:
		live.State = hear.MayEnd
	default:
		live.State = hear.Ended
	}
	return live, nil
}

// End returns the words.
func (e *ear) End(context.Context) (hear.Heard, error) {
	clean, plain, two := strings.Cut(e.text.String(), "|")
	h := hear.Heard{Gate: -8, Level: -20, Noise: -60}
	if clean == "" {
		h.Level = -100 // nobody spoke
	}
	if strings.HasPrefix(clean, "~") {
		clean, h.Gate = clean[1:], -50
	}
	if !two {
		plain = clean
	}
	h.Words, h.Plain = words(clean), words(plain)
	return h, nil
}

func words(text string) (out []hear.Word) {
	for w := range strings.FieldsSeq(text) {
		out = append(out, hear.Word{Text: w})
	}
	return out
}

// Score looks the sentences up.
func (e *ear) Score(_ context.Context, sentences ...string) ([]hear.Fit, error) {
	out := make([]hear.Fit, len(sentences))
	for i, s := range sentences {
		if i > 0 {
			out[i].Score = math.Inf(-1)
		}
		off := 0
		for _, one := range hear.Alternatives(s) {
			one, less := hear.Handicapped(one)
			if x, ok := e.engine.Rival[one]; ok && (x-float64(less) >= out[i].Score-float64(off) || len(sentences) == 1) {
				out[i], off = hear.Fit{Score: x, Text: one}, less
			}
		}
	}
	return out, nil
}

// Close gives the ear back.
func (e *ear) Close() error {
	e.once.Do(func() { <-e.engine.free })
	return nil
}
