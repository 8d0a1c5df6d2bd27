// Package voice makes sound of sentences: what the page speaks, unless a voice of the
// browser's own is chosen. A [Speaker] puts a sentence into words, has a program of the machine
// render it (flite or espeak-ng, see [Find]), and keeps the sound, since a bench says the
// same things all day.
//
// It knows nothing of jobs. Start reading at [Speaker.Say].
package voice

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"sync"
	"time"
	"unicode/utf8"

	"readback/rules/say"
)

const (
	// MaxText is the longest text that is spoken in one piece, in characters: a minute or so.
	MaxText = 1000
	// Slowest is the lower bound of [Line.Speed].
	Slowest = 0.5
	// Fastest is the upper one.
	Fastest = 2.0

	atOnce = 2                // programs that run at the same time
	within = 15 * time.Second // in which a program must have rendered a sentence
)

// Errors of a [Line] that cannot be spoken, and of the programs.
var (
	ErrMissing = errors.New("no program that speaks is installed")
	ErrProgram = errors.New("unknown program to speak with")
	ErrVoice   = errors.New("there is no such voice")
	ErrSpeed   = fmt.Errorf("the speed is not between %v and %v", Slowest, Fastest)
	ErrLong    = fmt.Errorf("the text is longer than %d characters", MaxText)
	ErrEmpty   = errors.New("there is nothing to speak in the text")
	ErrFailed  = errors.New("the program that speaks failed")
)

// Line is a sentence and how it is to be spoken.
type Line struct {
	Text  string  // as the page shows it
	Voice string  // id of a [Voice]; "" for the first
	Speed float64 // 1 as usual, 2 twice as fast; 0 is 1
}

// Voice is one that a renderer has.
type Voice struct {
	ID   string `json:"id"`
	Name string `json:"name"` // for people
}

// Clip is a spoken sentence.
type Clip struct {
	WAV    []byte // 16 bit, mono
	Rate   int    // samples a second
	Length time.Duration
}

// Renderer makes sound of words: a program of this machine, see [Find].
type Renderer interface {
	Name() string    // with its version: other versions sound otherwise
	Voices() []Voice // the usual one first
	// Render speaks words that [say.Aloud] gave as a WAV file. It ends with ctx.
	Render(ctx context.Context, words, voice string, speed float64) ([]byte, error)
}

// Speaker speaks. It is safe for concurrent use.
type Speaker struct {
	renderer Renderer // nil where none is installed
	cache    *Cache
	slots    chan struct{}

	mu     sync.Mutex
	making map[string]*making // by key
}

// making is a sentence that is being rendered.
type making struct {
	done chan struct{} // closed when err is set
	err  error
}

// New returns a Speaker that keeps its sound in cache. With renderer nil it says what is
// missing, and speaks nothing.
func New(renderer Renderer, cache *Cache) *Speaker {
	return &Speaker{renderer: renderer, cache: cache, slots: make(chan struct{}, atOnce), making: map[string]*making{}}
}

// Voices returns the voices that there are, the usual one first; none without a renderer.
func (s *Speaker) Voices() []Voice {
	if s.renderer == nil {
		return []Voice{}
	}
	return s.renderer.Voices()
}

// Key names the sound of a line: the same key, the same sound.
func (s *Speaker) Key(l Line) (string, error) {
	_, key, err := s.read(l)
	return key, err
}

// Words returns the words that are spoken of a text, "" where there are none.
func Words(text string) string { return say.Aloud(text) }

// read checks a line, and fills in what it leaves open.
func (s *Speaker) read(l Line) (Line, string, error) {
	if s.renderer == nil {
		return l, "", ErrMissing
	}
	if utf8.RuneCountInString(l.Text) > MaxText {
		return l, "", ErrLong
	}
	if l.Text = spellings(Words(l.Text)); l.Text == "" {
		return l, "", ErrEmpty
	}
	if l.Speed == 0 {
		l.Speed = 1
	}
	if !(l.Speed >= Slowest && l.Speed <= Fastest) { // NaN is neither
		return l, "", ErrSpeed
	}
	l.Speed = math.Round(l.Speed*20) / 20 // steps that can be heard, so that few clips are kept
	voices := s.renderer.Voices()
	if l.Voice == "" {
		l.Voice = voices[0].ID
	}
	known := false
	for _, v := range voices {
		known = known || v.ID == l.Voice
	}
	if !known {
		return l, "", fmt.Errorf("%w: %.40q", ErrVoice, l.Voice)
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%q %q %.2f %q", s.renderer.Name(), l.Voice, l.Speed, l.Text))
	return l, hex.EncodeToString(sum[:]), nil
}

// Say returns a line as sound. Whoever asks for one that is being rendered waits for that.
func (s *Speaker) Say(ctx context.Context, l Line) (Clip, error) {
	l, key, err := s.read(l)
	if err != nil {
		return Clip{}, err
	}
	for {
		if clip, ok := s.cached(key); ok {
			return clip, nil
		}
		s.mu.Lock()
		m := s.making[key]
		if m == nil {
			m = &making{done: make(chan struct{})}
			s.making[key] = m
			s.mu.Unlock()
			clip, err := s.render(ctx, l, key)
			s.finish(key, m, err)
			return clip, err
		}
		s.mu.Unlock()
		select {
		case <-ctx.Done():
			return Clip{}, fmt.Errorf("speak: %w", ctx.Err())
		case <-m.done:
		}
		if m.err != nil && !errors.Is(m.err, context.Canceled) { // one who left spoils it for nobody else
			return Clip{}, m.err
		}
	}
}

func (s *Speaker) finish(key string, m *making, err error) {
	s.mu.Lock()
	delete(s.making, key)
	s.mu.Unlock()
	m.err = err
	close(m.done)
}

func (s *Speaker) cached(key string) (Clip, bool) {
	wav, ok := s.cache.Get(key)
	if !ok {
		return Clip{}, false
	}
	clip, err := readWAV(wav)
	return clip, err == nil
}

// render waits for a free slot and renders.
func (s *Speaker) render(ctx context.Context, l Line, key string) (Clip, error) {
	select {
	case <-ctx.Done():
		return Clip{}, fmt.Errorf("speak: %w", ctx.Err())
	case s.slots <- struct{}{}:
	}
	defer func() { <-s.slots }()
	if clip, ok := s.cached(key); ok { // made between the look and the turn
		return clip, nil
	}
	limited, stop := context.WithTimeout(ctx, within)
	defer stop()
	wav, err := s.renderer.Render(limited, l.Text, l.Voice, l.Speed)
	if ctx.Err() != nil {
		return Clip{}, fmt.Errorf("speak: %w", ctx.Err())
	}
	if err != nil {
		return Clip{}, err
	}
	clip, err := readWAV(wav)
	if err != nil {
		return Clip{}, err
	}
	clip = clip.trim()
	s.cache.Put(key, clip.WAV)
	return clip, nil
}

// Warm renders lines, one after another, so that they are there when they are needed. It
// gives up at the first that fails.
func (s *Speaker) Warm(ctx context.Context, lines []Line) error {
	if s.renderer == nil {
		return nil
	}
	for _, l := range lines {
		if _, err := s.Say(ctx, l); err != nil && !errors.Is(err, ErrLong) && !errors.Is(err, ErrEmpty) {
			return fmt.Errorf("render beforehand: %w", err)
		}
	}
	return nil
}
